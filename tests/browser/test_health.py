"""How the house does: the worst first, each with what to do, on a phone and a desk."""

from tests.browser.conftest import THEMES


def test_what_is_wrong_comes_first_with_what_to_do(service, open_page, screen, complaints):
    watched = open_page(screen, bypass_csp=True)
    page = watched.page
    page.goto(f"{service}health.html")
    page.locator("h1").get_by_text("do not do their work").wait_for()
    lines = page.locator(".health > li")
    states = lines.locator(".state").all_inner_texts()
    assert states == sorted(states, key=["does not work", "wants a hand", "well"].index)
    first = lines.first
    assert first.locator("h2").inner_text().startswith("Logger")
    assert first.locator(".do").inner_text() == "Start wormtub log."
    assert lines.filter(has_text="Versions").locator(".do").count() == 0
    assert watched.overhang_px <= 0
    for theme in THEMES:
        assert complaints(watched.lit(theme)) == [], theme


def test_it_is_found_from_every_page(service, open_page):
    page = open_page("phone").page
    page.goto(f"{service}bench.html")
    page.get_by_role("button", name="Display").click()
    page.get_by_role("link", name="How the house does").click()
    page.locator(".health > li").first.wait_for()
