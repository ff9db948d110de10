"""axe-core finds nothing to complain of, and everything is reached by keys."""

import pytest

from logger.bus.faults import Fault
from tests.browser.conftest import THEMES


@pytest.fixture
def watched(demo, open_page, screen):
    # The page's own policy forbids eval; the checker is brought in past it.
    return open_page(screen, bypass_csp=True).show(demo.url).drawn()


@pytest.fixture
def clean(watched, complaints):
    """Hold what stands on the page against axe-core, in both lights."""

    def held(what):
        for theme in THEMES:
            assert complaints(watched.lit(theme)) == [], (what, theme)

    return held


def test_the_chart_page_its_dialog_and_its_table_are_clean(watched, clean):
    clean("the chart page")
    watched.page.get_by_role("button", name="Display").click()
    watched.page.get_by_role("dialog").wait_for()
    clean("the display dialog")
    watched.page.get_by_role("button", name="Done").click()
    watched.page.get_by_role("dialog").wait_for(state="hidden")
    watched.page.get_by_role("button", name="Table", exact=True).click()
    watched.page.get_by_role("table").wait_for()
    clean("the table")


def test_the_past_and_a_fault_are_clean(demo, watched, clean):
    demo.fault("spout", Fault.CRC)
    watched.eventually(lambda: watched.shown("spout") == "–.–", "no number")
    watched.page.get_by_role("button", name="Earlier", exact=True).click()
    watched.eventually(lambda: not watched.view["following"], "the past")
    clean("the past")


def test_everything_is_reached_by_the_tab_key(demo, open_page):
    watched = open_page("desk").show(demo.url).drawn()
    reached = set()
    for _ in range(90):
        watched.page.keyboard.press("Tab")
        reached.add(
            watched.evaluate(
                "document.activeElement.className + ' ' + document.activeElement.textContent"
            )
        )
    text = "\n".join(reached)
    for part in ("Skip to", "Now", "Display", "hand", "pot", "room", "10 min", "Table"):
        assert part in text, part
