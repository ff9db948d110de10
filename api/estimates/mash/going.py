"""How a mash goes: its rate over the last minutes, and how far that took it while nobody read."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from api.estimates.mash.readings import Stretch
from api.estimates.mash.sample import Sample
from calc.quantities import FloatArray

RATE_OVER_MIN: Final = 15.0
RATE_AT_LEAST_MIN: Final = 4.0
RATE_ERROR_K_MIN: Final = 0.0005  # what stirring and a probe's steps leave of a rate at best
# By which share of its rate it may have gone faster or slower unread: a lid, a stir.
# Common practice, no source.
UNSEEN_SHARE: Final = 0.3


@dataclass(frozen=True, slots=True)
class Going:
    """A straight line through the last minutes."""

    shown_c: float  # at the newest reading
    rate_k_min: float
    error_k_min: float
    over_min: float

    def rates(self, sample: Sample) -> FloatArray:
        """Give each member's rate."""
        return np.asarray(self.rate_k_min + self.error_k_min * sample.rate)

    def gone_k(self, sample: Sample, silent_min: float) -> FloatArray:
        """Give how far each member has gone since the newest reading."""
        unseen = 1.0 + UNSEEN_SHARE * (2.0 * sample.gap - 1.0)
        return np.asarray(self.rates(sample) * unseen * silent_min)


def going(stretch: Stretch) -> Going | None:
    """Fit the line to what was read on end; None where that is too short."""
    recent = stretch.slots > stretch.slots[-1] - RATE_OVER_MIN * 60.0
    times = (stretch.slots[recent] - stretch.slots[-1]) / 60.0
    if -times[0] < RATE_AT_LEAST_MIN:
        return None
    return Going(*_line(times, stretch.mash_c[recent]), -float(times[0]))


def _line(times_min: FloatArray, mash_c: FloatArray) -> tuple[float, float, float]:
    """Fit a straight line: temperature now, rate, and the rate's standard error."""
    centred = times_min - times_min.mean()
    spread = float(centred @ centred)
    rate = float(centred @ mash_c) / spread
    middle = float(mash_c.mean())
    left = mash_c - middle - rate * centred
    error2 = float(left @ left) / max(times_min.size - 2, 1) / spread
    return middle - rate * times_min.mean(), rate, float(np.hypot(error2**0.5, RATE_ERROR_K_MIN))
