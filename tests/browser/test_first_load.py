"""What the first look at the page costs on the wire, and what it may not do."""

from urllib.parse import urlsplit

LIMIT = 450_000  # bytes, headers included: all that stands before the first chart
WITH_THE_REST = 525_000  # and with what is fetched once the chart stands
# What the record and the alarms ask comes behind the first chart, and so does the offline shell.
LATER = (
    "/record/",
    "/estimates/",
    "/banner/",
    "/api/record",
    "/api/alarms",
    "/api/runs",
    "/api/shell",
    "/worker.js",
)


def test_the_first_load_is_small(demo, open_page, screen):
    watched = open_page(screen)
    wire = watched.page.context.new_cdp_session(watched.page)
    wire.send("Network.enable")
    paths, sizes = {}, {}
    wire.on(
        "Network.requestWillBeSent",
        lambda event: paths.__setitem__(event["requestId"], urlsplit(event["request"]["url"]).path),
    )
    wire.on(
        "Network.loadingFinished",
        lambda event: sizes.__setitem__(event["requestId"], event["encodedDataLength"]),
    )
    watched.show(demo.url).drawn()
    watched.page.wait_for_load_state("load")
    watched.page.locator("html[data-alarms]").wait_for()
    first = sum(size for id_, size in sizes.items() if not paths[id_].startswith(LATER))
    total = sum(sizes.values())
    assert 10 < len(sizes) < 35, "a page's modules travel in one file, its sheets in another"
    assert 300_000 < first <= LIMIT, f"{first} bytes before the first chart"
    assert total <= WITH_THE_REST, f"{total} bytes in {len(sizes)} answers"


def test_the_page_breaks_no_policy(demo, open_page, screen):
    """Chromium says so on the console, which every page here is watched for."""
    watched = open_page(screen).show(demo.url).drawn()
    answer = watched.page.request.get(demo.url)
    policy = answer.headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "default-src 'none'" in policy
    assert watched.evaluate("document.querySelectorAll('style').length") == 0


def test_without_the_chart_library_the_table_serves(demo, open_page):
    watched = open_page("phone")
    watched.forgive("ERR_FAILED")
    watched.page.route("**/plotly-basic.min.js", lambda route: route.abort())
    watched.page.goto(demo.url)
    watched.page.get_by_role("table").wait_for()
    notices, rows = watched.page.locator("#notices"), watched.page.locator("#table tbody tr")
    watched.eventually(lambda: "The chart could not be loaded" in notices.inner_text(), "the word")
    watched.eventually(lambda: rows.count() > 20, "the table's rows")
