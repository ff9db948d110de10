"""In the demonstration, faults are caused and taken back, and time is made to pass."""

import pytest


@pytest.fixture
def panel(demo, open_page, screen):
    watched = open_page(screen).show(demo.url)
    watched.page.get_by_role("button", name="Simulated").click()
    watched.page.get_by_role("heading", name="This is a simulation").wait_for()
    watched.page.locator("#sim-what option").first.wait_for(state="attached")
    return watched


def test_a_fault_comes_and_goes(demo, panel):
    page = panel.page
    page.get_by_label("What", exact=True).select_option("crc")
    page.get_by_label("At", exact=True).select_option(demo.probe("spout"))
    page.get_by_role("button", name="Cause it").click()
    panel.eventually(lambda: panel.shown("spout") == "–.–", "no number")
    page.locator(".standing").get_by_text("spout").wait_for()
    page.locator(".standing").get_by_role("button", name="Take it back").click()
    panel.eventually(lambda: panel.shown("spout") != "–.–", "its number back")
    panel.eventually(lambda: page.locator(".standing li").count() == 0, "nothing stands")
    assert panel.overhang_px <= 0


def test_the_plant_fails_and_is_mended_and_time_passes(demo, panel):
    page = panel.page
    before = demo.get("simulation")["plant"]["t_s"]
    page.get_by_label("What", exact=True).select_option("coolant-weak")
    page.get_by_role("button", name="Cause it").click()
    page.locator(".standing").get_by_text("The water runs weakly").wait_for()
    page.locator(".standing").get_by_role("button", name="Take it back").click()
    panel.eventually(lambda: demo.get("simulation")["standing"] == [], "mended")
    page.locator(".simulation").get_by_role("button", name="10 min", exact=True).click()
    panel.eventually(lambda: demo.get("simulation")["plant"]["t_s"] > before + 600, "the jump")


def test_the_panel_is_clean_in_both_lights(demo, open_page, screen, complaints):
    watched = open_page(screen, color_scheme="light", bypass_csp=True).show(demo.url).drawn()
    watched.page.get_by_role("button", name="Simulated").click()
    watched.page.locator("#sim-what option").first.wait_for(state="attached")
    assert complaints(watched) == []
    assert complaints(watched.lit("dark")) == []


def test_a_real_house_has_no_panel(start, tmp_path, free_port, open_page):
    start("serve", "--data", tmp_path / "data", "--port", free_port).says("Wormtub is at")
    watched = open_page("phone")
    watched.page.goto(f"http://127.0.0.1:{free_port}/probes.html")
    watched.page.locator("h1").get_by_text("No probe is on the bus yet.").wait_for()
    assert watched.page.locator("#header .flag").is_hidden()
