"""How far a place reads from the boiling point of water while a still is cleaned with it. Pure.

Where water boils and its steam fills the still, a probe stands at the boiling point of water under
the air's pressure. The longest steady stretch near it counts: its median against that point. Depth
of water raises a pot's own by 0.03 K a centimetre (hydrostatic pressure; common practice).
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

import numpy as np

from api.reviews.lines import Line
from calc.arrays import median
from calc.pressure import water_boiling_point
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
    times, values = line.times_s, line.values
    if times.size < FEWEST:
        return None
    slopes = slopes_per_minute(times, values, max(WINDOW_S, 8 * line.bucket_s), FEWEST)
    steady = (np.abs(np.nan_to_num(slopes, nan=np.inf)) <= STEADY_K_MIN) & (
        np.abs(values - water_c) <= NEAR_K
    )
    edges = np.flatnonzero(np.diff(np.concatenate(([False], steady, [False])).astype(np.int8)))
    spells = [
        (first, end - 1)
        for first, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
        if times[end - 1] - times[first] >= LEAST_S
    ]
    if not spells:
        return None
    first, last = max(spells, key=lambda one: float(times[one[1]] - times[one[0]]))
    return Drift(
        line.place,
        datetime.fromtimestamp(float(times[first]), UTC),
        datetime.fromtimestamp(float(times[last]), UTC),
        float(median(values[first : last + 1])),
        water_c,
    )
