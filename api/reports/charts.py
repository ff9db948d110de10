"""The charts of a report, made with the plotly package; never loaded by the service itself.

Only scatter, bar and shapes are drawn: what the basic bundle of plotly.js holds. The time axis is
in seconds from the run's beginning, its ticks in local time, so that a clock put back in the night
does not fold the line over itself.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Any, Final

import numpy as np
import plotly.graph_objects as go
from numpy.typing import NDArray
from plotly.subplots import make_subplots

from api.reports.gathering import RunTold
from api.reviews.lines import Line
from api.reviews.words import place_name
from logger.store.tables import TEMPERATURE

WIDTH_PX: Final = 700  # A4 within margins of 12 mm, at 96 px to the inch
INK, QUIET, RULE, COPPER, HATCH = "#2a2520", "#665d51", "#e0d6c4", "#9c4318", "#d8ccb7"
FACE: Final = 'system-ui, "Segoe UI", Roboto, "Noto Sans", "Liberation Sans", Arial, sans-serif'
# Of the pages: each place its colour and its dash, so that a print in grey still reads.
STROKES: Final = {
    "pot": ("#35302a", "solid"),
    "head": ("#a8451a", "solid"),
    "column": ("#823a76", "14px,4px,3px,4px"),
    "coolant_in": ("#1f6489", "2px,4px"),
    "coolant_out": ("#1f6489", "16px,4px"),
    "reflux_out": ("#4b4fa6", "8px,4px"),
    "spout": ("#806005", "8px,4px"),
    "room": ("#6b6459", "1px,6px"),
}
OTHER: Final = ("#14706a", "5px,3px")
CUTS: Final = {
    "foreshots": ("F", "x"),
    "heads": ("h", "/"),
    "hearts": ("H", ""),
    "tails": ("T", "\\"),
    "feints": ("f", "."),
}
TICKS_S: Final = (300, 600, 900, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400)
MOST_TICKS: Final = 10
APART: Final = 0.01  # of the axis, between the names of marks
LETTER: Final = 0.0088  # of the axis, that a letter of them takes
AIR: Final = 1.3  # of the longest bar, so that the number at its end is not cut
END_NAMES_PX: Final = 76  # what the names at the lines' ends take
LATE: Final = 0.86  # of the axis; lines that end later have their names beside the chart


def sheet(told: RunTold) -> go.Figure:
    """Draw a run on one axis of time: temperatures, strength, what came over, and how fast."""
    made = make_subplots(
        rows=4, cols=1, shared_xaxes=True, vertical_spacing=0.035,
        row_heights=[0.52, 0.18, 0.18, 0.12],
    )  # fmt: skip
    _temperatures(made, told)
    _strengths(made, told)
    _collected(made, told)
    _rates(made, told)
    _marks(made, told)
    _axes(made, told)
    return made


def shares(told: RunTold) -> go.Figure | None:
    """Draw what the phases took and gave, side by side; None where there are none."""
    phases = told.review.phases
    if not phases:
        return None
    names = [one.name for one in phases]
    made = make_subplots(rows=1, cols=2, subplot_titles=("Minutes", "Litres of pure alcohol"))
    minutes = [one.minutes for one in phases]
    came = [one.collected.pure_alcohol_l if one.collected else None for one in phases]
    for column, values, decimals in ((1, minutes, 0), (2, came, 2)):
        texts = ["" if one is None else f"{one:.{decimals}f}" for one in values]
        bars = go.Bar(
            x=values, y=names, orientation="h", marker=_hatched(), text=texts,
            textposition="outside", cliponaxis=False, showlegend=False,
        )  # fmt: skip
        made.add_trace(bars, row=1, col=column)
        most = max((one for one in values if one), default=1.0)
        made.update_xaxes(range=[0, AIR * most], row=1, col=column)
    made.update_layout(**_plain(height=64 + 30 * len(names)), bargap=0.35)
    made.update_layout(margin_l=88)
    made.update_annotations(font_size=12)
    made.update_xaxes(showgrid=False, showticklabels=False, zeroline=False)
    made.update_yaxes(autorange="reversed", showgrid=False)
    made.update_yaxes(showticklabels=False, col=2)
    return made


def _temperatures(made: go.Figure, told: RunTold) -> None:
    began_s = told.review.run.from_ms / 1000.0
    zero = np.float32(told.degrees.turned(0.0))
    per = np.float32(told.degrees.turned(1.0)) - zero
    for line in told.lines.temperatures:
        colour, dash = STROKES.get(line.place, OTHER)
        times, values = _points(line, began_s)
        trace = go.Scatter(
            x=times, y=values * per + zero, mode="lines", name=place_name(line.place),
            line={"color": colour, "dash": dash, "width": 1.6},
            hovertemplate="%{y:.1f} " + told.degrees.sign,
        )  # fmt: skip
        made.add_trace(trace, row=1, col=1)


def _points(line: Line, began_s: float) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Put a hole where there was a gap; single precision holds a run's seconds and sixteenths."""
    times = np.insert(line.times_s - began_s, line.breaks, line.times_s[line.breaks - 1] - began_s)
    values = np.insert(line.values, line.breaks, np.nan)
    return times.astype(np.float32), values.astype(np.float32)


def _strengths(made: go.Figure, told: RunTold) -> None:
    points = told.review.series.strengths
    began_ms = told.review.run.from_ms
    trace = go.Scatter(
        x=[(one.at_ms - began_ms) / 1000.0 for one in points],
        y=[one.abv for one in points],
        error_y={"array": [one.abv_error for one in points], "color": QUIET, "thickness": 1},
        mode="lines+markers", name="strength read", showlegend=False,
        line={"color": COPPER, "width": 1.2}, marker={"size": 5, "color": COPPER},
        hovertemplate="%{y:.1f} % vol",
    )  # fmt: skip
    made.add_trace(trace, row=2, col=1)


def _collected(made: go.Figure, told: RunTold) -> None:
    """Draw what came over as two lines, each named at its end."""
    points = told.review.series.collected
    began_ms = told.review.run.from_ms
    times = [(one.at_ms - began_ms) / 1000.0 for one in points]
    for name, values, dash, side in (
        ("volume", [one.volume_l for one in points], "solid", "bottom"),
        ("pure alcohol", [one.pure_alcohol_l for one in points], "8px,4px", "top"),
    ):
        trace = go.Scatter(
            x=times, y=values, mode="lines", name=name, showlegend=False,
            line={"color": INK, "dash": dash, "width": 1.4}, hovertemplate="%{y:.2f} L",
        )  # fmt: skip
        made.add_trace(trace, row=3, col=1)
        if points:
            made.add_annotation(
                x=times[-1], y=values[-1], text=name, showarrow=False, xanchor="left", xshift=4,
                yanchor=side, yshift=-6 if side == "bottom" else 6, font={"size": 10, "color": INK},
                row=3, col=1,
            )  # fmt: skip


def _rates(made: go.Figure, told: RunTold) -> None:
    """Draw each jar as a bar as wide as it stood and as high as it filled."""
    began_ms = told.review.run.from_ms
    cuts = {one.number: one.cut for one in told.review.jars}
    rates = told.review.series.rates
    shown = [CUTS.get(cuts.get(one.jar) or "", ("", "")) for one in rates]
    trace = go.Bar(
        x=[((one.from_ms + one.to_ms) / 2 - began_ms) / 1000.0 for one in rates],
        width=[(one.to_ms - one.from_ms) / 1000.0 for one in rates],
        y=[one.ml_min for one in rates],
        text=[letter for letter, _ in shown],
        textposition="inside",
        marker=_hatched([pattern for _, pattern in shown]),
        showlegend=False,
        hovertemplate="%{y:.0f} mL/min",
    )
    made.add_trace(trace, row=4, col=1)


def _hatched(patterns: Sequence[str] = ()) -> dict[str, Any]:
    pattern = {"shape": list(patterns), "fgcolor": HATCH, "size": 6} if patterns else {}
    return {"color": "#faf5eb", "line": {"color": QUIET, "width": 1}, "pattern": pattern}


def _marks(made: go.Figure, told: RunTold) -> None:
    """Draw what happened as fine upright lines, named above the sheet in as many rows as it takes.

    Names of neighbours would lie on each other; those that come close go a row up.
    """
    run = told.review.run
    whole_s = max((run.to_ms - run.from_ms) / 1000.0, 1.0)
    rows: list[list[tuple[float, float]]] = []
    for one in told.review.moments:
        at_s = one.at.timestamp() - run.from_ms / 1000.0
        made.add_vline(x=at_s, line={"color": COPPER, "width": 0.8, "dash": "1px,2px"})
        right = at_s < 0.8 * whole_s
        long_s = whole_s * (APART + LETTER * len(one.name))
        row = _free_row(rows, (at_s, at_s + long_s) if right else (at_s - long_s, at_s))
        made.add_annotation(
            x=at_s, y=1.0, yshift=10 + 13 * row, xref="x", yref="paper", text=one.name,
            showarrow=False, xanchor="left" if right else "right",
            font={"size": 10, "color": COPPER},
        )  # fmt: skip
    came = [one.came_at.timestamp() - run.from_ms / 1000.0 for one in told.review.alarms]
    if came:
        trace = go.Scatter(
            x=came, y=[0.02] * len(came), yaxis="y5", mode="markers", name="alarm came",
            marker={"symbol": "triangle-up", "size": 8, "color": INK},
            hovertext=[one.name for one in told.review.alarms], hoverinfo="text",
        )  # fmt: skip
        made.add_trace(trace)
        made.update_layout(yaxis5={"overlaying": "y", "range": [0, 1], "visible": False})


def _free_row(rows: list[list[tuple[float, float]]], span: tuple[float, float]) -> int:
    """Find the lowest row in which a name meets no other, and put it there."""
    for number, row in enumerate(rows):
        if all(span[1] <= begin or end <= span[0] for begin, end in row):
            row.append(span)
            return number
    rows.append([span])
    return len(rows) - 1


def _axes(made: go.Figure, told: RunTold) -> None:
    run = told.review.run
    whole_s = max((run.to_ms - run.from_ms) / 1000.0, 1.0)
    ticks = list(_ticks(run.started_at, whole_s, told.zone))
    ends = [one.at_ms - run.from_ms for one in told.review.series.collected[-1:]]
    is_late = any(one / 1000.0 > LATE * whole_s for one in ends)
    made.update_layout(
        **_plain(height=760, top=78, right=END_NAMES_PX if is_late else 12),
        legend={"orientation": "h", "y": -0.06, "x": 0, "yanchor": "top"},
        bargap=0,
        hovermode="x",
    )
    made.update_xaxes(
        range=[0, whole_s], tickvals=[at for at, _ in ticks], ticktext=[text for _, text in ticks],
        gridcolor=RULE, zeroline=False, linecolor=QUIET, ticks="outside", tickcolor=QUIET,
    )  # fmt: skip
    made.update_xaxes(showticklabels=True, row=4, col=1)
    made.update_yaxes(gridcolor=RULE, zeroline=False, linecolor=QUIET, nticks=5)
    for row, title in enumerate((told.degrees.sign, "% vol", "L", "mL/min"), 1):
        made.update_yaxes(
            title={"text": title, "standoff": 4, "font": {"size": 11}}, row=row, col=1
        )
    if not any(line.quantity == TEMPERATURE for line in told.lines.lines):
        made.add_annotation(
            x=0.5, y=0.75, xref="paper", yref="paper", showarrow=False,
            text="No readings are stored of this run.", font={"color": QUIET},
        )  # fmt: skip


def _ticks(began: datetime, whole_s: float, local: tzinfo) -> Iterator[tuple[float, str]]:
    """Place ticks at round local times; after the clock was put back an hour comes twice."""
    step_s = next((one for one in TICKS_S if whole_s / one <= MOST_TICKS), TICKS_S[-1])
    began = began.astimezone(UTC)  # adding to a local time would follow the wall's clock
    begin = began.astimezone(local)
    since_midnight_s = (begin.hour * 60 + begin.minute) * 60 + begin.second
    first_s = -since_midnight_s % step_s
    many_days = whole_s > 36 * 3600
    for nth in range(int((whole_s - first_s) // step_s) + 1):
        at_s = first_s + nth * step_s
        at = (began + timedelta(seconds=at_s)).astimezone(local)
        yield at_s, f"{at:%d %b %H:%M}" if many_days or nth == 0 else f"{at:%H:%M}"


def _plain(height: int, top: int = 34, right: int = 12) -> dict[str, Any]:
    return {
        "template": "none",
        "width": WIDTH_PX,
        "height": height,
        "margin": {"l": 52, "r": right, "t": top, "b": 44},
        "font": {"family": FACE, "size": 11, "color": INK},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
    }
