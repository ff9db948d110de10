"""A house that has just been moved into: no reading, no probe, no place."""

import re

import httpx

from tests.asking import PLAIN
from tests.browser.conftest import SCREENS


def service(start, data, port):
    found = start("serve", "--data", data, "--port", port)
    found.says("Wormtub is at")
    return f"http://127.0.0.1:{port}/"


def test_an_empty_store_says_so(start, tmp_path, free_port, open_page):
    url = service(start, tmp_path / "data", free_port)
    for screen in SCREENS:
        says_so(open_page(screen).show(url))


def says_so(watched):
    head = watched.page.locator("h1")
    watched.eventually(lambda: head.inner_text() == "Nothing has been read yet.", "the sentence")
    watched.eventually(lambda: "nothing read yet" in watched.page.title(), "the title")
    assert "Nothing is" not in watched.page.title()
    assert watched.page.locator("#header .flag").is_hidden()
    air = watched.page.locator(".status .air")
    watched.eventually(lambda: air.inner_text() == "about 1,013 hPa, if at sea level", "the air")
    watched.page.get_by_text("No good reading in this time.").first.wait_for()
    assert watched.overhang_px <= 0


def test_places_without_probes_are_named(start, tmp_path, free_port, open_page):
    url = service(start, tmp_path / "data", free_port)
    httpx.post(f"{url}api/places", json={"name": "pot"}, verify=PLAIN).raise_for_status()
    watched = open_page("phone").show(url)
    head = watched.page.locator("h1")
    watched.eventually(lambda: "pot" in head.inner_text(), "the sentence")
    watched.eventually(lambda: watched.shown("pot") == "–.–", "no number")
    watched.eventually(lambda: "no probe" in watched.label("pot").inner_text(), "why")


def test_long_names_never_hide_a_number(start, demo_bus, tmp_path, free_port, open_page):
    logger = start("log", "--data", tmp_path / "data", "--bus", demo_bus.folder)
    logger.says("Logging to")
    url = service(start, tmp_path / "data", free_port)
    name = "upper thermowell behind the packing on the north side wall"
    place = (
        httpx.post(f"{url}api/places", json={"name": name}, verify=PLAIN).raise_for_status().json()
    )
    placement = {"place_id": place["id"], "probe_id": demo_bus.probe_ids["pot"]}
    httpx.post(f"{url}api/placements", json=placement, verify=PLAIN).raise_for_status()
    for screen in SCREENS:
        is_shown(open_page(screen).show(url), name)


def is_shown(watched, name):
    label = watched.label(name)
    watched.eventually(lambda: label.count() == 1, "the place")
    value = label.locator(".value")
    watched.eventually(lambda: re.match(r"\d", value.inner_text()), "its number")
    assert value.evaluate("e => e.scrollWidth <= e.clientWidth + 1")
    assert label.evaluate("e => e.scrollWidth <= e.clientWidth + 1")
    title = label.get_by_role("button").get_attribute("title")
    assert title == name
    assert watched.overhang_px <= 0
