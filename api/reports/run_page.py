"""The sections of a run in a report."""

from collections.abc import Iterator
from datetime import tzinfo
from typing import Final

from plotly.graph_objects import Figure
from plotly.io import to_html

from api.reports.charts import shares, sheet
from api.reports.gathering import RunTold
from api.reports.parts import (
    figures,
    key_figure,
    moment,
    number,
    paragraphs,
    section,
    table,
    text,
)
from api.reviews.bodies import RunReviewBody, UsedBody
from api.reviews.rows import key_bodies
from api.reviews.words import place_name
from logger.degrees import Degrees

CONFIG: Final = {"displayModeBar": False, "responsive": False, "scrollZoom": False}
BASIS: Final = {
    "entered": "entered", "marked": "marked", "seen": "seen in the temperatures",
    "jars": "from the jars", "read": "read", "between": "between two readings",
    "expected": "expected",
}  # fmt: skip
MARKS: Final = {
    "first_drop": "First drop", "foreshots_end": "Foreshots end", "hearts": "Hearts",
    "tails": "Tails", "end": "End", "power": "Heat", "note": "Note", "other": "Other",
}  # fmt: skip


def title_of(told: RunTold) -> str:
    """Name a run."""
    run = told.review.run
    return f"{run.batch}: {run.purpose_name}"


def under_title(told: RunTold) -> str:
    """Say where and when a run was."""
    run = told.review.run
    until = moment(run.ended_at, told.zone) if run.ended_at else "still on"
    began = moment(run.started_at, told.zone, with_day=True)
    return f"{run.vessel or 'A still'}, {began} to {until} ({run.time_zone})"


def run_sections(told: RunTold) -> Iterator[str]:
    """Tell a run, section by section."""
    review, local = told.review, told.zone
    yield paragraphs((one.text for one in review.summary), "summary")
    yield figures(key_figure(key, told.numbers.get(key.name)) for key in key_bodies())
    yield section("The run on one sheet", _chart(sheet(told)), apart=True)
    yield section("What each phase took and gave", _phases(review, local), _shares(told))
    yield section("When it happened", _moments(review, local, told.degrees))
    yield section("Jars", _jars(review, local), _cuts(review))
    yield section("Marks and notes", _marks(review, local))
    yield section("Alarms", _alarms(review, local))
    yield section("Where temperatures jumped", paragraphs(one.says for one in review.jumps))
    yield section("Stretches without a reading", _silences(review, local))
    yield section("Energy and water", _used(review))
    yield section("Estimates against measurements", *_estimates(review))
    yield section("What cannot be told", paragraphs(one.why for one in review.gaps))


def _chart(figure: Figure | None) -> str:
    if figure is None:
        return ""
    drawn: str = to_html(
        figure, include_plotlyjs=False, include_mathjax=False, full_html=False, config=CONFIG
    )
    return f'<div class="chart">{drawn}</div>'


def _shares(told: RunTold) -> str:
    return _chart(shares(told))


def _phases(review: RunReviewBody, local: tzinfo) -> str:
    rows = []
    for one in review.phases:
        came = one.collected
        rows.append([
            text(one.name) + (" (goes on)" if one.is_open else ""),
            moment(one.from_at, local),
            number(one.minutes, 0),
            number(came.volume_l if came else None, 2),
            number(came.abv if came else None),
            number(came.pure_alcohol_l if came else None, 2),
            number(one.rate_ml_min, 0),
            number(one.energy.amount),
        ])  # fmt: skip
    headings = ("Phase", "From", "min", "L", "% vol", "L pure", "mL/min", "kWh")
    return table(headings, rows, "ttnnnnnn")


def _moments(review: RunReviewBody, local: tzinfo, degrees: Degrees) -> str:
    rows = [
        [
            text(one.name), moment(one.at, local), _heat(one.pot_c, degrees),
            _heat(one.head_c, degrees), BASIS[one.basis], text(one.why),
        ]
        for one in review.moments
    ]  # fmt: skip
    heads = (f"{place}, {degrees.sign}" for place in ("Pot", "Head"))
    return table(("Moment", "At", *heads, "Known", "How"), rows, "ttnn")


def _heat(celsius: float | None, degrees: Degrees) -> str:
    return number(None if celsius is None else degrees.turned(celsius))


def _jars(review: RunReviewBody, local: tzinfo) -> str:
    rows = [
        [
            str(one.number), text(one.cut or ""), moment(one.began_at, local),
            number(one.minutes, 0), number(one.volume_at_20_c_l, 2), number(one.abv),
            number(one.abv_error), BASIS.get(one.abv_basis or "", ""),
            number(one.pure_alcohol_l, 3), number(one.running_pure_alcohol_l, 2),
            text("; ".join([*one.smell, *([one.text] if one.text else [])])),
        ]
        for one in review.jars
    ]  # fmt: skip
    headings = ("Jar", "Cut", "From", "min", "L at 20 °C", "% vol", "±", "Known", "L pure",
                "Running", "Smell and notes")  # fmt: skip
    return table(headings, rows, "nttnnnntnn")


def _cuts(review: RunReviewBody) -> str:
    rows = [
        [
            text(one.cut or "not classed"), str(one.collected.jars),
            number(one.collected.volume_l, 2), number(one.collected.abv),
            number(one.collected.pure_alcohol_l, 2),
            _percent(one.collected.share_of_collected), _percent(one.collected.share_of_charge),
        ]
        for one in review.cuts
    ]  # fmt: skip
    whole = review.totals
    rows.append([
        "in all", "", number(whole.volume_l, 2), "", number(whole.pure_alcohol_l, 2), "",
        _percent(whole.share_of_charge),
    ])  # fmt: skip
    headings = ("Cut", "Jars", "L", "% vol", "L pure", "of what came over", "of the charge")
    made = table(headings, rows, "tnnnnnn")
    return f"<h3>By cut</h3>{made}" if review.cuts else ""


def _marks(review: RunReviewBody, local: tzinfo) -> str:
    rows = [
        [
            moment(one.at, local), MARKS.get(one.kind, text(one.kind)),
            "" if one.power_kw is None else f"{number(one.power_kw)} kW",
            text("; ".join([*one.smell, *([one.text] if one.text else [])])), text(one.who),
        ]
        for one in review.marks
    ]  # fmt: skip
    return table(("At", "Mark", "Heat", "Smell and notes", "By"), rows, "ttn")


def _alarms(review: RunReviewBody, local: tzinfo) -> str:
    rows = [
        [
            text(one.name), text(one.where), text(one.priority), moment(one.came_at, local),
            moment(one.went_at, local), moment(one.acknowledged_at, local), text(one.says),
        ]
        for one in review.alarms
    ]  # fmt: skip
    return table(("Alarm", "Where", "Priority", "Came", "Went", "Acknowledged", ""), rows)


def _silences(review: RunReviewBody, local: tzinfo) -> str:
    rows = [
        [
            text(place_name(one.place) if one.place else "all places"),
            moment(one.from_at, local), moment(one.to_at, local), number(one.minutes, 0),
        ]
        for one in review.silences
    ]  # fmt: skip
    return table(("Where", "From", "To", "min"), rows, "tttn")


def _used(review: RunReviewBody) -> str:
    return paragraphs([_used_says("Energy", review.energy), _used_says("Water", review.water)])


def _used_says(what: str, used: UsedBody) -> str:
    amount = "" if used.amount is None else f"{what}: {number(used.amount)} {used.unit}. "
    return f"{amount}{used.says}"


def _estimates(review: RunReviewBody) -> Iterator[str]:
    scores = review.estimates
    if scores is None:
        return
    yield paragraphs([scores.says])
    rows = [
        [
            text(one.name), str(one.n), number(one.bias, one.decimals),
            number(one.mean_absolute_error, one.decimals), text(one.unit),
            _percent(one.inside_band), text(one.says),
        ]
        for one in scores.scores
    ]  # fmt: skip
    headings = ("Estimate", "Times", "Mean error", "Mean size", "", "In its band", "")
    yield table(headings, rows, "tnnntn")


def _percent(share: float | None) -> str:
    return number(None if share is None else 100.0 * share) + ("" if share is None else " %")
