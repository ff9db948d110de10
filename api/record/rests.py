"""Minutes a rest was held in its range, counted from what the probe said. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

# Longer without a good reading is a gap and counts for nothing; three idle scans (10 s each) are
# not, since a mash moves by hundredths of a kelvin meanwhile (common practice, no source).
LONGEST_STEP_S: Final = 30.0


@dataclass(frozen=True, slots=True)
class Sample:
    """A good reading: seconds on any clock, and degrees."""

    at_s: float
    value_c: float | None  # None: refused or silent


@dataclass(frozen=True, slots=True)
class Held:
    """How long a rest was in its range, below it, above it, and not known."""

    in_range_min: float
    below_min: float
    above_min: float
    unknown_min: float
    lowest_c: float | None
    highest_c: float | None


def held(samples: Sequence[Sample], low_c: float, high_c: float, end_s: float) -> Held:
    """Count the minutes from the first sample's time to the end.

    Each good reading stands until the next one; where that took longer than `LONGEST_STEP_S`, the
    whole stretch is a gap: unknown, not counted.
    """
    seconds = {"in": 0.0, "below": 0.0, "above": 0.0, "unknown": 0.0}
    good = [one for one in samples if one.value_c is not None and one.at_s < end_s]
    if samples and (not good or good[0].at_s > samples[0].at_s):
        seconds["unknown"] += (good[0].at_s if good else end_s) - samples[0].at_s
    for one, until_s in _stretches(good, end_s):
        assert one.value_c is not None  # noqa: S101 - only good ones are among them
        where = _where(one.value_c, low_c, high_c)
        known = until_s - one.at_s <= LONGEST_STEP_S
        seconds[where if known else "unknown"] += until_s - one.at_s
    values = [one.value_c for one in good if one.value_c is not None]
    return Held(
        in_range_min=seconds["in"] / 60.0,
        below_min=seconds["below"] / 60.0,
        above_min=seconds["above"] / 60.0,
        unknown_min=seconds["unknown"] / 60.0,
        lowest_c=min(values, default=None),
        highest_c=max(values, default=None),
    )


def _stretches(good: Sequence[Sample], end_s: float) -> Sequence[tuple[Sample, float]]:
    inner = [(one, other.at_s) for one, other in pairwise(good)]
    return [*inner, (good[-1], end_s)] if good else inner


def _where(value_c: float, low_c: float, high_c: float) -> str:
    if value_c < low_c:
        return "below"
    return "above" if value_c > high_c else "in"
