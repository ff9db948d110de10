"""A batch column: stages, reflux, height, and what it delivers."""

from dataclasses import dataclass
from math import inf
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from calc.alcoholometry import abv_from_mole_fraction, mole_fraction_from_abv
from calc.equilibrium import azeotrope, raw_vapour
from calc.errors import OutOfRangeError
from calc.heat import (
    REFLUX_RATIO,
)
from calc.pressure import STANDARD_HPA
from calc.quantities import (
    ABV,
    FloatArray,
    PressureHpa,
    Quantity,
    checked,
)
from calc.stages import (
    MOST_STAGES,
    Climb,
    climb,
    equilibrium_at,
    least_reflux,
    reflux_to_reach,
)

POT_ABV = ABV.within(0.1, 95).called("Strength in the pot")
TOP_ABV = ABV.within(0.2, 100).called("Strength at the top")
STAGES = Quantity("stages", "Theoretical stages, pot included", "", 0, MOST_STAGES, 2)
COLUMN_STAGES = STAGES.within(1, 100)
DRAWING_REFLUX = REFLUX_RATIO.within(0.01, 1000)

PotAbv = Annotated[float, POT_ABV]
TopAbv = Annotated[float, TOP_ABV]
Stages = Annotated[float, STAGES]
ColumnStages = Annotated[float, COLUMN_STAGES]


@dataclass(frozen=True, slots=True)
class RefluxStages:
    """Stages at a reflux ratio, beside the least of either."""

    stages: Stages
    stages_at_total_reflux: Annotated[float, STAGES.called("Stages at total reflux")]
    minimum_reflux_ratio: Annotated[float, REFLUX_RATIO.called("Minimum reflux ratio")]


@checked
def total_reflux_stages(
    pot_abv: PotAbv, top_abv: TopAbv, pressure_hpa: PressureHpa = STANDARD_HPA
) -> Stages:
    """Return how many stages lift a strength to another when nothing is drawn.

    Parameters
    ----------
    pot_abv : float
        0.1 to 95 % vol.
    top_abv : float
        Stronger than the pot, weaker than the azeotrope.
    pressure_hpa : float
        600 to 1100 hPa.

    Returns
    -------
    float
        Theoretical stages, the pot counted as one, the last as the part of it that is needed.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the top is no stronger than the pot, or as strong as the
        azeotrope, or takes more than 200 stages.

    Notes
    -----
    At total reflux the liquid coming down between two stages has the composition of the vapour
    going up, so each stage is one step of the equilibrium. Fenske's equation must not be used
    across an azeotrope: the relative volatility falls from 13 to 1.

    References
    ----------
    McCabe & Thiele (1925), Ind. Eng. Chem. 17, 605, doi 10.1021/ie50186a023; equilibrium fitted to
    Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, and others named in `calc.activity`.

    Examples
    --------
    >>> [round(total_reflux_stages(30.0, top_abv), 1) for top_abv in (93.0, 95.0)]
    [4.2, 6.6]
    """
    x_pot, x_top = _pot_and_top(pot_abv, top_abv, pressure_hpa)
    return _climbed(climb(x_pot, x_top, inf, equilibrium_at(pressure_hpa)), top_abv).stages


@checked
def reflux_stages(
    pot_abv: PotAbv,
    top_abv: TopAbv,
    reflux_ratio: Annotated[float, DRAWING_REFLUX],
    pressure_hpa: PressureHpa = STANDARD_HPA,
) -> RefluxStages:
    """Return how many stages lift a strength to another while spirit is drawn.

    Parameters
    ----------
    pot_abv : float
        0.1 to 95 % vol.
    top_abv : float
        Stronger than the pot, weaker than the azeotrope.
    reflux_ratio : float
        Returned to drawn, 0.01 to 1000, above the minimum.
    pressure_hpa : float
        600 to 1100 hPa.

    Returns
    -------
    RefluxStages
        Theoretical stages, pot included; those at total reflux; the minimum reflux ratio.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the top is no stronger than the pot, or as strong as the
        azeotrope, or the reflux ratio is below the minimum or takes more than 200 stages.

    Notes
    -----
    McCabe and Thiele's construction for a batch column: one operating line, constant molar flows,
    total condenser, reflux returned boiling. It holds for the pot as it is: as the pot weakens,
    more reflux is needed.

    References
    ----------
    McCabe & Thiele (1925), Ind. Eng. Chem. 17, 605, doi 10.1021/ie50186a023; equilibrium fitted to
    Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, and others named in `calc.activity`.

    Examples
    --------
    >>> found = reflux_stages(30.0, 93.0, 3.0)
    >>> round(found.stages, 1), round(found.minimum_reflux_ratio, 2)
    (5.5, 0.87)
    """
    x_pot, x_top = _pot_and_top(pot_abv, top_abv, pressure_hpa)
    least = least_reflux(x_pot, x_top, lambda x: raw_vapour(x, pressure_hpa))
    vapour_of = equilibrium_at(pressure_hpa)
    found = climb(x_pot, x_top, reflux_ratio, vapour_of)
    if found is None:
        raise OutOfRangeError(
            f"Reflux ratio (reflux_ratio) is {reflux_ratio:g}; from {pot_abv:g} to {top_abv:g} "
            f"% vol takes more than {least:.3f}, and in at most {MOST_STAGES} stages. Return more "
            "or ask for less strength.",
            quantity="reflux_ratio",
        )
    at_total = _climbed(climb(x_pot, x_top, inf, vapour_of), top_abv)
    return RefluxStages(found.stages, at_total.stages, least)


@checked
def minimum_reflux(
    pot_abv: PotAbv, top_abv: TopAbv, pressure_hpa: PressureHpa = STANDARD_HPA
) -> Annotated[float, REFLUX_RATIO.called("Minimum reflux ratio")]:
    """Return the reflux ratio below which no column reaches a strength.

    Parameters
    ----------
    pot_abv : float
        0.1 to 95 % vol.
    top_abv : float
        Stronger than the pot, weaker than the azeotrope.
    pressure_hpa : float
        600 to 1100 hPa.

    Returns
    -------
    float
        Returned to drawn; 0 where the pot's own vapour is strong enough.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the top is no stronger than the pot, or as strong as the
        azeotrope.

    Notes
    -----
    The largest (x_top - y) / (y - x) between pot and top. For ethanol and water it often lies at a
    tangent far above the pot (a pinch near the azeotrope), which a line through the pot's own
    equilibrium point misses.

    References
    ----------
    McCabe & Thiele (1925), Ind. Eng. Chem. 17, 605, doi 10.1021/ie50186a023; equilibrium fitted to
    Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, and others named in `calc.activity`.

    Examples
    --------
    >>> round(minimum_reflux(30.0, 95.0), 1)
    1.3
    """
    x_pot, x_top = _pot_and_top(pot_abv, top_abv, pressure_hpa)
    return least_reflux(x_pot, x_top, lambda x: raw_vapour(x, pressure_hpa))


@checked
def reflux_for_strength(
    pot_abv: PotAbv,
    top_abv: TopAbv,
    stages: ColumnStages,
    pressure_hpa: PressureHpa = STANDARD_HPA,
) -> Annotated[float, REFLUX_RATIO]:
    """Return the reflux ratio at which a column reaches a strength.

    Parameters
    ----------
    pot_abv : float
        0.1 to 95 % vol.
    top_abv : float
        Stronger than the pot, weaker than the azeotrope.
    stages : float
        Theoretical stages of the column, pot included, 1 to 100.
    pressure_hpa : float
        600 to 1100 hPa.

    Returns
    -------
    float
        Returned to drawn.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the top is no stronger than the pot, or as strong as the
        azeotrope, or the column is too short for it even at total reflux.

    Notes
    -----
    `reflux_stages` solved for the reflux ratio.

    References
    ----------
    McCabe & Thiele (1925), Ind. Eng. Chem. 17, 605, doi 10.1021/ie50186a023; equilibrium fitted to
    Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, and others named in `calc.activity`.

    Examples
    --------
    >>> round(reflux_for_strength(30.0, 93.0, 8.0), 1)
    1.4
    """
    x_pot, x_top = _pot_and_top(pot_abv, top_abv, pressure_hpa)
    found = reflux_to_reach(x_pot, x_top, stages, pressure_hpa)
    if found == inf:
        needed = _climbed(climb(x_pot, x_top, inf, equilibrium_at(pressure_hpa)), top_abv).stages
        raise OutOfRangeError(
            f"Theoretical stages (stages) is {stages:g}; from {pot_abv:g} to {top_abv:g} % vol "
            f"takes {needed:.1f} even at total reflux. Use a taller column, or distil twice.",
            quantity="stages",
        )
    return found


def total_reflux_steps(
    pot_abv: float, top_abv: float, pressure_hpa: float = STANDARD_HPA
) -> dict[str, FloatArray]:
    """Return the equilibrium, the diagonal and the staircase at total reflux."""
    return _diagram(pot_abv, top_abv, inf, pressure_hpa)


def reflux_steps(
    pot_abv: float, top_abv: float, reflux_ratio: float, pressure_hpa: float = STANDARD_HPA
) -> dict[str, FloatArray]:
    """Return the equilibrium, the operating line and the staircase."""
    return _diagram(pot_abv, top_abv, reflux_ratio, pressure_hpa)


def _pot_and_top(pot_abv: float, top_abv: float, hpa: float) -> tuple[float, float]:
    """Return both as mole fractions, if a column can lift one to the other."""
    richest = abv_from_mole_fraction(azeotrope(hpa))
    if not pot_abv < top_abv < richest:
        raise OutOfRangeError(
            f"Strength at the top (top_abv) is {top_abv:g} % vol; it must lie between the pot's "
            f"{pot_abv:g} and the azeotrope's {richest:.2f} % vol, which no column passes.",
            quantity="top_abv",
        )
    return mole_fraction_from_abv(pot_abv), mole_fraction_from_abv(top_abv)


def _climbed(found: Climb | None, top_abv: float) -> Climb:
    if found is None:
        raise OutOfRangeError(
            f"Strength at the top (top_abv) is {top_abv:g} % vol, so near the azeotrope that it "
            f"takes more than {MOST_STAGES} stages; ask for less.",
            quantity="top_abv",
        )
    return found


def _diagram(
    pot_abv: float, top_abv: float, reflux_ratio: float, hpa: float
) -> dict[str, FloatArray]:
    x_pot, x_top = _pot_and_top(pot_abv, top_abv, hpa)
    found = _climbed(climb(x_pot, x_top, reflux_ratio, equilibrium_at(hpa)), top_abv)
    grid = np.linspace(0.0, 1.0, 201)
    corners = np.array(found.liquid)
    x = np.concatenate([grid, corners, corners])
    after = np.concatenate([np.ones(201 + len(corners), bool), np.zeros(len(corners), bool)])
    order = np.lexsort((after, x))
    x, after = x[order], after[order]
    slope = 1.0 if reflux_ratio == inf else reflux_ratio / (reflux_ratio + 1.0)
    return {
        "liquid_mole_fraction": x,
        "vapour_mole_fraction": np.asarray(raw_vapour(x, hpa)),
        "operating_mole_fraction": x_top + slope * (x - x_top),
        "stage_mole_fraction": _staircase(found, x, after),
    }


def _staircase(found: Climb, x: FloatArray, after: NDArray[np.bool_]) -> FloatArray:
    """Return the vapour over the stage that a liquid lies on or, at a corner, before it."""
    rising = np.concatenate([[np.nan, found.liquid[0]], found.vapour])
    on = np.searchsorted(found.liquid, x, side="right")
    before = np.searchsorted(found.liquid, x, side="left")
    height = rising[np.where(after, np.where(on > 0, on + 1, 0), before + 1)]
    return np.where(x > found.vapour[-1], np.nan, height)
