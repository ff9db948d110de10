"""How a measurement moves the members: an ensemble Kalman filter, one number at a time.

Every row moves by its covariance with what the members said the number would be; the spread is
drawn in by the square root of what the number tells (Whitaker and Hamill's form, which needs no
dice). Some hundred members show a little covariance where there is none; thousands of numbers would
draw in by it what no number tells of, such as the size of the charge. So each row's covariance
counts for no more than what of it is beyond chance (`_beyond_chance`). A number further off than
its own error and the members' spread can explain is refused and remembered, so that it can be
named.

Whitaker & Hamill (2002), Monthly Weather Review 130, 1913; sampling error as in Anderson (2012),
Monthly Weather Review 140, 2359 (from memory).
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
    together = rows @ apart / (members - 1)
    gain = together / (variance + error**2) * _beyond_chance(rows, together, variance)
    if only is not None:
        gain[[row for row in range(len(gain)) if row not in only]] = 0.0
    less = 1.0 / (1.0 + (error**2 / (variance + error**2)) ** 0.5)
    s += np.outer(gain, (value - middle) - less * apart)


def _beyond_chance(rows: FloatArray, together: FloatArray, variance: float) -> FloatArray:
    """Say, for each row, what part of its covariance is more than chance gives.

    Of a correlation r the square is shown too large by (1 - r^2)^2 / (members - 1).
    """
    others = rows.shape[1] - 1
    own = np.einsum("ij,ij->i", rows, rows) / others
    shared = np.clip(together**2 / np.maximum(own * variance, 1e-30), 1e-12, 1.0)
    part: FloatArray = np.maximum(1.0 - (1.0 - shared) ** 2 / (others * shared), 0.0)
    return part
