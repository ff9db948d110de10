"""How far a place reads from the boiling point of water while a still is cleaned with it. Pure.

Where water boils and its steam fills the still, a probe stands at the boiling point of water under
the air's pressure. The longest steady stretch near it counts: its median against that point. Depth
of water raises a pot's own by 0.03 K a centimetre (hydrostatic pressure; common practice).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from api.reviews.lines import Line
from calc.arrays import median
from calc.pressure import water_boiling_point
from calc.quantities import FloatArray
from calc.trend import slopes_per_minute

WINDOW_S: Final = 300.0
STEADY_K_MIN: Final = 0.05
NEAR_K: Final = 5.0
LEAST_S: Final = 300.0
FEWEST: Final = 5


@dataclass(frozen=True, slots=True)
class Drift:
    """What a place read in steam, and what it should have."""

    place: str
    from_at: datetime
    to_at: datetime
    measured_c: float
    water_c: float

    @property
    def difference_k(self) -> float:
        """How much it read above the boiling point of water."""
        return self.measured_c - self.water_c


def drift(line: Line, pressure_hpa: float) -> Drift | None:
    """Find a place's drift in a cleaning run; None where it never stood in steam."""
    water_c = water_boiling_point(pressure_hpa)
    spells = list(_spells(line, water_c))
    if not spells:
        return None
    longest = max(spells, key=lambda one: float(line.times_s[one[-1]] - line.times_s[one[0]]))
    return Drift(
        line.place,
        datetime.fromtimestamp(float(line.times_s[longest[0]]), UTC),
        datetime.fromtimestamp(float(line.times_s[longest[-1]]), UTC),
        float(median(line.values[longest])),
        water_c,
    )


def _spells(line: Line, water_c: float) -> Iterator[NDArray[np.intp]]:
    """Find where it stood in steam for long enough; across a gap nobody knows whether it did."""
    for stretch in np.split(np.arange(line.times_s.size), line.breaks):
        steady = _steady(line.times_s[stretch], line.values[stretch], line.bucket_s, water_c)
        changes = np.flatnonzero(np.diff(steady.astype(np.int8))) + 1
        for spell in np.split(stretch, changes):
            if not spell.size or not steady[spell[0] - stretch[0]]:
                continue
            if line.times_s[spell[-1]] - line.times_s[spell[0]] >= LEAST_S:
                yield spell


def _steady(
    times_s: FloatArray, values_c: FloatArray, bucket_s: float, water_c: float
) -> NDArray[np.bool_]:
    slopes = slopes_per_minute(times_s, values_c, max(WINDOW_S, 8 * bucket_s), FEWEST)
    still = np.abs(np.nan_to_num(slopes, nan=np.inf)) <= STEADY_K_MIN
    return np.asarray(still & (np.abs(values_c - water_c) <= NEAR_K))
