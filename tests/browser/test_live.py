"""The live page shows what the probes say, large, whole, and without one thing upon another."""

import re
from itertools import pairwise

import pytest

from logger.bus.faults import Fault
from tests.browser.conftest import THEMES

BOXES = "elements => elements.map(e => e.getBoundingClientRect().toJSON())"


def test_every_place_shows_its_probes_number(demo, open_page, screen):
    watched = open_page(screen).show(demo.url)

    def agrees():
        live = demo.live()
        return all(watched.shown(name) == f"{one['value']:.1f}" for name, one in live.items())

    watched.eventually(agrees, "numbers on the page as the service has them")


def test_the_number_is_that_of_the_wires(demo, open_page):
    demo.fault("pot", Fault.STUCK)
    watched = open_page("phone").show(demo.url)
    text = (demo.bus / demo.probe("pot") / "w1_slave").read_text()
    celsius = int(re.search(r"t=(-?\d+)", text)[1]) / 1000
    watched.eventually(lambda: watched.shown("pot") == f"{celsius:.1f}", f"{celsius:.1f} on page")


def test_a_genuine_85_is_shown(demo, open_page):
    demo.fault("head", Fault.GENUINE_85)
    watched = open_page("phone").show(demo.url)
    watched.eventually(lambda: watched.shown("head") == "85.0", "85.0 on the page")


def test_trend_age_and_health_stand_beside_each_number(demo, open_page, screen):
    watched = open_page(screen).show(demo.url)
    for name in demo.live():
        aside = watched.label(name).locator(".aside")
        # A probe that has just been healed has no trend yet.
        said = r"^([+\u2212]?\d+\.\d|–)/min\s+just now$"
        watched.eventually(lambda a=aside, s=said: re.search(s, a.inner_text()), f"{name}'s trend")
    aside = watched.label("room").locator(".aside")
    watched.eventually(lambda: re.match(r"[+\u2212]?\d", aside.inner_text()), "a trend")
    spoken = re.compile(r"^pot still \d+\.\d °C .*just now")
    button = watched.page.get_by_role("button", name=spoken)
    watched.eventually(lambda: button.count() == 1, "the same for who listens")


def test_numbers_are_large_and_whole(demo, open_page, screen):
    watched = open_page(screen).show(demo.url)
    for value in watched.page.locator(".label .value").all():
        assert float(value.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")) >= 24
        assert value.evaluate("e => e.scrollWidth <= e.clientWidth + 1 && e.clientWidth > 0")


def test_the_sentence_says_what_is_hottest(demo, open_page, screen):
    watched = open_page(screen).show(demo.url)

    def says():
        live = demo.live()
        hottest = max(live, key=lambda name: live[name]["value"])
        place = live[hottest]["place"].replace("_", " ")
        said = rf"The {place}.* is the hottest at \d+\.\d °C, (steady|rising|falling)"
        named = rf"\d+\.\d °C {place} · simulated · Wormtub"
        sentence = watched.page.locator("h1").inner_text()
        return re.match(said, sentence) and re.search(named, watched.page.title())

    watched.eventually(says, "the sentence and the title")


def test_a_simulation_is_marked_as_one(demo, open_page, screen):
    watched = open_page(screen).show(demo.url)
    watched.page.locator("#header .flag").wait_for()
    watched.page.locator("#sheet .watermark").wait_for()
    watched.eventually(lambda: "simulated" in watched.page.title(), "the title")


def test_labels_stand_free_and_nothing_runs_off_the_side(demo, open_page, screen):
    watched = open_page(screen).show(demo.url).drawn()
    watched.page.locator("html[data-alarms]").wait_for()  # a banner moves the sheet down
    for theme in THEMES:
        stand_free(demo, watched.lit(theme))


def stand_free(demo, watched):
    assert watched.overhang_px <= 0
    # of one moment: a banner or the record that comes moves all of them down
    found = watched.page.locator(".label, #sheet").evaluate_all(BOXES)
    sheet = max(found, key=lambda box: box["bottom"] - box["top"])
    boxes = sorted((box for box in found if box is not sheet), key=lambda box: box["top"])
    assert len(boxes) == len(demo.live())
    for above, below in pairwise(boxes):
        assert above["bottom"] <= below["top"] + 0.5
    assert boxes[0]["top"] >= sheet["top"] - 0.5
    assert boxes[-1]["bottom"] <= sheet["bottom"] + 0.5


def test_texts_of_the_time_axis_stand_free(demo, open_page, screen):
    watched = open_page(screen).show(demo.url).drawn()
    for name in ("10 min", "1 h", "6 h", "24 h", "7 d", "30 d", "1 y"):
        watched.page.get_by_role("button", name=f"The last {name}", exact=True).click()
        watched.eventually(lambda: watched.view["following"], "the range")
        for row in (".times", ".days"):
            spans = watched.page.locator(f".axis {row} span")
            boxes = sorted(spans.evaluate_all(BOXES), key=lambda box: box["left"])
            for left, right in pairwise(boxes):
                assert left["right"] <= right["left"] + 0.5, (name, row)


def test_labels_stand_in_the_order_of_their_lines(demo, open_page):
    watched = open_page("desk").show(demo.url).drawn()
    read = watched.page.locator(".label").evaluate_all(
        """labels => labels.map((label) => [
            label.getBoundingClientRect().top, parseFloat(label.querySelector(".value").innerText),
        ])"""
    )
    values = [value for _, value in sorted(read)]
    assert len(values) == len(demo.live())
    assert values == pytest.approx(sorted(values, reverse=True), abs=0.3)


def test_one_line_can_be_seen_alone(demo, open_page, screen):
    watched = open_page(screen).show(demo.url).drawn()
    button = watched.label("room").get_by_role("button")
    button.click()
    watched.eventually(lambda: button.get_attribute("aria-pressed") == "true", "pressed")
    faint = ".trace >> nth=0"
    watched.eventually(
        lambda: float(watched.page.locator(faint).evaluate("e => e.style.opacity")) < 0.1,
        "the others faint",
    )
    button.click()
    watched.eventually(lambda: button.get_attribute("aria-pressed") == "false", "let go")


def test_a_vessel_can_be_seen_alone(demo, open_page, screen):
    watched = open_page(screen).show(demo.url)
    watched.page.locator("#vessels").get_by_role("button", name="mash tun", exact=True).click()
    watched.eventually(lambda: watched.page.locator(".label").count() == 1, "one label")
    assert watched.shown("mash")
    watched.page.get_by_role("button", name="All", exact=True).click()
    watched.eventually(
        lambda: watched.page.locator(".label").count() == len(demo.live()), "all labels"
    )


def test_pointing_at_the_past_shows_what_stood_there(demo, open_page, screen):
    watched = open_page(screen).show(demo.url).drawn()
    watched.page.locator(".hand").click()  # in its middle, once it stays where it is
    readout = watched.page.locator(".readout")
    watched.eventually(readout.is_visible, "the readings there")
    at_ms = watched.view["from_ms"] + watched.view["span_ms"] / 2
    history = demo.get(
        "history", from_ms=int(at_ms - 120_000), to_ms=int(at_ms + 120_000), buckets=240
    )
    [pot] = [trace for trace in history["traces"] if trace["place"] == "pot"]
    counts = [c for s in pot["segments"] for c in s["lo"] + s["hi"] if c is not None]
    scale = pot["segments"][0]["counts_per_unit"]
    row = readout.get_by_role("listitem", include_hidden=True).filter(has_text="pot")
    shown = float(re.search(r"\d+\.\d", row.inner_text())[0])
    assert min(counts) / scale - 0.1 <= shown <= max(counts) / scale + 0.1
