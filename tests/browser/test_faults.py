"""Refused, silent and stale readings cannot be mistaken for good ones, and good ones come back."""

import re
from itertools import cycle, pairwise

import pytest

from logger.bus.faults import Fault

# What the bus does, the words on the label, and the remedy named at the top of the page.
FAULTS = [
    (Fault.CRC, "garbled", "pull-up resistor"),
    (Fault.EMPTY, "no answer", "Check its plug and its cable"),
    (Fault.TORN, "unreadable", "plug it in again"),
    (Fault.POWER_ON, "restarted", "supply wire"),
    (Fault.LOW_SUPPLY, "supply too low", "Check the supply"),
    (Fault.ZEROS, "line shorted", "one by one"),
    (Fault.VANISHED, "unplugged", "Plug it in again"),
    (Fault.HANG, "too slow", "Check its plug"),
]


def test_a_fault_takes_the_number_away_and_says_what_to_do(demo, open_page):
    watched = open_page("phone").show(demo.url)
    for fault, word, remedy in FAULTS:
        comes_and_goes(demo, watched, fault, word, remedy)


def comes_and_goes(demo, watched, fault, word, remedy):
    watched.eventually(lambda: re.match(r"\d", watched.shown("spout")), "a number first")
    demo.fault("spout", fault)
    watched.eventually(lambda: watched.shown("spout") == "–.–", "no number")
    aside = watched.label("spout").locator(".aside")
    said = rf"{word}\s+last \d+\.\d\s+at \d\d:\d\d"
    watched.eventually(lambda: re.search(said, aside.inner_text()), said)
    checks = watched.page.locator(".checks")
    # a probe that hangs may take the others along for a sweep; then it alone is named
    watched.eventually(lambda: checks.inner_text().startswith("Spout since "), "the spout alone")
    watched.eventually(lambda: remedy in checks.inner_text(), remedy)
    head = watched.page.locator("h1")
    watched.eventually(lambda: "no good reading" in head.inner_text(), "the sentence")
    # an alarm may stand before it
    watched.eventually(lambda: f"! spout: {word}" in watched.page.title(), "the title")
    demo.heal()
    watched.eventually(lambda: re.match(r"\d", watched.shown("spout")), "the number back")
    watched.eventually(lambda: watched.page.locator(".checks").is_hidden(), "nothing to check")


def test_all_refused_at_once_leaves_a_page_that_can_be_read(demo, open_page, screen):
    watched = open_page(screen).show(demo.url).drawn()
    for name, (fault, _, _) in zip(demo.live(), cycle(FAULTS), strict=False):
        demo.fault(name, fault)
    values = watched.page.locator(".label .value")
    watched.eventually(lambda: set(values.all_inner_texts()) == {"–.–"}, "no number")
    head, checks = watched.page.locator("h1"), watched.page.locator(".checks li")
    watched.eventually(
        lambda: head.inner_text().startswith("No probe gives a good reading"), "the sentence"
    )
    watched.eventually(lambda: checks.count() == len(FAULTS), "what to do about each")
    boxes = [item.bounding_box() for item in watched.page.locator(".label").all()]
    for above, below in pairwise(sorted(boxes, key=lambda box: box["y"])):
        assert above["y"] + above["height"] <= below["y"] + 0.5
    assert watched.overhang_px <= 0


def test_the_line_ends_where_the_readings_do(demo, open_page):
    watched = open_page("desk").show(demo.url).drawn()
    demo.fault("head", Fault.EMPTY)
    watched.eventually(lambda: watched.shown("head") == "–.–", "no number")
    leaders = watched.page.locator(".leaders path.absent")
    watched.eventually(lambda: leaders.count() == 1, "no leader from a line that has ended")


@pytest.fixture
def own(start, demo_bus, tmp_path, free_port):
    """Run a logger and a service of one's own, to be stopped; its probes have no places yet."""

    class Own:
        data, url = tmp_path / "data", f"http://127.0.0.1:{free_port}/"

        def log(self):
            self.logger = start("log", "--data", self.data, "--bus", demo_bus.folder)
            self.logger.says("Logging to")

        def serve(self):
            self.service = start("serve", "--data", self.data, "--port", free_port)
            self.service.says("Wormtub is at")

    own = Own()
    own.log()
    own.serve()
    return own


def test_a_silent_logger_leaves_no_number_and_new_readings_bring_them_back(own, open_page):
    watched = open_page("phone").show(own.url)
    values = watched.page.locator(".label .value")
    watched.eventually(lambda: values.count() > 5, "the probes")
    own.logger.kill()
    watched.eventually(lambda: set(values.all_inner_texts()) == {"–.–"}, "no number anywhere")
    head = watched.page.locator("h1")
    watched.eventually(lambda: head.inner_text().startswith("No new reading since"), "the sentence")
    watched.eventually(lambda: "! no new readings" in watched.page.title(), "the title")
    own.log()
    watched.eventually(lambda: "–.–" not in values.all_inner_texts(), "numbers again")


def test_the_page_survives_a_restart_of_the_service(own, open_page):
    watched = open_page("phone").show(own.url).drawn()
    watched.forgive(r"ERR_(CONNECTION|INCOMPLETE|EMPTY|NETWORK|SOCKET)")
    watched.forgive("error occurred when fetching the script")  # the worker's, looked at meanwhile
    values = watched.page.locator(".label .value")
    watched.eventually(lambda: values.count() > 5, "the probes")
    own.service.stop()
    notice = watched.page.locator("#notices .notice").first
    watched.eventually(notice.is_visible, "a word about it")
    assert re.match(r"No answer from the service since \d\d:\d\d:\d\d", notice.inner_text())
    watched.eventually(lambda: set(values.all_inner_texts()) == {"–.–"}, "no number stands for now")
    head = watched.page.locator("h1")
    watched.eventually(
        lambda: head.inner_text().startswith("The service has not answered"), "the sentence"
    )
    assert watched.page.locator(".js-line").count() > 0
    own.serve()
    watched.eventually(notice.is_hidden, "the notice gone")
    watched.eventually(lambda: "–.–" not in values.all_inner_texts(), "numbers again")
    slot = watched.view["from_ms"]
    watched.eventually(lambda: watched.view["from_ms"] > slot, "the sheet moving on")
