"""How a measurement moves the members: an ensemble Kalman filter, one number at a time.

Every row moves by its covariance with what the members said the number would be; the spread is
drawn in by the square root of what the number tells (Whitaker and Hamill's form, which needs no
dice). A number further off than its own error and the members' spread can explain is refused and
remembered, so that it can be named.

Whitaker & Hamill (2002), Monthly Weather Review 130, 1913.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from calc.quantities import FloatArray

CONTRADICTS_Z: Final = 4.0


@dataclass(frozen=True, slots=True)
class Surprise:
    """How far a number was from what was expected, in standard deviations."""

    z: float
    expected: float


def surprise(said: FloatArray, value: float, error: float) -> Surprise:
    """Judge a number before it is learned from."""
    spread = float(said.std())
    expected = float(said.mean())
    return Surprise((value - expected) / (spread**2 + error**2) ** 0.5, expected)


def learn(
    s: FloatArray,
    said: FloatArray,
    value: float,
    error: float,
    only: tuple[int, ...] | None = None,
) -> None:
    """Move the members towards a measurement, as far as its error allows; or only some rows."""
    middle = said.mean()
    apart = said - middle
    members = said.size
    variance = float(apart @ apart) / (members - 1)
    if variance <= 1e-18:
        return
    rows = s - s.mean(axis=1, keepdims=True)
    gain = rows @ apart / (members - 1) / (variance + error**2)
    if only is not None:
        gain[[row for row in range(len(gain)) if row not in only]] = 0.0
    less = 1.0 / (1.0 + (error**2 / (variance + error**2)) ** 0.5)
    s += np.outer(gain, (value - middle) - less * apart)
