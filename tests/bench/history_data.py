"""The readings the history benches are made of: pinned by seed, no easier than real ones.

Eight series at 1 Hz, temperature in counts of 1/16 C: slow curves of a working week (heating,
a spirit run, cooling, a fermenter, a room, coolant) plus white noise of 0.035 C before rounding,
so that at most 45 % of the steps between neighbours are zero.
"""

import numpy as np

SEED = 20_260
SERIES = 8
DAY_S = 86_400
COUNTS_PER_UNIT = 16
NOISE_C = 0.035
START = 1_767_225_600  # 2026-01-01T00:00:00Z, a slot at a block's begin

# hours of the day, then degrees C at them: pot, head, column, coolant in, coolant out, spout
CURVES = (
    ((0, 7, 8.5, 9, 14, 16, 24), (24, 19, 78, 82, 96, 60, 26)),
    ((0, 8, 8.6, 9, 12, 14, 16, 24), (20, 19, 60, 78.4, 80.5, 92, 45, 21)),
    ((0, 8, 8.6, 9, 12, 14, 16, 24), (20, 19, 55, 78.2, 79.4, 88, 42, 21)),
    ((0, 8, 12, 24), (11, 11.5, 13, 11)),
    ((0, 8.4, 9, 14, 15, 24), (12, 12, 31, 44, 18, 12)),
    ((0, 8.8, 9.2, 14, 15, 24), (19, 19, 22, 27, 21, 19)),
    ((0, 12, 24), (27.5, 30.5, 27.5)),  # fermenter
    ((0, 6, 15, 24), (17, 16, 22, 17)),  # room
)


def day(number: int, seed: int = SEED) -> np.ndarray:
    """Make one day's counts, series by slot; each day has its own weather."""
    rng = np.random.default_rng((seed, number))
    hours = np.arange(DAY_S) / 3600
    counts = np.empty((SERIES, DAY_S), np.int16)
    for index, (at, celsius) in enumerate(CURVES):
        curve = np.interp(hours, at, celsius) + rng.normal(0, 0.4)
        noisy = curve + rng.normal(0, NOISE_C, DAY_S)
        counts[index] = np.rint(noisy * COUNTS_PER_UNIT)
    return counts


def zero_steps(counts: np.ndarray) -> float:
    """Say which share of the steps between neighbours is zero."""
    return float((np.diff(counts) == 0).mean())
