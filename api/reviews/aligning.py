"""Runs laid over each other: where each one's zero is, and what stands on the common axis. Pure.

By time, the axis counts seconds from each run's zero. By pot temperature or alcohol collected it
counts degrees or litres; a run's place on it is the highest the pot has been since the heat went
on, or the pure alcohol that had come over.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import Final, Literal

import numpy as np

from api.reviews.figures import Figures
from api.reviews.lines import Line
from calc.arrays import median
from calc.quantities import FloatArray

Align = Literal["clock", "heat_on", "first_drop", "pot_temperature", "alcohol"]
SMOOTH: Final = 5  # buckets over which the pot is evened out before its highest is taken
HEAT_ON: Final = "The heat's beginning was not marked, and the temperatures do not show it."
FIRST_DROP: Final = "The first drop was not marked, and neither jars nor temperatures show it."
NO_POT: Final = "No probe at the pot was read while the run was on."
NO_ALCOHOL: Final = "It is not known how much alcohol had come over when."


@dataclass(frozen=True, slots=True)
class Axis:
    """What the common axis counts."""

    label: str
    unit: str
    least_step: float  # the finest bucket on it


AXES: Final[dict[Align, Axis]] = {
    "clock": Axis("Time of day", "s", 10.0),
    "heat_on": Axis("Time since heat on", "s", 10.0),
    "first_drop": Axis("Time since the first drop", "s", 10.0),
    "pot_temperature": Axis("Highest pot temperature so far", "°C", 0.05),
    "alcohol": Axis("Pure alcohol collected", "L", 0.001),
}


@dataclass(frozen=True, slots=True)
class Place:
    """How a run's time becomes a place on the axis: rising in both; outside, it has none."""

    times_s: FloatArray
    places: FloatArray

    def of(self, times_s: FloatArray) -> FloatArray:
        """Return where moments lie; NaN beyond the ends."""
        return np.interp(times_s, self.times_s, self.places, left=np.nan, right=np.nan)

    def one(self, at: datetime) -> float | None:
        """Return where one moment lies."""
        found = float(self.of(np.array([at.timestamp()]))[0])
        return None if np.isnan(found) else found

    def reached_s(self, places: FloatArray) -> FloatArray:
        """Return when places were first reached; NaN where they never were."""
        keep = np.concatenate(([True], np.diff(self.places) > 0))
        return np.interp(places, self.places[keep], self.times_s[keep], left=np.nan, right=np.nan)


@dataclass(frozen=True, slots=True)
class Aligned:
    """A run on the axis, or why it cannot be put there."""

    zero_at: datetime | None
    place: Place | None
    why: str | None = None


def align(run: Figures, by: Align, zero_at: datetime | None = None) -> Aligned:
    """Put a run on an axis; `zero_at` is its zero where that was found more finely."""
    if by == "pot_temperature":
        return _by_pot(run)
    if by == "alcohol":
        return _by_alcohol(run)
    zero = zero_at or zero_of(run, by)
    if zero is None:
        return Aligned(None, None, HEAT_ON if by == "heat_on" else FIRST_DROP)
    ends = np.array([run.ground.run.effective_at.timestamp(), run.ground.until.timestamp()])
    return Aligned(zero, Place(ends, ends - zero.timestamp()))


def zero_of(run: Figures, by: Align) -> datetime | None:
    """Return where a run's zero is on an axis of time.

    By the clock, so long before the run as its clock stood past midnight: where the clock was put
    forward or back that night, midnight itself would lie an hour off.
    """
    if by == "clock":
        began = run.ground.run.effective_at.astimezone(run.ground.site.zone).replace(tzinfo=None)
        return run.ground.run.effective_at - (began - datetime.combine(began.date(), time()))
    return run.when("heat_on" if by == "heat_on" else "first_drop")


def _by_pot(run: Figures) -> Aligned:
    pot = run.ground.lines.of("pot")
    if pot is None:
        return Aligned(None, None, NO_POT)
    begin = run.when("heat_on") or run.ground.run.effective_at
    end = run.when("heat_off") or run.when("end") or run.ground.until
    heated = _from_lowest(pot.between(begin.timestamp(), end.timestamp()), run.when("first_drop"))
    if heated.times_s.size < SMOOTH:
        return Aligned(begin, None, NO_POT)
    return Aligned(begin, Place(heated.times_s, np.maximum.accumulate(_evened(heated))))


def _from_lowest(pot: Line, drop: datetime | None) -> Line:
    """Begin where the pot was coldest: one that was charged hot cools first."""
    before = pot if drop is None else pot.between(float("-inf"), drop.timestamp())
    if before.times_s.size == 0:
        return pot
    return pot.between(float(before.times_s[before.values.argmin()]), float("inf"))


def _evened(line: Line) -> FloatArray:
    """Take the median of some neighbours, so that one bad reading is no highest."""
    half = SMOOTH // 2
    padded = np.concatenate(
        (line.values[:1].repeat(half), line.values, line.values[-1:].repeat(half))
    )
    return median(np.lib.stride_tricks.sliding_window_view(padded, SMOOTH), axis=1)


def _by_alcohol(run: Figures) -> Aligned:
    points = [one for one in run.running if one.pure_alcohol_l is not None]
    rising = [points[0]] if points else []
    for one in points[1:]:
        if one.at > rising[-1].at:
            rising.append(one)
    if len(rising) < 2 or not run.shows_strength or not rising[-1].pure_alcohol_l:
        return Aligned(None, None, NO_ALCOHOL)
    times = np.array([one.at.timestamp() for one in rising])
    litres = np.array([one.pure_alcohol_l for one in rising], dtype=float)
    return Aligned(rising[0].at, Place(times, litres))


@dataclass(frozen=True, slots=True)
class Thinned:
    """A line on the axis: the lowest and highest of each bucket there is anything in."""

    x0: float
    dx: float
    low: list[int | None]  # whole counts
    high: list[int | None]
    breaks: list[int]


def step_of(aligned: Sequence[Aligned], axis: Axis, buckets: int) -> float:
    """Return a width of buckets with which no run needs more than so many."""
    spans = [float(np.ptp(one.place.places)) for one in aligned if one.place is not None]
    return max(float(np.ceil(max(spans, default=0.0) / buckets / axis.least_step)), 1.0) * (
        axis.least_step
    )


def thinned(line: Line, place: Place, dx: float) -> Thinned | None:
    """Put a line on the axis in buckets; None where none of it lies there."""
    x = place.of(line.times_s)
    there = np.flatnonzero(~np.isnan(x))
    if there.size == 0:
        return None
    bins = np.floor(x[there] / dx).astype(np.int64)
    starts = np.flatnonzero(np.concatenate(([True], np.diff(bins) > 0)))
    at = bins[starts] - bins[0]
    scale = line.counts_per_unit
    low = np.minimum.reduceat(np.rint(line.low[there] * scale), starts).astype(np.int64)
    high = np.maximum.reduceat(np.rint(line.high[there] * scale), starts).astype(np.int64)
    size = int(at[-1]) + 1
    return Thinned(
        float(bins[0]) * dx, dx, _spread(low, at, size), _spread(high, at, size),
        _breaks(line, there, bins),
    )  # fmt: skip


def _spread(values: np.ndarray, at: np.ndarray, size: int) -> list[int | None]:
    spread: list[int | None] = [None] * size
    for place, value in zip(at.tolist(), values.tolist(), strict=True):
        spread[place] = value
    return spread


def _breaks(line: Line, there: np.ndarray, bins: np.ndarray) -> list[int]:
    kept = np.searchsorted(there, line.breaks)
    found = {int(bins[one] - bins[0]) for one in kept.tolist() if 0 < one < there.size}
    return sorted(found - {0})
