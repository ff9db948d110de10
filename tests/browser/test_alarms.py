"""Alarms as people meet them: at the top of every page, heard, told, and on their own page."""

import threading
import time
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, HTTPServer

import httpx
import pytest

from logger.bus.faults import Fault
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.scans import ScanWriter
from tests.asking import PLAIN

HEADS = {  # of each part of the page
    "": "12 alarms call",
    "past": "things have happened",
    "loud": "12 alarms came",
    "rules": "rules",
    "rules/ferment_too_hot": "Ferment too hot",
    "calls": "Who is called",
}
# What the page sounds and what it tells the browser is written down beside it, not replaced.
LISTEN = """
window.heard = [];
window.told = [];
document.addEventListener("sounded", (event) => heard.push(event.detail));
const Real = window.Notification;
window.Notification = class extends Real {
  constructor(title, options) {
    super(title, options);
    told.push(`${title} | ${options.body}`);
  }
};
const worker = window.ServiceWorkerRegistration?.prototype;
const show = worker?.showNotification;
if (show) {
  worker.showNotification = function (title, options) {
    told.push(`${title} | ${options.body}`);
    return show.call(this, title, options);
  };
}
"""


TELL = "detail => document.dispatchEvent(new CustomEvent('alarms', { detail }))"


def stays_with_its_alarm(watched, told, call, note):
    """Let another alarm take the top while a note is typed, and go again."""
    where, typed = call.locator(".where"), note.input_value()
    first = where.inner_text()
    mine = "spout" if "spout" in first else "head"
    urgent = [one if one["place"] == mine else one | {"priority": "high"} for one in told["now"]]
    watched.page.evaluate(TELL, told | {"now": urgent})
    watched.eventually(lambda: where.inner_text() != first, "a higher one")
    assert note.is_hidden()  # what is typed on goes to neither
    assert note.input_value() == ""
    watched.page.evaluate(TELL, told)
    assert (where.inner_text(), note.input_value()) == (first, typed)


def quiet(demo):
    """Acknowledge whatever calls already."""
    for alarm in demo.get("alarms")["now"]:
        httpx.post(f"{demo.url}api/alarms/{alarm['key']}/acknowledge", timeout=10, verify=PLAIN)


def uncovered(watched):
    """Say whether the banner lies above the header, and the header above the page."""
    boxes = [watched.page.locator(one).bounding_box() for one in ("#banner", "#header", "#main")]
    edges = [(box["y"], box["y"] + box["height"]) for box in boxes]
    return edges[0][1] <= edges[1][0] + 0.5 and edges[1][1] <= edges[2][0] + 0.5


def test_a_fault_is_called_seen_mended_and_over(demo, open_page):
    quiet(demo)
    watched = open_page("phone", permissions=["notifications"])
    watched.forgive("422")
    page = watched.page
    page.add_init_script(LISTEN)
    watched.show(demo.url).drawn()
    page.get_by_role("button", name="Alarm sound is off").click()
    page.get_by_role("button", name="Alarm sound is on").wait_for()
    looked_away = page.context.new_cdp_session(page)
    looked_away.send("Emulation.setFocusEmulationEnabled", {"enabled": False})
    other = page.context.new_page()
    other.bring_to_front()
    demo.fault("spout", Fault.CRC)
    demo.fault("head", Fault.EMPTY)
    call = page.locator("#banner .call")
    call.wait_for()
    watched.eventually(lambda: "and one more" in call.inner_text(), "both are called")
    assert "MEDIUM" in call.inner_text().upper()
    assert page.title().startswith("Medium: ")
    watched.eventually(lambda: "medium" in watched.evaluate("heard"), "its sound")
    watched.eventually(lambda: len(watched.evaluate("told")) == 2, "a notification of each")
    assert all("still" in told for told in watched.evaluate("told"))
    looked_away.send("Emulation.setFocusEmulationEnabled", {"enabled": True})
    other.close()
    assert uncovered(watched)
    assert watched.overhang_px <= 0

    first = call.locator(".where").inner_text()
    call.get_by_role("button", name="With a note").click()
    note = call.get_by_label("Note")
    note.fill("n" * 501)  # too long is said, never cut
    call.get_by_role("button", name="I have seen it").click()
    call.get_by_text("at most 500").wait_for()
    stays_with_its_alarm(watched, demo.get("alarms"), call, note)
    note.fill("plug pushed in again")
    call.get_by_role("button", name="I have seen it").click()
    watched.eventually(lambda: call.locator(".where").inner_text() != first, "the other one")
    page.locator("#banner .known", has_text=first).wait_for(state="hidden")
    demo.heal()
    watched.eventually(lambda: "Over since" in call.inner_text(), "over, and not yet seen")
    assert call.locator(".action").is_hidden()
    call.get_by_role("button", name="I have seen it").click()
    call.wait_for(state="hidden")
    watched.eventually(lambda: not page.title().startswith("Medium"), "the title as it was")
    known = page.locator("#banner .known li", has_text="Probe")
    watched.eventually(lambda: known.count() == 0, "nothing left of it")

    page.goto(f"{demo.url}alarms.html#past")
    past = page.locator(".past")
    past.get_by_text("seen by at the machine “plug pushed in again”").first.wait_for()
    assert "came up" in past.inner_text()
    assert "went back to normal" in past.inner_text()


@dataclass
class Rack:
    """A vessel with twelve probes and names that fit nowhere; seconds pass as they are asked to."""

    url: str
    writer: ScanWriter
    slot: int
    client: httpx.Client
    count: int = 12
    vessel = "fermenter with a very long name behind the old oak door"

    def hold(self, celsius, seconds, period_s=1):
        scans = []
        for _ in range(0, seconds, period_s):
            self.slot += period_s
            scans.append(Scan(self.slot, period_s, tuple(self._readings(celsius))))
        self.writer.append_many(scans)

    def _readings(self, celsius):
        for number in range(self.count):
            series = SeriesKey(f"28-{number:012x}", "temperature_c", 16)
            good = celsius is not None
            count = round(celsius * 16) if good else None
            yield Reading(series, Grade.OK if good else Grade.EMPTY, count)

    def post(self, path, **body):
        return self.client.post(f"{self.url}api/{path}", json=body).raise_for_status().json()

    def furnish(self, since):
        vessel = self.post("vessels", name=self.vessel, kind="fermenter", volume_l=100)["id"]
        for number in range(self.count):
            name = f"{number} by the other old oak door" if number else "ferment"
            place = self.post("places", name=name, vessel_id=vessel)["id"]
            probe = f"28-{number:012x}"
            self.post("placements", place_id=place, probe_id=probe, effective_at=since)
        kept = {"batch": "rye 1", "stage": "ferment", "started_at": since}
        self.post("occupancies", vessel_id=vessel, **kept)

    def alarms(self):
        return self.client.get(f"{self.url}api/alarms").json()


@pytest.fixture
def rack(start, tmp_path, free_port, until):
    data = tmp_path / "data"
    database.prepare(data)
    begin = int(time.time()) - 7200
    writer = ScanWriter(database.engine(data))
    with httpx.Client(timeout=20, verify=PLAIN) as client:
        rack = Rack(f"http://127.0.0.1:{free_port}/", writer, begin, client)
        rack.hold(30.0, 3600, period_s=10)
        start("serve", "--data", data, "--port", free_port).says("Wormtub is at")
        rack.furnish(time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(begin)))
        # no logger runs here, and that is not what these tests are about
        rack.post("alarms/logger_silent@system/out-of-service", why="no logger in this test")
        rack.hold(30.0, 30)
        rack.hold(None, 20)
        until(lambda: len(rack.alarms()["now"]) == rack.count, within_s=20, says="twelve alarms")
        yield rack


@pytest.mark.parametrize(("screen", "theme"), [("phone", "light"), ("desk", "dark")])
def test_twelve_at_once_can_be_read_and_handled(rack, open_page, complaints, screen, theme):
    watched = open_page(screen, color_scheme=theme, bypass_csp=True)
    page = watched.page
    for part, head in HEADS.items():
        page.goto(f"{rack.url}alarms.html#{part}")
        page.reload()
        page.locator("#main h1:visible").get_by_text(head).first.wait_for()
        page.locator("#banner .call").wait_for()
        assert complaints(watched) == [], part
        assert watched.overhang_px <= 0, part
    page.goto(f"{rack.url}bench.html")
    page.locator("#banner .call").get_by_text("and 11 more").wait_for()
    assert uncovered(watched)

    page.goto(f"{rack.url}alarms.html")
    calling, known = page.locator(".standing .calling"), page.locator(".standing .known")
    hidden = page.locator(".standing .free", has_text="oak door")
    watched.eventually(lambda: calling.count() == rack.count, "all twelve")
    calling.first.get_by_role("button", name="I have seen it").click()
    watched.eventually(lambda: (calling.count(), known.count()) == (11, 1), "one is seen")
    calling.first.get_by_role("button", name="Lay it aside").click()
    calling.first.get_by_label("For how long").select_option("30")
    calling.first.get_by_label("Why").fill("probe out for cleaning")
    calling.first.locator("form").get_by_role("button", name="Lay it aside").click()
    watched.eventually(lambda: (calling.count(), hidden.count()) == (10, 1), "one lies aside")
    assert "laid aside until" in hidden.first.inner_text()
    hidden.first.get_by_role("button", name="Take it up again").click()
    watched.eventually(lambda: (calling.count(), hidden.count()) == (11, 0), "it calls anew")
    calling.first.get_by_role("button", name="Out of service").click()
    calling.first.get_by_label("Why").fill("waits for a new probe")
    calling.first.locator("form").get_by_role("button", name="Out of service").click()
    watched.eventually(lambda: hidden.count() == 1, "it is out of service")
    assert "out of service" in hidden.first.inner_text()


class Bell(BaseHTTPRequestHandler):
    """Takes what is sent to it."""

    def do_POST(self):
        self.server.taken.append(self.rfile.read(int(self.headers["content-length"])))
        self.send_response(200)
        self.end_headers()

    def log_message(self, *_):
        pass


@pytest.fixture
def receiver():
    server = HTTPServer(("127.0.0.1", 0), Bell)
    server.taken = []
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield server
    server.shutdown()
    thread.join()
    server.server_close()


def test_a_limit_is_tried_before_it_is_saved_and_callers_are_tried(rack, open_page, receiver):
    watched = open_page("phone", permissions=["notifications"])
    watched.forgive("422")
    page = watched.page
    page.add_init_script(LISTEN)
    page.goto(f"{rack.url}alarms.html#rules/ferment_too_hot")
    limit = page.get_by_label("Limit", exact=True)
    limit.fill("500")
    page.get_by_role("button", name="Try it on past runs").click()
    trouble = page.locator("#rule-limit-trouble")
    watched.eventually(lambda: "give a limit in that range" in trouble.inner_text(), "refused")
    limit.fill("28")
    page.get_by_role("button", name="Try it on past runs").click()
    page.get_by_text("it would have called once so; as it stands, never").wait_for()
    page.get_by_role("button", name="Save the limit").click()
    watched.eventually(page.locator("#rule-reason-trouble").inner_text, "a reason is asked for")
    page.get_by_label("Why you change it").fill("this yeast stands no more")
    page.get_by_role("button", name="Save the limit").click()
    page.locator("h1").get_by_text("above 28.0 °C").wait_for()
    page.get_by_text("this yeast stands no more").wait_for()

    page.goto(f"{rack.url}alarms.html#rules/coolant_surge")
    cycle = page.get_by_label("One cycle lasts")
    keep = page.get_by_role("button", name="Save", exact=True)
    cycle.fill("300")
    keep.click()
    watched.eventually(page.locator("#cycle-seconds-trouble").inner_text, "it is refused")
    cycle.fill("12")
    keep.click()
    page.get_by_text("14 s at most, read every 1 s").wait_for()  # two cycles and more

    page.goto(f"{rack.url}alarms.html#calls")
    page.get_by_role("button", name="Let it sound").click()
    page.get_by_role("button", name="Hear high").click()
    watched.eventually(lambda: "high" in watched.evaluate("heard"), "the high sound")
    page.get_by_role("button", name="Show one").click()
    watched.eventually(lambda: "Trial" in "".join(watched.evaluate("told")), "a notification")
    page.get_by_role("button", name="Add a target").click()
    form = page.locator("form")
    form.get_by_label("Name", exact=True).fill("the telephone in the kitchen")
    form.get_by_label("Address", exact=True).fill("kitchen")
    form.get_by_role("button", name="Add a target").click()
    watched.eventually(page.locator("form .trouble:visible").count, "no such address")
    form.get_by_label("Address", exact=True).fill(f"json://127.0.0.1:{receiver.server_port}/bell")
    form.get_by_role("button", name="Add a target").click()
    target = page.locator(".lines li", has_text="the telephone in the kitchen")
    target.get_by_role("button", name="Try it").click()
    target.get_by_text("the telephone in the kitchen took it.").wait_for()
    assert len(receiver.taken) == 1
    page.get_by_role("button", name="Try sounder and lamp").click()
    still = page.locator(".caller", has_text="At the still")
    watched.eventually(still.get_by_role("status").inner_text, "an answer")
