"""Runs looked back on: their page, the list, laid over each other, trends, batches, paper.

What is whole is seen on the demonstration. What is hard to show has a house of its own: long
names, a run without jars, a single probe, three hours without a reading, all of it across the
night in which Berlin's clock goes back (2026-10-25, 01:00 UTC by the IANA time zone database).
"""

import re
from datetime import UTC, datetime, timedelta
from uuid import UUID

import httpx
import pytest

from api.estimates.estimate import Estimate
from api.estimates.issued import Issue, keep
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.scans import ScanWriter
from tests.asking import PLAIN
from tests.browser.conftest import THEMES

BEGAN = datetime(2026, 10, 24, 21, tzinfo=UTC)
ENDED = BEGAN + timedelta(hours=9)
SILENT = (BEGAN + timedelta(hours=4), BEGAN + timedelta(hours=7))
WORD = "told" + "twicemalted" * 5  # one long word: it breaks, and never widens a page
LONG = "Winter rye of the upper field, second cut, with the old yeast 42"
PERIOD_S = 10
HOUR = timedelta(hours=1)
TOLD = ENDED + 2 * HOUR

OLD = """time,pot,other still.pot
2019-03-04T08:00:00Z,20,20
2019-03-04T08:01:00Z,21,20
2019-03-04T08:02:00Z,22,20
"""


@pytest.fixture
def held(open_page, screen, complaints):
    """Open a page, wait for a part of it, and hold it in both lights against axe and the edge."""
    watched = open_page(screen, bypass_csp=True)

    def show(url, waits):
        watched.page.goto(url)
        watched.page.locator(waits).first.wait_for()
        for theme in THEMES:
            assert complaints(watched.lit(theme)) == [], (url, theme)
        assert watched.overhang_px <= 0, url
        return watched.page

    show.watched = watched
    return show


def test_finished_runs_are_looked_back_on(demo, held):
    runs = demo.get("reviews/runs")["runs"]
    run, other = [one["id"] for one in runs if one["purpose"] == "spirit" and not one["is_on"]][:2]
    review = demo.get(f"reviews/runs/{run}")

    page = held(f"{demo.url}run.html?id={run}", "[data-drawn]")
    assert page.locator(".told li").all_inner_texts() == [one["text"] for one in review["summary"]]
    assert page.locator(".panel").count() == 4
    assert page.locator(".lane.jars .jar").count() == len(review["jars"])
    assert _asked(held, "reviews/runs/") == sorted({run, f"{run}/temperatures"})  # once each
    page.locator(".alonghand").focus()
    page.keyboard.press("End")
    page.keyboard.press("ArrowLeft")
    assert re.search(
        r"\d\d:\d\d:\d\d.*pot \d", page.locator(".alonghand").get_attribute("aria-valuetext")
    )
    page.get_by_text("Jars: strength, rate and what had come over").click()
    rows = page.locator("details[open] tbody tr")
    held.watched.eventually(lambda: rows.count() == len(review["jars"]), "a row for each jar")
    assert f"{review['jars'][-1]['running_pure_alcohol_l']:.3f}" in rows.last.inner_text()

    page = held(f"{demo.url}compare.html?run={run}&run={other}", "[data-drawn]")
    assert len(_asked(held, "reviews/compare")) == 1  # what was asked ahead is what is shown
    [hearts] = [
        one
        for one in demo.get("reviews/compare", run=[run, other])["table"]
        if one["name"] == "hearts_volume_l"
    ]
    told = page.locator("tr", has=page.get_by_role("rowheader", name="Hearts", exact=True))
    assert f"{hearts['values'][1]:.2f} L" in told.first.inner_text()
    page.get_by_label("Laid over").select_option("pot_temperature")
    held.watched.eventually(lambda: "align=pot_temperature" in page.url, "laid over anew")

    page = held(f"{demo.url}trends.html", ".spark circle")
    assert re.fullmatch(r"\d+ \w+ \d{4}", page.locator(".ends2 span").first.inner_text())
    assert page.locator(".spark").count() > 6
    batch = demo.get(f"runs/{run}")["batch"]
    [batch_id] = [one["id"] for one in demo.get("batches") if one["name"] == batch]
    page = held(f"{demo.url}batches.html?id={batch_id}", ".stages")
    page.get_by_role("button", name="Begin the next from this one").click()
    page.get_by_label("What was learned").wait_for()


def _asked(held, path):
    """Return the addresses under a path that were asked for, without their queries."""
    under = (url.partition(f"/api/{path}") for url in held.watched.requests)
    return sorted(rest.partition("?")[0] for _, found, rest in under if found)


def test_runs_are_found_and_ticked(demo, held):
    page = held(f"{demo.url}runs.html", ".found li")
    total = demo.get("reviews/runs")["total"]
    assert page.locator(".found li").count() == total
    figures = page.locator(".figures dd")
    assert all(figures.evaluate_all("all => all.map(e => e.scrollWidth <= e.clientWidth)"))
    if not page.get_by_label("Purpose", exact=True).is_visible():
        page.get_by_text("Find and sort").click()
    page.get_by_label("Purpose", exact=True).select_option("strip")
    strips = demo.get("reviews/runs", purpose="strip")["total"]
    held.watched.eventually(lambda: page.locator(".found li").count() == strips < total, "found")
    for tick in page.locator(".pick input").all()[:2]:
        tick.check()
    page.get_by_role("link", name="Lay 2 runs over each other").click()
    page.locator(".chosen li").nth(1).wait_for()


def test_batches_and_what_is_in_store_are_found_and_sorted(demo, held):
    page = held(f"{demo.url}batches.html", ".wire li .numbers:not(:empty)")
    page.get_by_text("Find and sort").click()
    page.get_by_label("Sorted by").select_option("name")
    page.get_by_label("Order").select_option("rising")
    names = page.locator(".wire .name")
    asked = demo.get("reviews/batches", sort="name", order="rising")["batches"]
    told = [one["name"] for one in asked]
    held.watched.eventually(lambda: names.all_inner_texts() == told, "by name")

    page = held(f"{demo.url}cellar.html?sort=abv", ".store .wire li")
    page.get_by_label("Kind", exact=True).select_option("spirit")
    [lot, *rest] = demo.get("reviews/cellar", kind="spirit", sort="abv")["lots"]
    found = page.locator(".store .wire li")
    held.watched.eventually(lambda: found.count() == 1 + len(rest), "spirits only")
    assert lot["name"] in found.first.inner_text()
    assert f"{lot['abv']:.1f} % vol" in found.first.inner_text()
    assert f"from {lot['came_from'][0]}" in found.first.inner_text()


@pytest.fixture(scope="module")
def worst(tmp_path_factory, start_for_file, port_for_file):
    """A house in Berlin with one probe; its address, a run with little to show, one foretold."""
    data = tmp_path_factory.mktemp("worst") / "data"
    database.prepare(data)
    engine = database.engine(data)
    pot = SeriesKey("28-0000000000aa", "temperature_c", 16)
    begin, end = int(BEGAN.timestamp()), int(ENDED.timestamp())
    slots = (slot for slot in range(begin, end, PERIOD_S) if not _is_silent(slot))
    writer = ScanWriter(engine)
    writer.append_many(
        Scan(slot, PERIOD_S, (Reading(pot, Grade.OK, 16 * 20 + (slot - begin) // 30),))
        for slot in slots
    )
    service = start_for_file("serve", "--data", data, "--port", port_for_file)
    service.says("Wormtub is at")
    url = f"http://127.0.0.1:{port_for_file}/"
    run, told = _entered(url, pot.probe_id)
    _tell(engine, told)
    yield url, run, told
    engine.dispose()
    assert service.stop() == 0, service.text


def _is_silent(slot):
    return SILENT[0].timestamp() <= slot < SILENT[1].timestamp()


def _entered(url, probe_id):
    with httpx.Client(base_url=f"{url}api/", timeout=20, verify=PLAIN) as client:

        def send(method, path, **body):
            return client.request(method, path, json=body).raise_for_status().json()

        site = client.get("site").json()
        send("PUT", "site", time_zone="Europe/Berlin", version=site["version"])
        still = send("POST", "vessels", name=LONG[:60], kind="still", volume_l=100)["id"]
        place = send("POST", "places", name="pot", vessel_id=still)["id"]
        at = (BEGAN - timedelta(hours=1)).isoformat()
        send("POST", "placements", place_id=place, probe_id=probe_id, effective_at=at)
        run = {"vessel_id": still, "stage": "spirit"}
        times = {"started_at": BEGAN.isoformat(), "ended_at": ENDED.isoformat()}
        empty = send("POST", "occupancies", batch=LONG[:60], **run, **times)["id"]
        times = {"started_at": TOLD.isoformat(), "ended_at": (TOLD + HOUR).isoformat()}
        told = send("POST", "occupancies", batch=WORD, **run, **times)["id"]
        at = (TOLD + HOUR / 4).isoformat()
        read = {"volume_l": 1.0, "reading_abv": 80.0, "temperature_c": 20.0}
        send("POST", f"runs/{told}/jars", number=1, at=at, **read)
        send("POST", f"runs/{told}/marks", kind="note", at=at, text=f"{LONG}. " * 4)
        return empty, told


def _tell(engine, run):
    """Keep what was estimated of a run's spirit: always two too low, and within the band."""
    ats = [TOLD + step * HOUR / 6 for step in range(1, 6)]
    estimate = Estimate("spout_abv", 78.0, 75.0, 81.0)
    keep(engine, [Issue(UUID(run), int(at.timestamp()), at, estimate) for at in ats])


def test_little_known_is_said_and_stands_free(worst, held):
    url, run, _ = worst
    page = held(f"{url}run.html?id={run}", "[data-drawn]")
    assert "clock was put back by 60 min" in page.locator(".rests").inner_text()
    assert page.locator(".panel").count() == 1
    assert page.locator(".lane.jars").count() == 0
    hatched = page.locator(".hatched").bounding_box()
    plotted = page.locator(".over").bounding_box()
    share = (SILENT[1] - SILENT[0]) / (ENDED - BEGAN)
    assert abs(hatched["width"] / plotted["width"] - share) < 0.01
    times = page.locator(".course .times span").all_inner_texts()
    assert times == sorted(times, key=lambda text: (text < "12:00", text))
    page.locator(".gaps li").first.wait_for()
    page = held(f"{url}runs.html", ".found li")
    assert LONG[:60] in page.locator(".which a").last.inner_text()
    unknown = page.locator(".figures .unknown dd")
    is_wide = page.evaluate("innerWidth") >= 1000
    assert unknown.count() > 0  # which is shown only where the numbers line up
    assert all(one.is_visible() == is_wide for one in unknown.all())
    page = held(f"{url}compare.html?run={run}", ".below .part")
    assert "first drop was not marked" in page.locator(".rests").inner_text().lower()
    held(f"{url}trends.html", ".home .part")
    page = held(f"{url}run.html?id={run[:-4]}0000", ".says:not(:empty)")
    assert "No run is kept under this address" in page.locator(".says").inner_text()
    held.watched.forgive("status of 4")


def test_a_run_is_held_against_what_was_told_and_is_pinned(worst, held):
    url, _, run = worst
    page = held(f"{url}run.html?id={run}", "[data-drawn]")
    strength = page.locator(".panel", has=page.get_by_text("Strength, % vol"))
    assert strength.locator(".keys li").all_text_contents() == ["estimated", "read"]
    assert strength.locator(".js-fill").count() == 1  # the band
    score = page.locator("tr", has=page.get_by_role("rowheader", name="Strength at the spout"))
    assert "\u22122.0 % vol" in score.inner_text()
    assert "100" in score.locator("td").last.inner_text()

    page.locator(".folded summary", has_text="Notes").click()
    noted = page.get_by_role("region", name="Notes")
    noted.get_by_text(f"{LONG}. {LONG}").wait_for()
    assert noted.evaluate("e => e.scrollWidth <= e.clientWidth")  # it wraps, on paper too

    page.get_by_role("button", name="Pin as the reference").click()
    page.get_by_role("button", name="Unpin").wait_for()
    page.goto(f"{url}runs.html")
    pinned = page.locator("section.part", has=page.get_by_role("heading", name="Reference runs"))
    pinned.get_by_role("link", name="told").wait_for()
    pinned.get_by_role("button").click()
    pinned.wait_for(state="hidden")

    page.goto(f"{url}compare.html?run={run}&run={worst[1]}")
    page.locator(".below .part").first.wait_for()
    assert held.watched.overhang_px <= 0  # both names stand over the table
    page.goto(f"{url}compare.html?run={run}")
    page.locator("#add option", has_text=LONG[:60]).first.wait_for(state="attached")
    assert held.watched.overhang_px <= 0  # the longest name is among those that may be added


def test_an_old_run_is_imported_or_its_line_is_said(worst, open_page):
    watched = open_page("phone")
    page = watched.page
    page.goto(f"{worst[0]}runs.html")
    page.get_by_text("Import a past run").click()
    page.get_by_label("Batch", exact=True).fill("old rye")
    wrong = f"{OLD}4 March 2019 08:03,20,20\n"
    for text, name in ((wrong, "bad"), (OLD, "good")):
        file = {"name": f"{name}.csv", "mimeType": "text/csv", "buffer": text.encode()}
        page.locator("#import-trace").set_input_files(file)
        page.get_by_role("button", name="Import the run").click()
        if name == "bad":
            trouble = page.locator(".file", has=page.locator("#import-trace")).get_by_role("alert")
            trouble.get_by_text("line 5").wait_for()
            example = re.search(r"write it as (.+)[.]", trouble.inner_text())[1]
            assert datetime.fromisoformat(example).tzinfo  # what it shows can be written so
            assert page.get_by_label("Batch", exact=True).input_value() == "old rye"
    page.get_by_text("left out: other still.pot.").wait_for()
    page.get_by_role("link", name="Look back on it").click()
    page.wait_for_url("**/run.html?id=*")
    page.get_by_role("heading", name="spirit run of old rye").wait_for()
    watched.forgive("status of 422")


def test_on_paper_a_run_has_pages_in_the_light(demo, open_page):
    [run, *_] = [one["id"] for one in demo.get("reviews/runs", purpose="spirit")["runs"][1:]]
    page = open_page("desk", color_scheme="dark").page
    page.goto(f"{demo.url}run.html?id={run}")
    page.locator("[data-drawn]").wait_for()
    paper = page.pdf(format="A4")
    assert 2 <= len(re.findall(rb"/Type /Page\b", paper)) <= 12
    page.emulate_media(media="print")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    page.locator("html.printing[data-theme=light]").wait_for(state="attached")
    assert page.locator("details:not([open])").count() == 0
    assert page.locator(".course").bounding_box()["width"] <= 703
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    page.locator("html[data-theme=dark]:not(.printing)").wait_for(state="attached")
