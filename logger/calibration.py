"""Calibrating a probe: whether it holds still, and the line through the points it was held at.

Pure. True temperature = slope x measured + offset; everything in °C, and sentences in the unit
their reader goes by.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from calc.errors import OutOfRangeError
from calc.pressure import water_boiling_point
from calc.quantities import FloatArray
from calc.trend import slope_per_minute
from logger.degrees import CELSIUS, Degrees
from logger.store.recent import Stretch

ICE_C: Final = 0.0  # crushed ice and distilled water, within 0.05 K: NIST SP 1088
WINDOW_S: Final = 180
# Common practice, no source: a reading steps by 1/16 °C, and one that stands on the edge of a step
# goes to and fro; three steps, or a drift that makes three steps in the window, are more than that.
SPREAD_LIMIT_C: Final = 0.2
DRIFT_LIMIT_C_PER_MIN: Final = 0.05
FEWEST_READINGS: Final = 10
REFUSED_LIMIT: Final = 0.2  # share of the readings
# Copies err by up to 3 °C (see the likely-copy warning); further off, the probe is elsewhere.
FAR_LIMIT_C: Final = 5.0
# Two points 0.1 °C wrong and 30 K apart turn the line by 0.5 %, or 0.25 °C another 50 K on.
APART_LIMIT_C: Final = 30.0
SLOPE_LOW: Final = 0.95  # off by 5 °C at 100 °C: beyond, a point was wrong
SLOPE_HIGH: Final = 1.05


class Point(NamedTuple):
    """What a probe said at a temperature that is known."""

    measured_c: float
    reference_c: float


class Line(NamedTuple):
    """True temperature = slope x measured + offset."""

    slope: float = 1.0
    offset: float = 0.0

    def at(self, measured_c: float) -> float:
        """Give the true temperature of a measured one."""
        return self.slope * measured_c + self.offset

    def measured(self, true_c: float) -> float:
        """Give what the probe measures at a true temperature."""
        return (true_c - self.offset) / self.slope


@dataclass(frozen=True, slots=True)
class Fit:
    """A line through points, and how far the furthest lies off; None where none can."""

    line: Line
    residual_c: float | None


@dataclass(frozen=True, slots=True)
class Steadiness:
    """How still a probe held; `why` is None where a point may be taken."""

    readings: int
    measured_c: float | None
    spread_c: float | None
    slope_c_per_min: float | None
    why: str | None


def steam_c(pressure_hpa: float) -> float:
    """Give the temperature of steam over boiling water; OutOfRangeError beyond 120 to 1400 hPa."""
    return round(float(water_boiling_point(pressure_hpa)), 4)


def judge(stretch: Stretch | None, end_slot: int, degrees: Degrees = CELSIUS) -> Steadiness:
    """Judge the readings of the window that ends at a slot."""
    if stretch is None or not stretch.slots.size:
        why = "it has no good reading in the last minutes; see that it is connected."
        return Steadiness(0, None, None, None, why)
    values = stretch.values
    slope = slope_per_minute(stretch.slots, values, WINDOW_S, end_slot)
    spread = float(values.max() - values.min())
    return Steadiness(
        readings=values.size,
        measured_c=round(float(values.mean()), 4),
        spread_c=round(spread, 4),
        slope_c_per_min=None if slope is None else round(slope, 4),
        why=_why(stretch, slope, spread, degrees),
    )


def _why(stretch: Stretch, slope: float | None, spread: float, degrees: Degrees) -> str | None:
    good = stretch.values.size
    if good < FEWEST_READINGS or slope is None:
        return (
            f"there are only {good} good readings in the last {WINDOW_S // 60} minutes, and "
            f"{FEWEST_READINGS} spread over half of them are needed; wait a little."
        )
    if stretch.refused > REFUSED_LIMIT * (good + stretch.refused):
        return (
            f"{stretch.refused} of its {good + stretch.refused} readings were refused; mend its "
            "cable first."
        )
    if abs(slope) > DRIFT_LIMIT_C_PER_MIN:
        return (
            f"it still moves by {degrees.change(slope)} a minute, and at most "
            f"{degrees.most(DRIFT_LIMIT_C_PER_MIN)} is steady; wait until it has come to rest."
        )
    if spread > SPREAD_LIMIT_C:
        return (
            f"its readings lie {degrees.apart(spread)} apart, and at most "
            f"{degrees.most(SPREAD_LIMIT_C)} is steady; stir, and keep the probe off the wall."
        )
    return None


def too_far(measured_c: float, reference_c: float, degrees: Degrees = CELSIUS) -> str | None:
    """Say so where a probe cannot be where it is said to be."""
    off = measured_c - reference_c
    if abs(off) <= FAR_LIMIT_C:
        return None
    return (
        f"it reads {degrees.at(measured_c)}, {degrees.apart(abs(off), 1)} from the "
        f"{degrees.at(reference_c)} it should be at, and a probe errs by less than "
        f"{degrees.most(FAR_LIMIT_C)}; see that it is where you think."
    )


def fit(points: Sequence[Point], degrees: Degrees = CELSIUS) -> Fit:
    """Draw the line: through one point an offset alone, through more by least squares.

    Raises OutOfRangeError where several points lie too close together, or the slope is too far
    from 1 for any probe.
    """
    measured = np.array([point.measured_c for point in points])
    reference = np.array([point.reference_c for point in points])
    if len(points) == 1:
        return Fit(Line(1.0, _tidy(reference[0] - measured[0])), None)
    _check_apart(measured, degrees)
    off = measured - measured.mean()
    slope = float(off @ reference) / float(off @ off)
    _check_slope(slope)
    offset = float(reference.mean() - slope * measured.mean())
    residual = float(np.abs(slope * measured + offset - reference).max())
    made = Line(round(slope, 7), _tidy(offset))
    return Fit(made, round(residual, 4) if len(points) > 2 else None)


def _tidy(offset: float) -> float:
    return round(float(offset), 5) + 0.0  # no -0


def _check_apart(measured: FloatArray, degrees: Degrees) -> None:
    apart = float(measured.max() - measured.min())
    if apart < APART_LIMIT_C:
        raise OutOfRangeError(
            f"The points lie {degrees.apart(apart, 1)} apart, too close for a line; choose points "
            f"at least {degrees.most(APART_LIMIT_C)} apart, such as ice and steam, or a single "
            "one.",
            quantity="point_ids",
        )


def _check_slope(slope: float) -> None:
    if not SLOPE_LOW <= slope <= SLOPE_HIGH:
        raise OutOfRangeError(
            f"The points give a slope of {slope:.3f}, and no sound probe is outside "
            f"{SLOPE_LOW:g} to {SLOPE_HIGH:g}; measure the points again.",
            quantity="point_ids",
        )
