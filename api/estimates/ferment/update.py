"""What a measurement does to the ensemble: a square-root update, one number at a time.

J. S. Whitaker and T. M. Hamill, "Ensemble data assimilation without perturbed observations", Mon.
Weather Rev. 130 (2002) 1913 (from memory). Nothing is drawn, so that it gives the same again.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from api.estimates.ferment.members import Members
from calc.quantities import FloatArray

FARTHEST: Final = 4.0  # standard errors; what lies farther off is taken as less sure than it says


@dataclass(frozen=True, slots=True)
class Surprise:
    """How far a measurement lay from what was expected, in standard errors of both."""

    off: float  # above: positive
    error: float = 1.0  # of both together

    @property
    def evidence(self) -> float:
        """Give the logarithm of how likely it was, far ones counted as no farther than five."""
        return float(-0.5 * min(self.off**2, 25.0) - np.log(self.error))


def update(
    members: Members, expected: FloatArray, value: float, error: float, farthest: float = FARTHEST
) -> Surprise:
    """Move every member towards a measurement, as far as it bears on it."""
    mean = float(expected.mean())
    deviations = expected - mean
    spread2, error2 = float(deviations @ deviations) / (expected.size - 1), error * error
    both = float(np.sqrt(spread2 + error2))
    found = Surprise(float((value - mean) / both), both)
    if abs(found.off) > farthest:  # widened until it is just possible
        error2 = ((value - mean) / farthest) ** 2 - spread2
        error2 = max(error2, error * error)
    if spread2 <= 0.0:
        return found
    _move(members, deviations, spread2, error2, value - mean)
    return found


def _move(
    members: Members, deviations: FloatArray, spread2: float, error2: float, gap: float
) -> None:
    count = deviations.size
    means = members.mean(axis=1, keepdims=True)
    from_mean = members - means
    with_it = from_mean @ deviations / (count - 1)
    # A chance correlation of so few members is not one: it is shrunk towards nothing.
    spreads2 = np.einsum("ij,ij->i", from_mean, from_mean) / (count - 1)
    correlation2 = with_it**2 / np.maximum(spreads2 * spread2, 1e-300)
    real = np.clip((correlation2 - 1.0 / count) / np.maximum(correlation2, 1e-12), 0.0, 1.0)
    gain = real * with_it / (spread2 + error2)
    narrowed = 1.0 / (1.0 + np.sqrt(error2 / (spread2 + error2)))
    members += gain[:, None] * (gap - narrowed * deviations)[None, :]
