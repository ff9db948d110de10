"""What the first look at the page costs on the wire, and what it may not do."""

LIMIT = 450_000  # bytes, headers included


def test_the_first_load_is_small(demo, open_page, screen):
    watched = open_page(screen)
    wire = watched.page.context.new_cdp_session(watched.page)
    wire.send("Network.enable")
    sizes = {}
    wire.on(
        "Network.loadingFinished",
        lambda event: sizes.__setitem__(event["requestId"], event["encodedDataLength"]),
    )
    watched.show(demo.url).drawn()
    watched.page.wait_for_load_state("load")
    total = sum(sizes.values())
    assert len(sizes) > 30
    assert 300_000 < total <= LIMIT, f"{total} bytes in {len(sizes)} answers"


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
    assert "The chart could not be loaded" in watched.page.locator("#notices").inner_text()
    assert watched.page.locator("#table tbody tr").count() > 20
