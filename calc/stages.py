"""Climbing a batch column stage by stage, over any equilibrium, in mole fractions.

The pot is the bottom stage; everything above it returns liquid or is drawn at the top. A reflux
ratio of infinity is total reflux.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import exp, inf, log

import numpy as np

from calc.equilibrium import raw_vapour
from calc.quantities import FloatArray

VapourOf = Callable[[float], float]
MOST_STAGES = 200

# The equilibrium as a table of ln(y / (1 - y)) evenly spaced in ln(x / (1 - x)), in which it is
# nearly straight: y within 1e-6.
_LOGIT_END = 18.0
_NODES = 8001


@dataclass(frozen=True, slots=True)
class Climb:
    """The liquid on each stage, the vapour leaving it, and how many stages that makes."""

    liquid: tuple[float, ...]
    vapour: tuple[float, ...]
    stages: float


def climb(x_pot: float, x_top: float, reflux_ratio: float, vapour_of: VapourOf) -> Climb | None:
    """Return the stages from a pot to a strength at the top, or None where it is never reached.

    Parameters
    ----------
    x_pot, x_top : float
        Mole fraction of ethanol in the pot and in what is drawn; the second is the larger.
    reflux_ratio : float
        Returned to drawn; above 0, infinity for total reflux.
    vapour_of : callable
        The vapour over a liquid, by mole fraction.

    Returns
    -------
    Climb or None
        The last stage counts as the part of it that is needed, by ln(x / (1 - x)): with a constant
        relative volatility at total reflux that is Fenske's number exactly.

    Notes
    -----
    McCabe and Thiele's construction with constant molar flows: the liquid coming down between two
    stages is ((R + 1) y - x_top) / R where y is the vapour going up.

    References
    ----------
    McCabe & Thiele (1925), Ind. Eng. Chem. 17, 605, doi 10.1021/ie50186a023; Fenske (1932), Ind.
    Eng. Chem. 24, 482, doi 10.1021/ie50269a003.

    Examples
    --------
    >>> found = climb(0.05, 0.95, inf, lambda x: 2.5 * x / (1.0 + 1.5 * x))
    >>> round(found.stages, 4)
    6.4269
    """
    liquids, vapours = [x_pot], [vapour_of(x_pot)]
    entering = x_pot
    while vapours[-1] < x_top:
        entering = vapours[-1]
        liquid = entering + (entering - x_top) / reflux_ratio
        if liquid <= liquids[-1] or len(liquids) >= MOST_STAGES:
            return None
        liquids.append(liquid)
        vapours.append(vapour_of(liquid))
    part = (_logit(x_top) - _logit(entering)) / (_logit(vapours[-1]) - _logit(entering))
    return Climb(tuple(liquids), tuple(vapours), len(liquids) - 1 + part)


def least_reflux(
    x_pot: float, x_top: float, vapour_of_many: Callable[[FloatArray], FloatArray]
) -> float:
    """Return the reflux ratio below which no number of stages reaches a strength.

    Parameters
    ----------
    x_pot, x_top : float
        Mole fraction of ethanol in the pot and in what is drawn.
    vapour_of_many : callable
        The vapour over liquids, by mole fraction, of an array.

    Returns
    -------
    float
        0 where the pot's own vapour is strong enough.

    Notes
    -----
    The largest (x_top - y) / (y - x) between pot and top: an operating line from the top that
    touches the equilibrium anywhere ends the climb there, at the pot or, as with ethanol and
    water near the azeotrope, at a tangent above it.

    References
    ----------
    McCabe & Thiele (1925), Ind. Eng. Chem. 17, 605, doi 10.1021/ie50186a023.

    Examples
    --------
    >>> round(least_reflux(0.5, 0.95, lambda x: 2.5 * x / (1.0 + 1.5 * x)), 4)
    1.1
    """
    low, high = x_pot, x_top
    best = 0.0
    for _ in range(3):  # each round looks closer about the largest
        x = np.linspace(low, high, 1001)[:-1]
        y = vapour_of_many(x)
        ratio = np.where(y < x_top, (x_top - y) / (y - x), 0.0)
        at = int(np.argmax(ratio))
        best = max(best, float(ratio[at]))
        low, high = x[max(0, at - 1)], x[min(len(x) - 1, at + 1)]
    return best


@lru_cache(maxsize=16)
def equilibrium_at(pressure_hpa: float) -> VapourOf:
    """Return the vapour over a liquid of ethanol and water at a pressure, quick to ask again."""
    logits = np.linspace(-_LOGIT_END, _LOGIT_END, _NODES)
    x = 1.0 / (1.0 + np.exp(-logits))
    y = np.asarray(raw_vapour(x, pressure_hpa))
    table = np.log(y / (1.0 - y)).tolist()
    per_node = (_NODES - 1) / (2.0 * _LOGIT_END)

    def vapour_of(x: float) -> float:
        at = (_logit(x) + _LOGIT_END) * per_node
        i = min(max(int(at), 0), _NODES - 2)
        logit = table[i] + (table[i + 1] - table[i]) * (at - i)
        return 1.0 / (1.0 + exp(-logit))

    return vapour_of


def richest_top(x_pot: float, stages: float, reflux_ratio: float, pressure_hpa: float) -> float:
    """Return what a column of so many stages draws at a reflux ratio.

    Bisection between the pot's vapour and the azeotrope: the richer the top, the more stages.
    """
    vapour_of = equilibrium_at(pressure_hpa)
    low, high = vapour_of(x_pot), 1.0 - 1e-9
    for _ in range(60):
        middle = (low + high) / 2.0
        found = climb(x_pot, middle, reflux_ratio, vapour_of)
        if found is None or found.stages > stages:
            high = middle
        else:
            low = middle
    return low


def reflux_to_reach(x_pot: float, x_top: float, stages: float, pressure_hpa: float) -> float:
    """Return the reflux ratio at which so many stages reach a strength; infinity if none does."""
    vapour_of = equilibrium_at(pressure_hpa)
    at_total = climb(x_pot, x_top, inf, vapour_of)
    if at_total is None or at_total.stages > stages:
        return inf
    low, high = 1e-6, 1e6
    for _ in range(60):
        middle = (low * high) ** 0.5
        found = climb(x_pot, x_top, middle, vapour_of)
        if found is None or found.stages > stages:
            low = middle
        else:
            high = middle
    return high


def _logit(fraction: float) -> float:
    return log(fraction / (1.0 - fraction))
