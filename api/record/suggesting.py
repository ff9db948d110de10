"""First drop and changes of power, proposed from the temperatures. Pure functions over series.

They are proposals: a person confirms them, and nothing of them enters the record by itself. The
thresholds are common practice, no source; they were chosen so that bath-like steps of 1/16 °C and
single bad readings propose nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from calc.arrays import median
from calc.quantities import FloatArray

VAPOUR_LEAST_C: Final = 68.0  # a head that hot has vapour at it, at any altitude a still works at
RISE_K: Final = 0.5  # what the spout or the outlet must move by to say that something runs
STEADY_S: Final = 30.0  # for so long it must stay moved
BEFORE_S: Final = 120.0  # the stretch it moved from
GRID_S: Final = 5.0
LONGEST_GAP_S: Final = 60.0
CHANGE_FRACTION: Final = 0.12  # of the heat: a smaller change is not told from wandering
CHANGE_S: Final = 240.0  # either side of a change
SETTLE_S: Final = 120.0  # what the water in a condenser takes to follow
LEAST_WATER_K: Final = 3.0  # the outlet must be so much above the inlet for a share of it to count
STILL_RATE_K_MIN: Final = 0.15
MORE_LESS: Final = {"pot": ("faster", "slower"), "coolant": ("more", "less")}
WARMING_TO_C: Final = 75.0  # from there on vapour takes heat away, and the pot slows by itself


@dataclass(frozen=True, slots=True)
class Line:
    """The good readings of a place, rising in time."""

    times_s: FloatArray
    values_c: FloatArray

    @classmethod
    def of(cls, pairs: Sequence[tuple[float, float | None]]) -> "Line":
        """Make one of readings, those that are none left out."""
        good = [(at, value) for at, value in pairs if value is not None]
        times = np.array([at for at, _ in good], dtype=float)
        return cls(times, np.array([value for _, value in good], dtype=float))


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What seems to have happened, when, and why it is thought so."""

    kind: Literal["first_drop", "power"]
    at_s: float
    why: str
    ratio: float | None = None  # of the heat after to the heat before


def first_drop(head: Line, moving: Line, moving_name: str) -> Suggestion | None:
    """Propose when the first drop fell.

    The head has reached vapour, and the spout (or the coolant's outlet) has begun to move: the
    first moment from which it stays `RISE_K` away from where it was before the head grew hot.
    """
    hot = _first_steady(head.times_s, head.values_c >= VAPOUR_LEAST_C)
    if hot is None or moving.times_s.size == 0:
        return None
    before = moving.values_c[
        (moving.times_s >= hot - BEFORE_S - STEADY_S) & (moving.times_s < hot - STEADY_S)
    ]
    if before.size == 0:
        return None
    base = float(median(before))
    later = moving.times_s >= hot - STEADY_S
    moved = np.abs(moving.values_c[later] - base) >= RISE_K  # a cold spirit cools a warm spout
    at = _first_steady(moving.times_s[later], moved)
    if at is None:
        return None
    return Suggestion(
        "first_drop",
        max(at, hot),
        f"The head reached {VAPOUR_LEAST_C:g} °C and the {moving_name} has left {base:.1f} °C.",
    )


def _first_steady(times: FloatArray, above: NDArray[np.bool_]) -> float | None:
    """Find the first moment from which something stays so for a while."""
    for place in np.flatnonzero(above):
        span = (times >= times[place]) & (times <= times[place] + STEADY_S)
        long_enough = times[-1] - times[place] >= STEADY_S
        if long_enough and np.count_nonzero(above[span]) >= 0.8 * np.count_nonzero(span):
            return float(times[place])
        if not long_enough:
            return None
    return None


def power_changes(pot: Line, outlet: Line, inlet: Line | None) -> tuple[Suggestion, ...]:
    """Propose when the heat was changed.

    While the pot warms, from its rate; once it boils, from how far the coolant's outlet stands
    above the inlet: a step of `CHANGE_FRACTION` or more, kept for some minutes.
    """
    cool = pot.values_c < WARMING_TO_C
    warming = _steps(_rates(Line(pot.times_s[cool], pot.values_c[cool])), "pot")
    boiling = _steps(_above(outlet, inlet), "coolant")
    return tuple(sorted((*warming, *boiling), key=lambda one: one.at_s))


def _grid(line: Line) -> tuple[FloatArray, FloatArray]:
    """Put a line on even times; NaN across gaps."""
    if line.times_s.size < 2:
        return np.empty(0), np.empty(0)
    times = np.arange(line.times_s[0], line.times_s[-1] + GRID_S / 2, GRID_S)
    values = np.interp(times, line.times_s, line.values_c)
    following = np.clip(np.searchsorted(line.times_s, times), 1, line.times_s.size - 1)
    wide = line.times_s[following] - line.times_s[following - 1] > LONGEST_GAP_S
    values[wide] = np.nan
    return times, values


def _rates(pot: Line) -> tuple[FloatArray, FloatArray]:
    """Give the pot's rise in K/min, where it clearly rises."""
    times, values = _grid(pot)
    span = int(60.0 / GRID_S)
    if times.size <= 2 * span:
        return np.empty(0), np.empty(0)
    rates = (values[2 * span :] - values[: -2 * span]) / 2.0
    rates[rates < STILL_RATE_K_MIN] = np.nan
    return times[span:-span], rates


def _above(outlet: Line, inlet: Line | None) -> tuple[FloatArray, FloatArray]:
    """Give how far the outlet stands above the inlet, where it does."""
    times, values = _grid(outlet)
    if times.size == 0 or inlet is None or inlet.times_s.size == 0:
        return np.empty(0), np.empty(0)
    rise = values - np.interp(times, inlet.times_s, inlet.values_c)
    rise[rise < LEAST_WATER_K] = np.nan
    return times, rise


def _steps(series: tuple[FloatArray, FloatArray], what: str) -> list[Suggestion]:
    """Find lasting steps: the level of some minutes before against that of some minutes after."""
    times, values = series
    side, settle = int(CHANGE_S / GRID_S), int(SETTLE_S / GRID_S)
    count = times.size - 2 * side - settle  # places with both sides
    if count < 0:
        return []
    windows = sliding_window_view(values, side)
    levels = median(windows, axis=1)  # NaN where one of the window's is
    before, after = levels[:count], levels[side + settle :][:count]
    spans = windows[:count].max(axis=1) - windows[:count].min(axis=1)
    steady = spans < CHANGE_FRACTION * before
    ratios = np.full(times.size, np.nan)
    ratios[side : side + count][steady] = after[steady] / before[steady]
    return _peaks(times, ratios, what)


def _peaks(times: FloatArray, ratios: FloatArray, what: str) -> list[Suggestion]:
    """Keep of neighbouring candidates the one that changes most."""
    strength = np.nan_to_num(np.abs(np.log(ratios)))
    found: list[Suggestion] = []
    while strength.size and strength.max() >= abs(np.log(1.0 - CHANGE_FRACTION)):
        place = int(strength.argmax())
        ratio = float(ratios[place])
        more, less = MORE_LESS[what]
        how = more if ratio > 1 else less
        why = f"The {what} warms {100 * abs(ratio - 1):.0f} % {how}."
        found.append(Suggestion("power", float(times[place]), why, ratio))
        strength[np.abs(times - times[place]) <= CHANGE_S + SETTLE_S] = 0.0
    return found
