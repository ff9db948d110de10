"""A newcomer is led from the empty sheet through the guide, and every step is kept."""

import httpx
import pytest

from tests.asking import PLAIN
from tests.browser.conftest import SCREENS, THEMES


@pytest.fixture
def url(start, tmp_path, free_port):
    start("serve", "--data", tmp_path / "data", "--port", free_port).says("Wormtub is at")
    return f"http://127.0.0.1:{free_port}/"


def site(url):
    return httpx.get(f"{url}api/site", timeout=10, verify=PLAIN).json()


def states(url):
    guide = httpx.get(f"{url}api/guide", timeout=10, verify=PLAIN).json()
    return {step["name"]: step["state"] for step in guide["steps"]}


def test_the_guide_is_gone_through(url, open_page, screen):
    watched = open_page(screen)
    page = watched.page
    page.goto(url)
    if screen == "phone":  # more pages than there is room for
        earlier, later = (page.locator(f"#header .{way}") for way in ("earlier", "later"))
        later.wait_for()

        def at_the_end():
            later.evaluate("press => press.click()")
            return later.is_hidden() and earlier.is_visible()

        watched.eventually(at_the_end, "the last page")
    page.get_by_role("link", name="Set up this house").click()
    page.locator("h1").get_by_text("Seven things").wait_for()

    page.get_by_label("Owner", exact=True).fill("The cooperative at the mill")
    page.get_by_role("button", name="Keep it").click()
    page.get_by_label("What allows your work").wait_for()
    assert "unlawful in many places" in page.locator(".drawer .cautions").inner_text()
    page.get_by_role("button", name="Leave it for later").click()
    page.get_by_label("Time zone", exact=True).select_option("Europe/Vienna")
    page.get_by_role("button", name="Keep it").click()
    page.get_by_label("Temperatures on every screen").select_option("C")
    page.get_by_role("button", name="Keep it").click()
    page.get_by_label("Altitude", exact=True).fill("412")
    page.get_by_role("button", name="Keep it").click()
    page.get_by_label("Name", exact=True).fill("still 1")
    page.get_by_label("Size: what it holds").fill("120")
    page.get_by_role("button", name="Add the vessel").click()
    page.locator(".there").get_by_text("still 1").wait_for()
    page.locator("button.knot", has_text="Probes to places").click()
    page.get_by_role("link", name="Warm the first probe").wait_for()
    page.get_by_role("button", name="Leave it for later").click()
    page.locator("h1").get_by_text("The house is set up").wait_for()

    kept = site(url)
    assert kept["owner"] == "The cooperative at the mill"
    assert kept["time_zone"] == "Europe/Vienna"
    assert kept["altitude_m"] == 412
    assert states(url)["lawful_basis"] == "skipped"
    assert states(url)["vessels"] == "done"
    assert watched.overhang_px <= 0

    page.locator("button.knot", has_text="Lawful basis").click()
    page.get_by_label("What allows your work").fill("Permit 12 of the district")
    page.get_by_role("button", name="Keep it").click()
    watched.eventually(lambda: states(url)["lawful_basis"] == "done", "the basis kept")
    assert site(url)["lawful_basis"] == "Permit 12 of the district"


def test_what_is_refused_is_said_at_its_field_and_the_rest_is_kept(url, open_page):
    watched = open_page("phone")
    watched.forgive("422")
    page = watched.page
    page.goto(f"{url}guide.html#pressure")
    page.get_by_label("Altitude", exact=True).fill("9000")
    page.get_by_label("Or a barometer").fill("1009")
    page.get_by_role("button", name="Keep it").click()
    trouble = page.locator("#guide-pressure-altitude_m-trouble")
    watched.eventually(lambda: "4200" in trouble.inner_text(), "the sentence at its field")
    assert page.get_by_label("Altitude", exact=True).get_attribute("aria-invalid") == "true"
    assert page.get_by_label("Altitude", exact=True).input_value() == "9000"
    assert page.get_by_label("Or a barometer").input_value() == "1009"


def test_the_guide_is_clean(url, open_page, complaints):
    for screen in SCREENS:
        watched = open_page(screen, bypass_csp=True)
        watched.page.goto(f"{url}guide.html")
        watched.page.get_by_label("Owner", exact=True).wait_for()
        for theme in THEMES:
            assert complaints(watched.lit(theme)) == [], (screen, theme)
