"""The table says what the chart shows, and is reached by keys alone."""

import re

import pytest


@pytest.fixture
def watched(demo, open_page, screen):
    return open_page(screen).show(demo.url).drawn()


def rows(watched):
    return watched.page.locator("#table tbody tr")


def test_the_table_has_the_chart_s_range_and_places(watched):
    span = watched.view["span_ms"]
    watched.page.get_by_role("button", name="Table", exact=True).click()
    table = watched.page.get_by_role("table")
    table.wait_for()
    fewest, most = span / 600_000 - 2, span / 600_000 + 2
    watched.eventually(lambda: fewest <= rows(watched).count() <= most, "a row for 10 min each")
    heads = table.locator("thead th").all_inner_texts()
    assert heads[0] == "From"
    assert "pot · still" in heads
    assert "room" in heads
    caption = table.locator("caption").inner_text()
    assert re.search(r"stretch of 10 min", caption)
    watched.page.get_by_role("button", name="The last 1 h", exact=True).click()
    watched.eventually(lambda: "stretch of 2 min" in table.locator("caption").inner_text(), "1 h")


def test_cells_hold_the_record_s_extremes(demo, watched):
    watched.page.get_by_role("button", name="Table", exact=True).click()
    watched.page.get_by_role("table").wait_for()
    heads = watched.page.locator("#table thead th").all_inner_texts()
    later, row = rows(watched).nth(2), rows(watched).nth(3)
    from_ms, to_ms = (int(one.get_attribute("data-key")) for one in (row, later))
    cell = row.locator("td").nth(heads.index("pot · still") - 1).inner_text()
    shown = [float(number) for number in re.findall(r"\d+\.\d", cell)]
    history = demo.get("history", from_ms=from_ms, to_ms=to_ms, buckets=600)
    [pot] = [trace for trace in history["traces"] if trace["place"] == "pot"]
    counts = [c for s in pot["segments"] for c in s["lo"] + s["hi"] if c is not None]
    scale = pot["segments"][0]["counts_per_unit"]
    # Buckets of half a minute lie across the rows' edges: there the pot moves by 0.2 at most.
    assert shown[0] == pytest.approx(min(counts) / scale, abs=0.25)
    assert shown[-1] == pytest.approx(max(counts) / scale, abs=0.25)


def test_the_table_is_reached_and_scrolled_by_keys(watched):
    button = watched.page.get_by_role("button", name="Table", exact=True)
    button.focus()
    watched.page.keyboard.press("Enter")
    region = watched.page.locator("#table")
    region.focus()
    assert watched.evaluate("document.activeElement.id") == "table"
    watched.page.keyboard.press("End")
    assert region.get_attribute("aria-label")


def test_the_record_can_be_saved(watched):
    watched.page.get_by_role("button", name="Table", exact=True).click()
    with watched.page.expect_download() as started:
        watched.page.get_by_role("link", name="Save as CSV").click()
    text = started.value.path().read_text()
    assert text.startswith("time,")
    assert len(text.splitlines()) > 1000
