"""The time axis: dragged, zoomed, pinched, driven by keys, and followed."""

import pytest

HOUR = 3_600_000
RANGES = {
    "10 min": HOUR // 6,
    "1 h": HOUR,
    "6 h": 6 * HOUR,
    "24 h": 24 * HOUR,
    "7 d": 7 * 24 * HOUR,
    "30 d": 30 * 24 * HOUR,
    "1 y": 365 * 24 * HOUR,
}


@pytest.fixture
def watched(demo, open_page, screen):
    return open_page(screen).show(demo.url).drawn()


# A place on the hand that nothing lies over, scrolled to as a finger would: what stands above
# the sheet (a notice, the statements) may have pushed it under the record's panel.
FREE = """share => {
  const hand = document.querySelector(".hand");
  hand.scrollIntoView({ block: "start", behavior: "instant" });
  const { left, top, width, height } = hand.getBoundingClientRect();
  const x = left + share * width;
  for (let y = top + 30; y < top + height; y += 6) {
    if (hand.contains(document.elementFromPoint(x, y))) return { x, y, width };
  }
  return null;
}"""


@pytest.fixture
def spot(watched):
    """Find where to touch the hand, at a share of its width, once nothing moves it any more."""
    settled(watched)
    return lambda share: watched.evaluate(FREE, share)


def settled(watched):
    watched.page.locator("#estimates li").first.wait_for()
    watched.page.locator("#record button:visible").first.wait_for()


def press(watched, name):
    watched.page.get_by_role("button", name=name, exact=True).click()


def settles(watched, condition, says):
    watched.eventually(lambda: condition(watched.view), f"{says}; it is {watched.view}")


def test_it_opens_following_now(watched):
    assert watched.view["following"]
    first = watched.view["from_ms"]
    settles(watched, lambda view: view["from_ms"] > first, "the sheet moving on")


def test_ranges_from_ten_minutes_to_a_year(watched):
    for name, span_ms in RANGES.items():
        press(watched, f"The last {name}")
        settles(watched, lambda view, span_ms=span_ms: view["span_ms"] == span_ms, name)
        assert watched.view["following"]
        button = watched.page.get_by_role("button", name=f"The last {name}", exact=True)
        assert button.get_attribute("aria-pressed") == "true"


def test_dragging_moves_time_and_the_way_back_follows(watched, spot):
    before = watched.view
    mouse = watched.page.mouse
    start = spot(0.3)
    mouse.move(start["x"], start["y"])
    mouse.down()
    mouse.move(start["x"] + start["width"] * 0.5, start["y"], steps=8)
    mouse.up()
    settles(watched, lambda view: not view["following"], "standing")
    moved = before["from_ms"] - watched.view["from_ms"]
    assert moved == pytest.approx(before["span_ms"] / 2, rel=0.05)
    assert watched.view["span_ms"] == before["span_ms"]
    rests = watched.page.locator(".rests")
    says = "numbers beside the sheet are from now"
    watched.eventually(lambda: says in rests.inner_text(), says)
    press(watched, "Back to now")
    settles(watched, lambda view: view["following"], "following again")


def test_the_wheel_zooms_about_the_pointer(watched, spot):
    watched.page.locator(".hand").focus()
    watched.page.keyboard.press("PageUp")
    settles(watched, lambda view: not view["following"], "standing")
    before = watched.view
    pointer = spot(0.25)
    watched.page.mouse.move(pointer["x"], pointer["y"])
    for _ in range(4):
        watched.page.mouse.wheel(0, -150)
    settles(watched, lambda view: view["span_ms"] < before["span_ms"] * 0.6, "zoomed in")
    pointed = before["from_ms"] + 0.25 * before["span_ms"]
    after = watched.view
    assert after["from_ms"] + 0.25 * after["span_ms"] == pytest.approx(pointed, abs=60_000)


def test_two_fingers_pinch(demo, open_page):
    watched = open_page("phone").show(demo.url).drawn()
    settled(watched)
    middle_of = watched.evaluate(FREE, 0.5)
    touch = watched.page.context.new_cdp_session(watched.page)
    before = watched.view["span_ms"]

    def fingers(kind, apart):
        middle, y = middle_of["x"], middle_of["y"]
        points = [
            {"x": middle - apart / 2, "y": y, "id": 0},
            {"x": middle + apart / 2, "y": y, "id": 1},
        ]
        points = [] if kind == "touchEnd" else points
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    fingers("touchStart", 60)
    for apart in range(70, 190, 10):
        fingers("touchMove", apart)
    fingers("touchEnd", 0)
    settles(watched, lambda view: view["span_ms"] < before / 2, "pinched")


def test_keys_do_all_that_a_hand_does(watched):
    watched.page.locator(".hand").focus()
    span = watched.view["span_ms"]
    steps = [
        ("ArrowLeft", lambda view: not view["following"]),
        ("+", lambda view: view["span_ms"] < span * 0.7),
        ("-", lambda view: view["span_ms"] == pytest.approx(span, rel=0.01)),
        ("Home", lambda view: not view["following"]),
        ("End", lambda view: view["following"]),
    ]
    for key, condition in steps:
        watched.page.keyboard.press(key)
        settles(watched, condition, f"what {key} does")


def test_buttons_do_so_too(watched):
    span = watched.view["span_ms"]
    press(watched, "Show less time")
    settles(watched, lambda view: view["span_ms"] == pytest.approx(span / 2, rel=0.01), "closer")
    press(watched, "Show more time")
    settles(watched, lambda view: view["span_ms"] == pytest.approx(span, rel=0.01), "wider")
    press(watched, "Earlier")
    settles(watched, lambda view: not view["following"], "earlier")
    press(watched, "Later")
    settles(watched, lambda view: view["following"], "later, which is now")


def test_finer_detail_comes_as_one_zooms_and_lines_never_vanish(watched):
    def asked():
        urls = [url for url in watched.requests if "/api/history?" in url]
        return len(urls)

    watched.page.locator(".hand").focus()
    watched.page.keyboard.press("ArrowLeft")
    for key in ("+", "+", "+", "+"):
        before = asked()
        lines = watched.page.locator(".js-line")
        assert lines.count() > 0
        watched.page.keyboard.press(key)
        assert lines.count() > 0
        watched.eventually(lambda before=before: asked() > before, "finer history asked for")
        assert lines.count() > 0


def test_drawn_band_reaches_the_true_extremes(demo, open_page):
    """What is drawn for the head over six hours spans exactly what the record holds."""
    watched = open_page("desk").show(demo.url).drawn()
    watched.label("head").get_by_role("button").click()
    found = watched.evaluate(
        """() => {
            const root = document.querySelector(".canvas");
            const [low, high] = root._fullLayout.yaxis.range;
            const names = [...document.querySelectorAll(".label .name")].map((e) => e.textContent);
            const band = root._fullData[2 * names.indexOf("head")].y.filter((y) => y !== null);
            const { range } = root._fullLayout.xaxis;
            return { low, high, band: [Math.min(...band), Math.max(...band)], range };
        }"""
    )
    history = demo.get(
        "history", from_ms=int(found["range"][0]), to_ms=int(found["range"][1]), buckets=2000
    )
    [head] = [trace for trace in history["traces"] if trace["place"] == "head"]
    scaled = [
        (count / segment["counts_per_unit"])
        for segment in head["segments"]
        for count in segment["lo"] + segment["hi"]
        if count is not None
    ]
    assert found["low"] < found["band"][0]
    assert found["high"] > found["band"][1]
    assert found["band"] == pytest.approx([min(scaled), max(scaled)], abs=0.13)
