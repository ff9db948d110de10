"""Which probe a hand warms: the one that rises most against what it was about to do. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from calc.quantities import FloatArray
from logger.store.recent import Stretch

LAST_S: Final = 60
BEFORE_S: Final = 300  # what a probe did before is judged over this, before the last minute
FEWEST_BEFORE: Final = 5
# Common practice, no source: a hand warms a steel probe by 5 to 10 °C a minute.
LEAST_RISE_C: Final = 1.5
LEAST_LEAD: Final = 2.0  # times the next
HAND_C: Final = 38.0  # no hand warms a probe beyond its own heat; a still's head may


@dataclass(frozen=True, slots=True)
class Rise:
    """How far a probe rose beyond its own trend, and whether a hand may have done it."""

    probe_id: str
    rise_c: float
    from_c: float  # where its trend would have taken it by the moment it was warmest
    to_c: float
    trend_c_per_min: float  # before the last minute; 0 where there was too little to tell
    by_hand: bool


def rises(stretches: Mapping[str, Stretch], end_slot: int) -> list[Rise]:
    """Judge every probe that has a good reading in the last minute; the most risen first.

    A hold that was let go within the minute counts at its warmest. A heating still rises as it did
    before, which is no rise here.
    """
    found = [_rise(probe_id, one, end_slot) for probe_id, one in stretches.items()]
    return sorted((one for one in found if one), key=lambda one: -one.rise_c)


def chosen(found: list[Rise]) -> Rise | None:
    """Choose the probe that stands out, if one does."""
    hands = [one for one in found if one.by_hand and one.rise_c >= LEAST_RISE_C]
    if not hands:
        return None
    second = max((one.rise_c for one in found if one is not hands[0]), default=0.0)
    return hands[0] if hands[0].rise_c >= LEAST_LEAD * second else None


def _rise(probe_id: str, stretch: Stretch, end_slot: int) -> Rise | None:
    last = stretch.slots > end_slot - LAST_S
    if not last.any():
        return None
    smooth = _medians(stretch.values)
    slots, values = stretch.slots[last], smooth[last]
    before = _Before.of(stretch.slots[~last], smooth[~last], slots[0], values[0])
    expected = before.at(slots)
    warmest = int(np.argmax(values - expected))
    to_c, from_c = float(values[warmest]), float(expected[warmest])
    return Rise(
        probe_id,
        rise_c=round(to_c - from_c, 2),
        from_c=round(from_c, 2),
        to_c=round(to_c, 2),
        trend_c_per_min=round(before.per_s * 60, 2),
        by_hand=to_c <= HAND_C,
    )


@dataclass(frozen=True, slots=True)
class _Before:
    """Where a probe was and where it went, until the last minute."""

    slot: float
    value: float
    per_s: float

    @classmethod
    def of(
        cls, slots: FloatArray, values: FloatArray, first_slot: float, first_value: float
    ) -> "_Before":
        """Draw a line through smoothed readings, or none where there are too few."""
        if slots.size < FEWEST_BEFORE:
            return cls(first_slot, first_value, 0.0)
        mean = slots.mean()
        off = slots - mean
        return cls(float(mean), float(values.mean()), float(off @ values) / float(off @ off))

    def at(self, slots: FloatArray) -> FloatArray:
        """Say where the probe would be."""
        return self.value + self.per_s * (slots - self.slot)


def _medians(values: FloatArray) -> FloatArray:
    """Give each reading's median with its neighbours; at the ends, what cannot be a false rise."""
    if values.size < 3:
        return values
    a, b, c = values[:-2], values[1:-1], values[2:]
    middle = np.maximum(np.minimum(a, b), np.minimum(np.maximum(a, b), c))
    ends = np.minimum(values[[0, -1]], middle[[0, -1]])
    return np.concatenate([ends[:1], middle, ends[1:]])
