"""The slope shown beside a temperature."""

from collections.abc import Sequence
from typing import Final

import numpy as np

WINDOW_S: Final = 60
FEWEST: Final = 5
SHORTEST_S: Final = 20


def trend_per_min(slots: Sequence[int], values: Sequence[float]) -> float | None:
    """Return the least-squares slope per minute, or None where there is too little to tell."""
    if len(slots) < FEWEST or slots[-1] - slots[0] < SHORTEST_S:
        return None
    at_s = np.asarray(slots, dtype=float) - slots[0]
    away_s = at_s - at_s.mean()
    return float(60 * (away_s @ np.asarray(values)) / (away_s @ away_s))
