"""Vessels, the places on them, and what holds them, from an empty list on."""

from datetime import UTC, datetime

import httpx
import pytest

from tests.asking import PLAIN
from tests.browser.conftest import SCREENS, THEMES


@pytest.fixture
def url(start, tmp_path, free_port):
    start("serve", "--data", tmp_path / "data", "--port", free_port).says("Wormtub is at")
    return f"http://127.0.0.1:{free_port}/"


def listed(url, what):
    return httpx.get(f"{url}api/{what}", timeout=10, verify=PLAIN).json()


def post(url, what, **body):
    return (
        httpx.post(f"{url}api/{what}", json=body, timeout=10, verify=PLAIN)
        .raise_for_status()
        .json()
    )


def test_a_still_is_added_with_its_places_and_a_batch(url, open_page, screen):
    watched = open_page(screen)
    page = watched.page
    page.goto(f"{url}vessels.html")
    page.locator("h1").get_by_text("No vessel stands here yet.").wait_for()
    page.get_by_role("button", name="Add a vessel").click()
    page.get_by_label("Name", exact=True).fill(
        "a still with a very long name behind the old oak door"
    )
    page.get_by_label("Size: what it holds").fill("120")
    page.get_by_label("Heat", exact=True).select_option("element")
    page.get_by_label("Power", exact=True).fill("5,5")
    page.get_by_role("button", name="Add the vessel").click()
    page.get_by_role("button", name="Add its places").click()
    page.get_by_role("button", name="Add the usual places").click()
    watched.eventually(lambda: len(listed(url, "places")) == 6, "the usual places")
    page.get_by_role("button", name="Put a batch in a vessel").click()
    form = page.locator(".home > .doing")
    form.get_by_label("Batch").fill("rye 14")
    form.get_by_role("button", name="Put a batch in").click()
    page.locator("h1").get_by_text("rye 14").wait_for()
    [vessel] = listed(url, "vessels")
    assert (vessel["volume_l"], vessel["power_kw"]) == (120, 5.5)
    page.get_by_role("button", name="It is empty now").click()
    page.locator("h1").get_by_text("is empty").wait_for()
    [occupancy] = listed(url, "occupancies")
    assert occupancy["batch"] == "rye 14"
    assert occupancy["ended_at"]
    assert watched.overhang_px <= 0


def just_past_midnight():
    """A zone whose day began less than an hour ago; POSIX counts its sign westwards."""
    hour = datetime.now(UTC).hour
    return f"Etc/GMT+{hour}" if hour <= 12 else f"Etc/GMT-{24 - hour}"


def test_a_day_just_begun_is_named_within_the_screen(url, open_page):
    site = listed(url, "site")
    answer = httpx.put(
        f"{url}api/site",
        json={"time_zone": just_past_midnight(), "version": site["version"]},
        timeout=10,
        verify=PLAIN,
    )
    answer.raise_for_status()
    still = post(url, "vessels", name="still 1", kind="still", volume_l=100)
    post(url, "occupancies", vessel_id=still["id"], batch="rye 1", stage="strip")
    watched = open_page("phone")
    watched.page.goto(f"{url}vessels.html")
    watched.page.locator(".axis span").wait_for()
    assert watched.overhang_px <= 0


def test_no_size_is_refused_at_its_field_and_the_form_kept(url, open_page):
    watched = open_page("phone")
    watched.forgive("422")
    page = watched.page
    page.goto(f"{url}vessels.html")
    page.get_by_role("button", name="Add a vessel").click()
    page.get_by_label("Name", exact=True).fill("still 1")
    page.get_by_role("button", name="Add the vessel").click()
    trouble = page.locator("#vessel-volume_l-trouble")
    watched.eventually(lambda: "size" in trouble.inner_text(), "the sentence at its field")
    assert page.get_by_label("Name", exact=True).input_value() == "still 1"


def test_an_overlap_is_said_and_what_was_changed_meanwhile_too(url, open_page):
    still = post(url, "vessels", name="still 1", kind="still", volume_l=100)
    post(url, "places", name="pot", vessel_id=still["id"])
    post(url, "occupancies", vessel_id=still["id"], batch="rye 1", stage="strip")
    watched = open_page("desk")
    watched.forgive("409")
    page = watched.page
    page.goto(f"{url}vessels.html")
    page.get_by_role("button", name="Put a batch in a vessel").click()
    form = page.locator(".home > .doing")
    form.get_by_label("Batch").fill("rye 2")
    form.get_by_role("button", name="Put a batch in").click()
    form.get_by_role("alert").get_by_text("rye 1 (strip)").wait_for()
    assert form.get_by_label("Batch").input_value() == "rye 2"
    form.get_by_role("button", name="Leave it").click()

    page.locator("button.knot", has_text="still 1").click()
    page.locator("section", has_text="The vessel itself").get_by_role(
        "button", name="Correct"
    ).last.click()
    page.get_by_label("Size: what it holds").fill("110")
    said = {"name": "still 1", "kind": "still", "volume_l": 105, "version": still["version"]}
    httpx.put(
        f"{url}api/vessels/{still['id']}", json=said, timeout=10, verify=PLAIN
    ).raise_for_status()
    page.get_by_role("button", name="Save").click()
    page.get_by_text("“Size: what it holds” is now 105").wait_for()
    page.wait_for_load_state("networkidle")
    page.get_by_role("button", name="Save").click()
    watched.eventually(lambda: listed(url, "vessels")[0]["volume_l"] == 110, "the size kept")


def test_the_page_is_clean(url, open_page, complaints):
    still = post(url, "vessels", name="still 1", kind="still", volume_l=100)
    post(url, "places", name="pot", vessel_id=still["id"])
    post(url, "occupancies", vessel_id=still["id"], batch="rye 1", stage="strip")
    for screen in SCREENS:
        watched = open_page(screen, bypass_csp=True)
        watched.page.goto(f"{url}vessels.html")
        watched.page.locator("button.knot", has_text="still 1").click()
        watched.page.get_by_role("button", name="It is empty now").wait_for()
        for theme in THEMES:
            assert complaints(watched.lit(theme)) == [], (screen, theme)
