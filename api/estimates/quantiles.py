"""Quantiles of a few hundred numbers: asked for thousands of times, so by one sort."""

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from calc.quantities import FloatArray

# The ends of both bands and the middle: 95 %, 68 %, median.
BAND: Final = (0.025, 0.16, 0.5, 0.84, 0.975)


def quantiles(values: FloatArray, at: Sequence[float] = BAND) -> list[float]:
    """Return quantiles, straight lines between the values in their order, as numpy has them."""
    below, part = _places(values.size, tuple(at))
    ordered = np.sort(values)
    found: list[float] = (ordered[below] * (1.0 - part) + ordered[below + 1] * part).tolist()
    return found


@lru_cache(maxsize=512)
def _places(count: int, at: tuple[float, ...]) -> tuple[NDArray[np.int64], FloatArray]:
    place = np.asarray(at) * (count - 1)
    below = np.minimum(place.astype(np.int64), max(count - 2, 0))
    return below, place - below
