"""Units, themes, motion and paper, as each browser wants them."""

import re

import pytest

PAPER = "getComputedStyle(document.documentElement).backgroundColor"
LIGHT, DARK = "rgb(246, 240, 228)", "rgb(20, 17, 13)"


def choose(watched, label):
    watched.page.get_by_role("button", name="Display").click()
    watched.page.get_by_label(label, exact=True).check()
    watched.page.get_by_role("button", name="Done").click()


def test_fahrenheit_is_kept_by_this_browser_alone(demo, open_page, screen):
    watched = open_page(screen).show(demo.url).drawn()
    watched.eventually(lambda: re.match(r"\d", watched.shown("pot")), "a number")
    celsius = float(watched.shown("pot"))
    choose(watched, "Fahrenheit, °F")

    def turned():
        shown = watched.shown("pot")
        return shown != "–.–" and abs(float(shown) - (celsius * 1.8 + 32)) < 1

    watched.eventually(turned, "Fahrenheit on the label")
    watched.eventually(lambda: "°F" in watched.page.locator("h1").inner_text(), "the sentence")
    watched.eventually(
        lambda: "°F" in (watched.page.locator(".ytick text").first.text_content() or ""), "axis"
    )
    watched.show(demo.url)
    watched.eventually(turned, "Fahrenheit after loading again")
    other = open_page(screen).show(demo.url)
    other.eventually(lambda: "°C" in other.page.locator("h1").inner_text(), "another browser")


@pytest.mark.parametrize(("scheme", "paper"), [("light", LIGHT), ("dark", DARK)])
def test_the_system_s_theme_is_followed(demo, open_page, screen, scheme, paper):
    watched = open_page(screen, color_scheme=scheme).show(demo.url)
    assert watched.evaluate(PAPER) == paper
    other, there = ("dark", DARK) if scheme == "light" else ("light", LIGHT)
    watched.page.emulate_media(color_scheme=other)
    watched.eventually(lambda: watched.evaluate(PAPER) == there, f"{other} as the system turns")


def test_a_chosen_theme_stays_and_never_flashes(demo, open_page):
    watched = open_page("phone", color_scheme="light").show(demo.url).drawn()
    ink = watched.page.locator(".js-line").first.evaluate("e => e.style.stroke")
    choose(watched, "Warm dark, for the night")
    watched.eventually(lambda: watched.evaluate(PAPER) == DARK, "dark")
    watched.eventually(
        lambda: watched.page.locator(".js-line").first.evaluate("e => e.style.stroke") != ink,
        "lines in the colours of the night",
    )
    watched.page.goto(demo.url, wait_until="commit")
    watched.page.locator("#main").wait_for(state="attached")
    assert watched.evaluate("document.documentElement.dataset.theme") == "dark"


def test_reduced_motion_is_respected(demo, open_page):
    watched = open_page("phone", reduced_motion="reduce").show(demo.url)
    moving = watched.evaluate(
        """[...document.querySelectorAll("*")].filter((e) => {
            const style = getComputedStyle(e);
            const moves = (list) => list.split(",").some((time) => parseFloat(time) > 0);
            return moves(style.transitionDuration) && style.transitionProperty !== "none"
                || moves(style.animationDuration) && style.animationName !== "none";
        }).length"""
    )
    assert moving == 0


def test_on_paper_the_sheet_is_light_whole_and_without_buttons(demo, open_page):
    watched = open_page("desk", color_scheme="dark").show(demo.url).drawn()
    watched.evaluate("dispatchEvent(new Event('beforeprint'))")
    watched.page.emulate_media(media="print")
    assert watched.evaluate(PAPER) == "rgb(255, 255, 255)"
    assert watched.page.locator("#controls").is_hidden()
    assert watched.page.locator("#header nav").is_hidden()
    watched.page.locator("#header .flag").wait_for()
    drawn, canvas = watched.page.locator(".canvas .main-svg").first, watched.page.locator(".canvas")

    def whole():
        return abs(drawn.bounding_box()["width"] - canvas.bounding_box()["width"]) <= 1

    watched.eventually(whole, "drawn as wide as the paper")
    assert watched.page.locator("h1").is_visible()
    watched.page.emulate_media(media="screen")
    watched.evaluate("dispatchEvent(new Event('afterprint'))")
    assert watched.evaluate(PAPER) == DARK
