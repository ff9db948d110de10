"""A run's report: one page that needs no network, with the page's numbers and calc's in it."""

import csv
import io
import json
import re
import sys
from dataclasses import replace
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from threading import Event, Thread
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from playwright.sync_api import sync_playwright

from api.alarms.amounts import turned
from api.errors import BusyError
from api.record.balancing import balance
from api.record.entries import sg_of
from api.record.ledger import account
from api.reports import office
from api.reports.declared import versions
from api.reports.gathering import run_told
from api.reports.maker import made
from api.reports.order import TABLES, Order
from api.reviews.drift import drift
from calc.blending import blend
from logger.degrees import Degrees
from logger.store.gauging import content_of
from logger.store.lines import scaled
from logger.store.summary import summarise

JARS = (0.5, 2.0, 9.0, 4.0), (81.0, 78.0, 70.0, 35.0)  # of `spirit_run`: litres, % vol


@pytest.fixture
def fetched(shop):
    """Fetch a report as a browser would: `fetched(run, "report.html")`."""

    def asked(run, name, status=200):
        answer = shop[1].get(f"/api/reviews/runs/{run.about}/{name}")
        assert answer.status_code == status, answer.text
        return answer

    return asked


@pytest.fixture
def fahrenheit(shop):
    """The house reads °F, for one test."""

    def turn(unit):
        site = shop[1].get("/api/site").json()
        body = {"temperature_unit": unit, "version": site["version"]}
        assert shop[1].put("/api/site", json=body).status_code == 200

    turn("F")
    yield
    turn("C")


def made_of(past, run, what):
    """Make what the service's child would, in this process, which costs less."""
    data = Path(past.engine.url.database).parent
    return b"".join(made(Order(data, "run", run.about, what, past.at(500 * 86_400))))


@pytest.mark.usefixtures("fahrenheit")
def test_a_report_holds_the_pages_numbers_and_calcs(spirit_run, past, reviewed, fetched, tmp_path):
    past.mark(spirit_run, "note", 9000, text='<script>alert("pears & plums")</script>')
    answer = fetched(spirit_run, "report.html")
    assert "attachment" in answer.headers["content-disposition"]
    assert len(answer.content) <= 3_000_000
    page = answer.text
    whole, review = blend(*JARS), reviewed(f"runs/{spirit_run.about}")
    assert review["totals"]["pure_alcohol_l"] == pytest.approx(whole.pure_alcohol_l, abs=1e-9)
    [row] = reviewed("runs", vessel_id=str(past.still.about))["runs"]
    keys = reviewed("runs")["keys"]
    for key in keys:
        value = row["numbers"][key["name"]]
        if value is not None:
            is_share = key["name"] in {"recovered", "hearts_share"}  # percentages, as on the page
            told = f"{100 * value:.1f}" if is_share else f"{value:,.{key['decimals']}f}"
            shown = told.replace(",", "\u2009")
            assert re.search(rf"<b>{shown}( <small>[^<]*</small>)?</b><span>{key['label']}<", page)
    assert f"<b>{whole.pure_alcohol_l:.2f} <small>L</small></b><span>Alcohol collected<" in page
    assert all(one["text"].replace("'", "&#x27;") in page for one in review["summary"])
    [dropped] = [one for one in review["moments"] if one["key"] == "first_drop"]
    pot_f = f"{dropped['pot_c'] * 1.8 + 32:.1f}"  # NIST SP 811 (2008), appendix B
    assert f"the pot at {pot_f} °F" in page
    assert ">Pot, °F<" in page
    assert f">{pot_f}<" in page
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(&quot;pears &amp; plums" in page
    assert versions().whole in page
    _opens_alone(page, tmp_path / "report.html")


def _opens_alone(page, file):
    """Open it with the network off: nothing is asked of it, nothing complains, paper has pages."""
    file.write_text(page, "utf-8")
    wrong, asked = [], []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-dev-shm-usage"]
        )
        context = browser.new_context(offline=True)
        tab = context.new_page()
        tab.on("console", lambda said: wrong.append(said.text))
        tab.on("pageerror", lambda error: wrong.append(str(error)))
        tab.on("request", lambda request: asked.append(request.url))
        tab.goto(file.as_uri())
        tab.wait_for_selector(".scatterlayer .trace path.js-line")
        paper = tab.pdf(prefer_css_page_size=True)
        tab.emulate_media(media="print")
        widths = tab.evaluate(
            "[document.body.scrollWidth, ...[...document.querySelectorAll('.chart svg')]"
            ".map((one) => one.getBoundingClientRect().width)]"
        )
        tab.emulate_media(media="screen")
        tab.set_viewport_size({"width": 390, "height": 844})
        on_a_phone = tab.evaluate("document.documentElement.scrollWidth")
        browser.close()
    assert on_a_phone == 390
    assert wrong == []
    assert asked == [file.as_uri()]
    assert len(re.findall(rb"/Type\s*/Page\b", paper)) >= 3
    boxes = set(re.findall(rb"/MediaBox\s*\[([^\]]*)\]", paper))
    assert {tuple(round(float(n)) for n in box.split()[2:]) for box in boxes} == {(595, 842)}
    assert max(widths[1:]) <= 703  # A4 within its margins, in CSS pixels


def test_all_data_have_their_units_in_the_names_and_are_the_pages(
    spirit_run, past, reviewed, fetched
):
    said = json.loads(made_of(past, spirit_run, "json"))
    review = reviewed(f"runs/{spirit_run.about}")
    assert said["review"] == review
    assert set(said["tables"]) == set(TABLES)
    assert said["made"]["calculations"] == dict(versions().calculations)
    readings = said["tables"]["readings"]
    assert readings["columns"] == ["time", "pot_c", "head_c"]
    assert len(readings["rows"]) == 2880
    jars = [dict(zip(said["tables"]["jars"]["columns"], row, strict=True))
            for row in said["tables"]["jars"]["rows"]]  # fmt: skip
    assert [one["abv"] for one in jars] == [one["abv"] for one in review["jars"]]
    assert jars[-1]["running_pure_alcohol_l"] == pytest.approx(blend(*JARS).pure_alcohol_l)
    table = list(csv.DictReader(io.StringIO(made_of(past, spirit_run, "phases").decode())))
    assert [float(one["duration_min"]) for one in table] == [
        one["minutes"] for one in review["phases"]
    ]
    fetched(spirit_run, "recipes.csv", 422)


def test_a_run_of_which_nothing_is_known_has_a_report(past):
    past.furnish(power_kw=None)
    run = past.run(0, 3600, charge=None)
    page = made_of(past, run, "html").decode()
    assert "No readings are stored of this run." in page


@pytest.mark.parametrize(
    "worked_out_by",
    [blend, content_of, balance, account, sg_of, drift, turned, scaled, summarise, Degrees],
    ids=lambda one: one.__module__,
)
def test_every_calculation_on_a_numbers_way_is_declared(worked_out_by):
    module = worked_out_by.__module__
    source = Path(sys.modules[module].__file__).read_bytes()
    assert versions().calculations[module] == sha256(source).hexdigest()[:12]


def test_no_number_of_the_charts_is_cut_and_no_line_is_unnamed(spirit_run, shop):
    from api.reports.charts import END_NAMES_PX, shares, sheet  # noqa: PLC0415 - loads plotly

    told = run_told(shop[1].app.house, spirit_run.about)
    bars = shares(told)
    for trace, axis in zip(bars.data, (bars.layout.xaxis, bars.layout.xaxis2), strict=True):
        assert axis.range[1] >= 1.25 * max(one for one in trace.x if one is not None)
    drawn = sheet(told)
    ends = {one.name: (one.x[-1], one.y[-1]) for one in drawn.data if one.yaxis == "y3"}
    named = {one.text: (one.x, one.y) for one in drawn.layout.annotations if one.yref == "y3"}
    assert named == ends
    assert set(named) == {"volume", "pure alcohol"}
    run = told.review.run
    short = run.model_copy(update={"to_ms": run.from_ms + 21_700_000})  # the last jar's end is near
    late = sheet(replace(told, review=told.review.model_copy(update={"run": short})))
    assert (drawn.layout.margin.r, late.layout.margin.r) == (12, END_NAMES_PX)


def test_hours_that_come_twice_stand_side_by_side():
    from api.reports.charts import _ticks  # noqa: PLC0415 - loads plotly

    berlin = ZoneInfo("Europe/Berlin")
    began = datetime(2026, 10, 25, 0, 30, tzinfo=berlin)
    ticks = list(_ticks(began, 6 * 3600.0, berlin))
    assert [text[-5:] for _, text in ticks] == [
        "01:00",
        "02:00",
        "02:00",
        "03:00",
        "04:00",
        "05:00",
    ]
    assert np.diff([at for at, _ in ticks]).tolist() == [3600.0] * 5


def test_one_report_is_made_at_a_time(spirit_run, fetched, shop, monkeypatch):
    begun, go_on = Event(), Event()

    def slow(self, order, file):
        begun.set()
        assert go_on.wait(30)
        file.write(b"time\n")

    monkeypatch.setattr(office.Office, "_run", slow)
    desk = office.Office()
    first = Thread(target=lambda: list(desk.make(None)))
    first.start()
    assert begun.wait(30)
    with pytest.raises(BusyError, match="one is made at a time"):
        desk.make(None)
    go_on.set()
    first.join()
    assert b"".join(desk.make(None)) == b"time\n"


def test_what_went_wrong_in_the_making_is_said(tmp_path):
    order = office.Order(
        tmp_path, "run", "01a221c6-956d-741b-a8b6-1bfb49ba72ad", "html", datetime.now().astimezone()
    )
    with pytest.raises(office.ReportError, match="cannot be opened; check that its folder"):
        office.Office().make(order)
    with pytest.raises(office.ReportError, match="not ready in time"):
        office.Office(patience_s=0.001).make(order)
