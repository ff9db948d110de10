"""Runs laid over each other, as they are sent."""

from collections.abc import Sequence

import numpy as np

from api.layout import UNITS, key_of
from api.reviews.aligning import AXES, Align, Aligned, Place, step_of, thinned
from api.reviews.bodies_compared import (
    AlignedLineBody,
    AlignedMarkBody,
    AlignedRunBody,
    AlignedSegmentBody,
    AlignedStrengthBody,
    AlignedSumBody,
    AxisBody,
    ComparisonBody,
    DifferenceBody,
    ReachedBody,
    RunGapBody,
)
from api.reviews.figures import Figures
from api.reviews.gaps_told import gaps
from api.reviews.keys import KEYS, numbers
from api.reviews.rows import row
from api.reviews.words import MOMENTS

BY_TIME = frozenset({"clock", "heat_on", "first_drop"})


def comparison(
    runs: Sequence[Figures],
    places: Sequence[Aligned],
    by: Align,
    buckets: int,
    references: frozenset[object],
) -> ComparisonBody:
    """Show runs on one axis, with what differs between them."""
    axis = AXES[by]
    dx = step_of(places, axis, buckets)
    return ComparisonBody(
        align=by,
        axis=AxisBody(label=axis.label, unit=axis.unit),
        runs=[
            _run(run, place, dx, by, is_reference=run.ground.run.about in references)
            for run, place in zip(runs, places, strict=True)
        ],
        table=differences(runs),
        gaps=[
            RunGapBody(run_id=run.ground.run.about, about=one.about, why=one.why)
            for run in runs
            for one in gaps(run)
        ],
    )


def differences(runs: Sequence[Figures]) -> list[DifferenceBody]:
    """Hold each key number that any run has against the first run's."""
    each = [numbers(run) for run in runs]
    found = []
    for key in KEYS.values():
        values = [one[key.name] for one in each]
        if all(value is None for value in values):
            continue
        first = values[0]
        found.append(
            DifferenceBody(
                name=key.name,
                label=key.label,
                unit=key.unit,
                decimals=key.decimals,
                values=values,
                differences=[
                    None if value is None or first is None else value - first for value in values
                ],
            )
        )
    return found


def line_bodies(run: Figures, place: Place, dx: float) -> list[AlignedLineBody]:
    """Show a run's lines on an axis."""
    found = []
    for line in run.ground.lines.lines:
        thin = thinned(line, place, dx)
        if thin is None:
            continue
        found.append(
            AlignedLineBody(
                key=key_of(line.place, line.quantity),
                place_id=line.place_id,
                place=line.place,
                quantity=line.quantity,
                unit=UNITS.get(line.quantity, ""),
                segments=[
                    AlignedSegmentBody(
                        x0=thin.x0,
                        dx=thin.dx,
                        counts_per_unit=line.counts_per_unit,
                        lo=thin.low,
                        hi=thin.high,
                        breaks=thin.breaks,
                    )
                ],
            )
        )
    return found


def mark_bodies(run: Figures, place: Place) -> list[AlignedMarkBody]:
    """Show a run's moments on an axis."""
    return [
        AlignedMarkBody(key=one.key, name=MOMENTS[one.key], at=one.at, x=place.one(one.at))
        for one in run.moments
    ]


def _run(
    run: Figures, aligned: Aligned, dx: float, by: Align, *, is_reference: bool
) -> AlignedRunBody:
    place = aligned.place
    return AlignedRunBody(
        run=row(run),
        zero_at=aligned.zero_at,
        why=aligned.why,
        is_reference=is_reference,
        marks=mark_bodies(run, place) if place else [],
        lines=line_bodies(run, place, dx) if place else [],
        strengths=_strengths(run, place) if place else [],
        collected=_collected(run, place) if place else [],
        reached=None if by in BY_TIME or place is None else _reached(aligned, place, dx),
    )


def _strengths(run: Figures, place: Place) -> list[AlignedStrengthBody]:
    return [
        AlignedStrengthBody(x=x, abv=one.abv, abv_error=one.error_abv, jar=one.jar)
        for one in run.strengths
        if (x := place.one(one.at)) is not None
    ]


def _collected(run: Figures, place: Place) -> list[AlignedSumBody]:
    return [
        AlignedSumBody(x=x, volume_l=one.volume_l, pure_alcohol_l=one.pure_alcohol_l)
        for one in run.running
        if (x := place.one(one.at)) is not None
    ]


def _reached(aligned: Aligned, place: Place, dx: float) -> ReachedBody:
    first, last = np.floor(place.places[[0, -1]] / dx)
    grid = np.arange(first, last + 1) * dx
    zero = aligned.zero_at.timestamp() if aligned.zero_at else float(place.times_s[0])
    seconds = place.reached_s(grid) - zero
    return ReachedBody(
        x0=float(grid[0]),
        dx=dx,
        seconds=[None if np.isnan(one) else round(one, 1) for one in seconds.tolist()],
    )
