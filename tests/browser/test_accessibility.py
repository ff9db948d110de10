"""axe-core finds nothing to complain of, and everything is reached by keys."""

from pathlib import Path

import pytest

from logger.bus.faults import Fault

AXE = Path(__file__).parents[1] / "web/node_modules/axe-core/axe.min.js"


def complaints(watched):
    assert AXE.is_file(), "axe-core is missing; run sh deploy/test.sh, which installs it"
    found = watched.evaluate(
        "source => { (0, eval)(source); return window.axe.run(document); }", AXE.read_text()
    )
    return [
        f"{one['id']}: {node['html'][:160]}" for one in found["violations"] for node in one["nodes"]
    ]


@pytest.fixture(params=["light", "dark"])
def watched(request, demo, open_page, screen):
    # The page's own policy forbids eval; the checker is brought in past it.
    page = open_page(screen, color_scheme=request.param, bypass_csp=True)
    return page.show(demo.url).drawn()


def test_the_chart_page_is_clean(watched):
    assert complaints(watched) == []


def test_the_table_is_clean(watched):
    watched.page.get_by_role("button", name="Table", exact=True).click()
    watched.page.get_by_role("table").wait_for()
    assert complaints(watched) == []


def test_the_display_dialog_is_clean(watched):
    watched.page.get_by_role("button", name="Display").click()
    watched.page.get_by_role("dialog").wait_for()
    assert complaints(watched) == []


def test_the_past_and_a_fault_are_clean(demo, watched):
    demo.fault("spout", Fault.CRC)
    watched.eventually(lambda: watched.shown("spout") == "–.–", "no number")
    watched.page.get_by_role("button", name="Earlier", exact=True).click()
    watched.eventually(lambda: not watched.view["following"], "the past")
    assert complaints(watched) == []


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
