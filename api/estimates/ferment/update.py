"""What a measurement does to the ensemble: a square-root update, one number at a time.

J. S. Whitaker and T. M. Hamill, "Ensemble data assimilation without perturbed observations", Mon.
Weather Rev. 130 (2002) 1913 (from memory). Nothing is drawn, so that it gives the same again.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from api.estimates.ferment.members import Members
from calc.quantities import FloatArray

FAR2: Final = 25.0
FARTHEST: Final = 4.0  # standard errors; what lies farther off is taken as less sure than it says


@dataclass(frozen=True, slots=True)
class Surprise:
    """How far a measurement lay from what was expected, in standard errors of both."""

    off: float  # above: positive
    error: float  # of both together
    beyond: float  # as far, in the measurement's own standard errors
    wanted: FloatArray  # what each member ought to expect of it from now on

    @property
    def evidence(self) -> float:
        """Give the logarithm of how likely it was, far ones counted as no farther than five."""
        return float(-0.5 * min(self.off**2, FAR2) - np.log(self.error))

    @property
    def fit(self) -> float:
        """Give the same for one of many readings, which all meet the same uncertainty.

        How wide the members lie apart counts once and not at each of them: so it does not count.
        """
        return -0.5 * min(self.beyond**2, FAR2)


def update(
    members: Members, expected: FloatArray, value: float, error: float, farthest: float = FARTHEST
) -> Surprise:
    """Move every member towards a measurement, as far as it bears on it."""
    mean = float(expected.mean())
    deviations, gap = expected - mean, value - mean
    spread2, error2 = float(deviations @ deviations) / (expected.size - 1), error * error
    both = float(np.sqrt(spread2 + error2))
    found = Surprise(gap / both, both, gap / error, expected)
    if abs(found.off) > farthest:  # widened until it is just possible
        error2 = max((gap / farthest) ** 2 - spread2, error2)
    if spread2 <= 0.0:
        return found
    part = 1.0 / (spread2 + error2)
    narrowed = 1.0 / (1.0 + np.sqrt(error2 * part))
    by = gap - narrowed * deviations
    members += _gain(members, deviations, spread2, part)[:, None] * by[None, :]
    return replace(found, wanted=expected + spread2 * part * by)


def _gain(members: Members, deviations: FloatArray, spread2: float, part: float) -> FloatArray:
    count = deviations.size
    from_mean = members - members.mean(axis=1, keepdims=True)
    with_it = from_mean @ deviations / (count - 1)
    # A chance correlation of so few members is not one: it is shrunk towards nothing.
    spreads2 = np.einsum("ij,ij->i", from_mean, from_mean) / (count - 1)
    correlation2 = with_it**2 / np.maximum(spreads2 * spread2, 1e-300)
    real = np.clip((correlation2 - 1.0 / count) / np.maximum(correlation2, 1e-12), 0.0, 1.0)
    return np.asarray(real * with_it * part)
