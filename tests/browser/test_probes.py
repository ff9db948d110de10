"""Probes in hand: found by warmth, swapped, calibrated at ice and steam, and all of it undone."""

import time
from dataclasses import dataclass, field

import httpx
import pytest

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.scans import ScanWriter
from tests.asking import PLAIN
from tests.browser.conftest import SCREENS, THEMES

A, B = "28-00000aaaaaa1", "28-00000bbbbbb2"


@dataclass
class Wire:
    """A store in which scans appear as a logger writes them, only sooner than seconds pass."""

    data: object
    url: str = ""
    slot: int = field(default_factory=lambda: int(time.time()) - 420)
    temperatures: dict = field(default_factory=lambda: {A: 20.0, B: 21.0})

    def __post_init__(self) -> None:
        database.prepare(self.data)
        self.engine = database.engine(self.data)
        self.writer = ScanWriter(self.engine)

    def hold(self, seconds, **to):
        """Let seconds pass while each probe goes evenly from where it is to where it is put."""
        before, scans = dict(self.temperatures), []
        self.temperatures |= {{"a": A, "b": B}[name]: value for name, value in to.items()}
        for second in range(1, seconds + 1):
            self.slot += 1
            share = min(1.0, second / 30)
            now = {p: before[p] + share * (t - before[p]) for p, t in self.temperatures.items()}
            scans.append(Scan(self.slot, 1, tuple(reading(p, t) for p, t in now.items())))
        self.writer.append_many(scans)

    def get(self, path, **query):
        return httpx.get(f"{self.url}api/{path}", params=query, timeout=10, verify=PLAIN).json()

    def post(self, path, **body):
        found = httpx.post(f"{self.url}api/{path}", json=body, timeout=10, verify=PLAIN)
        return found.raise_for_status().json()

    def at(self, place):
        return {one["place"]: one["probe_id"] for one in self.get("live")["places"]}[place]


def reading(probe_id, celsius):
    return Reading(SeriesKey(probe_id, "temperature_c", 16), Grade.OK, round(celsius * 16))


@pytest.fixture
def wire(start, tmp_path, free_port):
    made = Wire(tmp_path / "data")
    made.hold(420)
    start("serve", "--data", made.data, "--port", free_port).says("Wormtub is at")
    made.url = f"http://127.0.0.1:{free_port}/"
    vessel = made.post("vessels", name="still", kind="still", volume_l=100)
    for name in ("pot", "head"):
        made.post("places", name=name, vessel_id=vessel["id"])
    yield made
    made.writer.close()
    made.engine.dispose()


@pytest.fixture
def placed(wire):
    ids = {one["name"]: one["id"] for one in wire.get("places")}
    for place, probe in (("pot", A), ("head", B)):
        wire.post("placements", place_id=ids[place], probe_id=probe)
    return wire


def test_the_warmed_probe_is_offered_and_placed(wire, open_page, screen):
    watched = open_page(screen)
    page = watched.page
    page.goto(f"{wire.url}probes.html")
    page.get_by_role("link", name="Warm a probe to place it").click()
    page.locator("h1").get_by_text("Take one probe in your hand").wait_for()
    wire.hold(40, b=30.0)
    page.locator("h1").get_by_text(f"{B} rises").wait_for()
    page.get_by_label("Where does it sit?").select_option(label="head of still")
    page.get_by_role("button", name="It sits there").click()
    page.get_by_role("link", name="The next one").wait_for()
    assert wire.at("head") == B
    assert watched.overhang_px <= 0


def test_a_swapped_pair_is_put_right_and_back(placed, open_page, screen):
    watched = open_page(screen)
    page = watched.page
    for expected in (B, A):
        page.goto(f"{placed.url}probes.html#swap")
        page.get_by_role("button", name="Put them right").click()
        page.locator("h1").get_by_text("are put right").wait_for()
        assert placed.at("pot") == expected
        page.goto("about:blank")


def test_ice_and_steam_are_kept_applied_and_taken_back(placed, open_page, screen):
    watched = open_page(screen)
    page = watched.page
    placed.hold(220, a=0.3125)
    page.goto(f"{placed.url}probes.html#calibrate/{A}")
    keep = page.get_by_role("button", name="Keep this point")
    watched.eventually(keep.is_enabled, "the ice point held still")
    keep.click()
    page.get_by_text("Steam is a good second point").wait_for()

    page.get_by_role("radio", name="Steam point").check()
    assert "Steam scalds" in page.locator(".cautions").inner_text()
    page.get_by_text("Give the pressure, and the probe is judged here.").wait_for()
    assert keep.is_disabled()
    placed.hold(100, a=99.0)
    page.get_by_label("Air pressure measured now").fill("1013.25")
    page.locator(".judged .moving").wait_for()
    assert keep.is_disabled()
    placed.hold(220, a=99.0)
    watched.eventually(keep.is_enabled, "the steam point held still")
    keep.click()
    page.locator(".points li").nth(1).wait_for()
    page.locator(".proposal").get_by_text("% vol").first.wait_for()
    page.get_by_role("button", name="Apply", exact=True).click()
    page.locator("h1").get_by_text("calibrated").wait_for()
    [made] = placed.get("calibrations", probe_id=A)
    # Steam at 1013.25 hPa is 99.974 °C: IAPWS R7-97(2012), equation 31.
    assert made["slope"] * 99.0 + made["offset"] == pytest.approx(99.974, abs=0.002)
    assert made["slope"] * 0.3125 + made["offset"] == pytest.approx(0.0, abs=0.001)

    page.goto(f"{placed.url}probes.html")
    page.locator("button.knot", has_text=A).click()
    page.get_by_text("Applied now.").wait_for()
    page.get_by_role("button", name="Take it back").click()
    page.get_by_text("Taken back.").wait_for()
    assert placed.get("calibrations", probe_id=A)[0]["withdrawn"]
    assert watched.overhang_px <= 0


def test_what_cannot_be_a_point_is_said_and_the_form_kept(placed, open_page):
    watched = open_page("phone")
    watched.forgive("422")
    page = watched.page
    page.goto(f"{placed.url}probes.html#calibrate/{A}")
    page.get_by_role("radio", name="Steam point").check()
    page.get_by_label("Air pressure measured now").fill("101325")
    page.locator(".trouble", has_text="The pressure given is 101325 hPa").wait_for()
    keep = page.get_by_role("button", name="Keep this point")
    assert keep.is_disabled()
    page.get_by_label("Air pressure measured now").fill("1,013")
    page.locator(".trouble", has_text="“1,013” can be read two ways").wait_for()
    assert keep.is_disabled()

    page.get_by_role("radio", name="Water bath").check()
    bath = page.get_by_label("The thermometer in the bath says")
    placed.hold(220, a=20.0)
    bath.fill("20,2")
    watched.eventually(keep.is_enabled, "the first point held still")
    keep.click()
    points = page.locator(".points li")
    points.first.wait_for()
    placed.hold(220, a=40.0)
    bath.fill("40.2")
    page.locator(".judged .state", has_text="lie 20.0 °C apart, too close for a line").wait_for()
    keep.click()
    page.locator(".result .trouble:visible", has_text="too close for a line").wait_for()
    assert page.get_by_role("button", name="Apply", exact=True).count() == 0
    points.nth(1).get_by_role("button", name="Drop it").click()
    page.get_by_role("button", name="Apply", exact=True).wait_for()
    placed.hold(220, a=60.0)
    bath.fill("64.9")
    page.locator(".judged .state", has_text="no sound probe is outside 0.95 to 1.05").wait_for()
    assert bath.input_value() == "64.9"
    assert placed.get("calibrations") == []

    page.evaluate("localStorage.setItem('wormtub.look', JSON.stringify({ unit: 'F' }))")
    page.reload()
    page.locator(".judged .state", has_text="°F").wait_for()
    assert "°C" not in page.locator(".judged").inner_text()


def test_a_place_that_is_taken_is_said(placed, open_page):
    watched = open_page("phone")
    watched.forgive("409")
    page = watched.page
    page.goto(f"{placed.url}probes.html")
    page.locator("button.knot", has_text=A).click()
    page.get_by_role("button", name="Move it").click()
    page.get_by_label("Place", exact=True).select_option(label=f"head of still (has {B})")
    page.get_by_role("button", name="Put it there").click()
    page.locator(".doing .trouble:visible", has_text="head").wait_for()
    assert placed.at("pot") == A


def test_the_page_and_its_tasks_are_clean(placed, open_page, complaints):
    for screen in SCREENS:
        watched = open_page(screen, bypass_csp=True)
        page = watched.page
        page.goto(f"{placed.url}probes.html")
        page.locator("button.knot", has_text=A).click()
        page.get_by_text("None yet: it reads as it was bought.").wait_for()
        for theme in THEMES:
            assert complaints(watched.lit(theme)) == [], (screen, theme)
        for task, says in (("warm", "Take one"), ("swap", "Which two"), (f"calibrate/{A}", "ice")):
            page.evaluate("task => { location.hash = task; }", task)
            page.locator(".task h1").get_by_text(says).first.wait_for()
            for theme in THEMES:
                assert complaints(watched.lit(theme)) == [], (screen, theme, task)
