"""Boiling ethanol and water: bubble and dew points, the azeotrope, the vapour over a liquid.

Public functions take numbers or numpy arrays and check them. Those whose names begin with
``raw_`` are their unchecked insides, in kelvin, absolute hPa and mole fraction of ethanol, for
the modules that step through a still; they too take a float or an array.
"""

from functools import lru_cache
from typing import Annotated, Any

import numpy as np

from calc.activity import REFERENCE_K, A, B, C
from calc.pressure import ZERO_C, StillPressureHpa, ethanol_hpa, water_boiling_k, water_hpa
from calc.quantities import MOLE_FRACTION, EthanolMoleFraction, TemperatureC, elementwise
from calc.solve import root

VAPOUR_MOLE_FRACTION = MOLE_FRACTION.called("Mole fraction of ethanol in the vapour")
VapourMoleFraction = Annotated[float, VAPOUR_MOLE_FRACTION]

_COEFFICIENTS = tuple(zip(A, B, C, strict=True))
_SMALL_STEP_K = 0.01
_CLOSE_ENOUGH_K = 1e-10
_NEWTON_STEPS = 30


@elementwise
def bubble_point(
    ethanol_mole_fraction: EthanolMoleFraction, pressure_hpa: StillPressureHpa
) -> TemperatureC:
    """Return the temperature at which a liquid of ethanol and water boils.

    Parameters
    ----------
    ethanol_mole_fraction : float or numpy array of float
        Of the liquid, 0 to 1.
    pressure_hpa : float or numpy array of float
        Absolute, 120 to 1400 hPa.

    Returns
    -------
    float or numpy array of float
        C.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Solves x1 gamma1 Ps1 + x2 gamma2 Ps2 = P by Newton's method: activity coefficients of
    `calc.activity` (excess Gibbs energy of four terms in composition, the first quadratic in
    1/T, which is what a constant excess heat capacity asks for), ideal vapour, water's vapour
    pressure by IAPWS-IF97, ethanol's by Wagner's equation. Against measurements it was not
    fitted to it is within about 0.1 K (rms) between 60 and 110 kPa.

    References
    ----------
    Parameters fitted by tests/fit/equilibrium.py to Carey & Lewis (1932), Ind. Eng. Chem. 24,
    882; Kamihama et al. (2012), J. Chem. Eng. Data 57, 339; Pemberton & Mash (1978), doi
    10.1016/0021-9614(78)90160-X; and the Landolt-Boernstein compilation of Wichterle et al.
    Form of the excess energy: Redlich & Kister (1948), doi 10.1021/ie50458a036.

    Examples
    --------
    >>> round(bubble_point(0.1, 1013.25), 1)
    86.1
    """
    kelvin: float = raw_bubble_k(ethanol_mole_fraction, pressure_hpa)
    return kelvin - ZERO_C


@elementwise
def vapour_over(
    ethanol_mole_fraction: EthanolMoleFraction, pressure_hpa: StillPressureHpa
) -> VapourMoleFraction:
    """Return the composition of the vapour over a boiling liquid of ethanol and water.

    Parameters
    ----------
    ethanol_mole_fraction : float or numpy array of float
        Of the liquid, 0 to 1.
    pressure_hpa : float or numpy array of float
        Absolute, 120 to 1400 hPa.

    Returns
    -------
    float or numpy array of float
        Mole fraction of ethanol in the vapour.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    y1 = x1 gamma1 Ps1 / P at the bubble point; see `bubble_point`. Within about 0.006 (rms) of
    measurements.

    References
    ----------
    As `bubble_point`: fitted by tests/fit/equilibrium.py to Kamihama et al. (2012), J. Chem.
    Eng. Data 57, 339, and others named there.

    Examples
    --------
    >>> round(vapour_over(0.1, 1013.25), 2)
    0.45
    """
    vapour: float = raw_vapour(ethanol_mole_fraction, pressure_hpa)
    return vapour


@elementwise
def liquid_under(
    vapour_mole_fraction: VapourMoleFraction, pressure_hpa: StillPressureHpa
) -> EthanolMoleFraction:
    """Return the composition of the liquid a vapour of ethanol and water boils from.

    The same liquid is the first dew on a cold wall in that vapour.

    Parameters
    ----------
    vapour_mole_fraction : float or numpy array of float
        Of the vapour, 0 to 1.
    pressure_hpa : float or numpy array of float
        Absolute, 120 to 1400 hPa.

    Returns
    -------
    float or numpy array of float
        Mole fraction of ethanol in the liquid.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    `vapour_over` solved for the liquid; there is one answer, because the vapour grows richer as
    the liquid does (tested from 12 to 140 kPa).

    References
    ----------
    As `bubble_point`: fitted by tests/fit/equilibrium.py to Kamihama et al. (2012), J. Chem.
    Eng. Data 57, 339, and others named there.

    Examples
    --------
    >>> round(liquid_under(0.448, 1013.25), 2)
    0.1
    """
    liquid: float = raw_liquid(vapour_mole_fraction, pressure_hpa)
    return liquid


@elementwise
def dew_point(
    vapour_mole_fraction: VapourMoleFraction, pressure_hpa: StillPressureHpa
) -> TemperatureC:
    """Return the temperature at which a vapour of ethanol and water begins to condense.

    Parameters
    ----------
    vapour_mole_fraction : float or numpy array of float
        Of the vapour, 0 to 1.
    pressure_hpa : float or numpy array of float
        Absolute, 120 to 1400 hPa.

    Returns
    -------
    float or numpy array of float
        C: what a head full of that vapour, and of nothing else, shows.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    The bubble point of the liquid in equilibrium with the vapour; see `liquid_under`.

    References
    ----------
    As `bubble_point`: fitted by tests/fit/equilibrium.py to Kamihama et al. (2012), J. Chem.
    Eng. Data 57, 339, and others named there.

    Examples
    --------
    >>> round(dew_point(0.448, 1013.25), 1)
    86.1
    """
    kelvin: float = raw_bubble_k(raw_liquid(vapour_mole_fraction, pressure_hpa), pressure_hpa)
    return kelvin - ZERO_C


@elementwise
def azeotrope(pressure_hpa: StillPressureHpa) -> EthanolMoleFraction:
    """Return the composition at which ethanol and water boil as one.

    Parameters
    ----------
    pressure_hpa : float or numpy array of float
        Absolute, 120 to 1400 hPa.

    Returns
    -------
    float or numpy array of float
        Mole fraction of ethanol, the same in liquid and vapour.

    Raises
    ------
    OutOfRangeError
        If the pressure is out of range.

    Notes
    -----
    Where gamma1 Ps1 = gamma2 Ps2 at the bubble point. Published values scatter by 0.005 about
    the model at 101 kPa and by 0.01 at 30 kPa.

    References
    ----------
    As `bubble_point`; azeotropes at 30 to 160 kPa are among what it was fitted to, after Horsley,
    Azeotropic Data III (1973), and others named in tests/data/azeotrope.csv.

    Examples
    --------
    >>> 0.89 < azeotrope(1013.25) < 0.905
    True
    """
    x: float = raw_azeotrope(pressure_hpa)
    return x


def raw_log_gammas(x: Any, kelvin: Any) -> tuple[Any, Any]:
    """Return the logarithms of the activity coefficients of ethanol and of water."""
    u = 1000.0 / kelvin - 1000.0 / REFERENCE_K
    d = 2.0 * x - 1.0
    total, slope = 0.0, 0.0  # of the series in d, and by d
    for a, b, c in reversed(_COEFFICIENTS):
        slope = slope * d + total
        total = total * d + a + u * (b + u * c)
    water = 1.0 - x
    excess = x * water * total
    by_x = -d * total + 2.0 * x * water * slope
    return excess + water * by_x, excess - x * by_x


def raw_partial_hpa(x: Any, kelvin: Any) -> tuple[Any, Any]:
    """Return the partial pressures of ethanol and of water over a liquid."""
    ethanol, water = raw_log_gammas(x, kelvin)
    of_ethanol = x * np.exp(ethanol) * ethanol_hpa(kelvin)
    return of_ethanol, (1.0 - x) * np.exp(water) * water_hpa(kelvin)


def raw_bubble_k(x: Any, pressure_hpa: Any) -> Any:
    """Return `bubble_point` in kelvin."""
    kelvin = water_boiling_k(pressure_hpa) - 20.0 * np.minimum(1.0, 10.0 * x)
    for _ in range(_NEWTON_STEPS):
        excess = np.log(sum(raw_partial_hpa(x, kelvin)) / pressure_hpa)
        above = np.log(sum(raw_partial_hpa(x, kelvin + _SMALL_STEP_K)) / pressure_hpa)
        step = excess * _SMALL_STEP_K / (above - excess)
        kelvin = kelvin - step
        if np.all(np.abs(step) < _CLOSE_ENOUGH_K):
            break
    return kelvin


def raw_vapour(x: Any, pressure_hpa: Any) -> Any:
    """Return `vapour_over`."""
    ethanol, water = raw_partial_hpa(x, raw_bubble_k(x, pressure_hpa))
    return ethanol / (ethanol + water)


def raw_liquid(y: Any, pressure_hpa: Any) -> Any:
    """Return `liquid_under`."""
    return root(lambda x: raw_vapour(x, pressure_hpa) - y, 0.0, 1.0)


def raw_azeotrope(pressure_hpa: Any) -> Any:
    """Return `azeotrope`."""
    if np.ndim(pressure_hpa):
        return _azeotrope(np.asarray(pressure_hpa, dtype=float))
    return _azeotrope_of_one(float(pressure_hpa))


@lru_cache(maxsize=256)  # a barometer stays within a few counts for hours
def _azeotrope_of_one(pressure_hpa: float) -> float:
    found: float = _azeotrope(pressure_hpa)
    return found


def _azeotrope(pressure_hpa: Any) -> Any:
    def preference(x: Any) -> Any:
        kelvin = raw_bubble_k(x, pressure_hpa)
        ethanol, water = raw_log_gammas(x, kelvin)
        return ethanol - water + np.log(ethanol_hpa(kelvin) / water_hpa(kelvin))

    return root(preference, 0.6, 1.0)


def raw_liquid_at(kelvin: Any, pressure_hpa: Any) -> Any:
    """Return the liquid, no richer than the azeotrope, that boils at a temperature.

    There is one between the azeotrope's temperature and water's: at a given temperature the
    pressure rises with ethanol up to the azeotrope there, and beyond it stays above this one.
    NaN outside.
    """

    def excess(x: Any) -> Any:
        return np.log(sum(raw_partial_hpa(x, kelvin)) / pressure_hpa)

    return root(excess, 0.0, raw_azeotrope(pressure_hpa))
