"""Strength and density of ethanol and water, and the conversions between the ways to say them.

Those that return one number take numpy arrays as well. Strength "abv" is percent by volume at
20 C unless a reference temperature says otherwise.
"""

from collections.abc import Callable, Iterable
from typing import Annotated

import numpy as np

from calc.errors import OutOfRangeError
from calc.oiml_r22 import RHO
from calc.quantities import (
    DENSITY,
    Abv,
    AbwFraction,
    DensityKgM3,
    EthanolMoleFraction,
    ReferenceTemperatureC,
    SpiritTemperatureC,
    elementwise,
)
from calc.solve import root

ETHANOL_G_MOL = 46.06844
WATER_G_MOL = 18.01528
# 60 °F, to which United States practice refers volumes and proof (27 CFR 30.11).
SIXTY_F = (60.0 - 32.0) / 1.8
# The formula's terms cancel to some 1e-11 of its result: less than this is no difference.
ROUNDING = 1e-9


@elementwise
def density(abw_fraction: AbwFraction, temperature_c: SpiritTemperatureC) -> DensityKgM3:
    """Return the density of a mixture of ethanol and water.

    Parameters
    ----------
    abw_fraction : float or numpy array of float
        Mass of ethanol in a mass of mixture, 0 to 1.
    temperature_c : float or numpy array of float
        -20 to 40 C. Below its freezing point the mixture is not liquid and the number means
        nothing.

    Returns
    -------
    float or numpy array of float
        kg/m3, in vacuo, at atmospheric pressure.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of the range the Recommendation gives.

    Notes
    -----
    The general formula of OIML R 22: a polynomial of twelve terms in the mass fraction of
    ethanol p, six in (t - 20 C) and thirty-six in both. It falls steadily as p rises, at every
    temperature of its range.

    References
    ----------
    OIML R 22 (1975), International Alcoholometric Tables, general formula; the same in Council
    Directive 76/766/EEC, annex.

    Examples
    --------
    >>> round(density(0.5, 20.0), 2)
    913.77
    """
    return _density(abw_fraction, temperature_c)


@elementwise
def abv_from_abw(
    abw_fraction: AbwFraction, reference_temperature_c: ReferenceTemperatureC = 20.0
) -> Abv:
    """Return the strength by volume that goes with a strength by mass.

    Parameters
    ----------
    abw_fraction : float or numpy array of float
        Mass of ethanol in a mass of mixture, 0 to 1.
    reference_temperature_c : float
        The temperature at which the volumes are taken; 20 C unless said otherwise.

    Returns
    -------
    float or numpy array of float
        Percent by volume at the reference temperature.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    q = 100 p rho(p, T) / rho(1, T): the volume the ethanol would fill by itself, in percent of
    the volume of the mixture.

    References
    ----------
    OIML R 22 (1975), definition of alcoholic strength by volume.

    Examples
    --------
    >>> round(abv_from_abw(0.33300), 2)
    40.0
    """
    return _abv(abw_fraction, reference_temperature_c)


@elementwise
def abw_from_abv(abv: Abv, reference_temperature_c: ReferenceTemperatureC = 20.0) -> AbwFraction:
    """Return the strength by mass that goes with a strength by volume.

    Parameters
    ----------
    abv : float or numpy array of float
        Percent by volume at the reference temperature, 0 to 100.
    reference_temperature_c : float
        The temperature at which the volumes are taken; 20 C unless said otherwise.

    Returns
    -------
    float or numpy array of float
        Mass of ethanol in a mass of mixture, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Solves q = 100 p rho(p, T) / rho(1, T) for p within 0 to 1, to 1e-14.

    References
    ----------
    OIML R 22 (1975), definition of alcoholic strength by volume.

    Examples
    --------
    >>> round(abw_from_abv(40.0), 5)
    0.333
    """
    return _inverse(lambda p: _abv(p, reference_temperature_c) - abv)


@elementwise
def abw_from_density(
    density_kg_m3: Annotated[float, DENSITY.within(700, 1100)],
    temperature_c: SpiritTemperatureC,
) -> AbwFraction:
    """Return the strength by mass of ethanol and water from their density.

    Parameters
    ----------
    density_kg_m3 : float or numpy array of float
        In vacuo, at the temperature given; between pure ethanol's and pure water's.
    temperature_c : float or numpy array of float
        -20 to 40 C.

    Returns
    -------
    float or numpy array of float
        Mass of ethanol in a mass of mixture, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or no mixture of ethanol and water has that density.

    Notes
    -----
    Solves rho(p, t) = density for p within 0 to 1, to 1e-14.

    References
    ----------
    OIML R 22 (1975), International Alcoholometric Tables, general formula.

    Examples
    --------
    >>> round(abw_from_density(948.05, 20.0), 4)
    0.333
    """
    possible = _possible(density_kg_m3, temperature_c)
    return _inverse(lambda p: _density(p, temperature_c) - possible)


@elementwise
def mole_fraction_from_abw(abw_fraction: AbwFraction) -> EthanolMoleFraction:
    """Return the mole fraction of ethanol that goes with a strength by mass.

    Parameters
    ----------
    abw_fraction : float or numpy array of float
        Mass of ethanol in a mass of mixture, 0 to 1.

    Returns
    -------
    float or numpy array of float
        Moles of ethanol in a mole of mixture, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If the strength is out of range.

    Notes
    -----
    x = (p / 46.06844) / (p / 46.06844 + (1 - p) / 18.01528).

    References
    ----------
    IUPAC standard atomic weights (2021), doi 10.1515/pac-2019-0603.

    Examples
    --------
    >>> round(mole_fraction_from_abw(0.9557), 4)
    0.894
    """
    return abw_fraction / (abw_fraction + (1.0 - abw_fraction) * ETHANOL_G_MOL / WATER_G_MOL)


@elementwise
def abw_from_mole_fraction(ethanol_mole_fraction: EthanolMoleFraction) -> AbwFraction:
    """Return the strength by mass that goes with a mole fraction of ethanol.

    Parameters
    ----------
    ethanol_mole_fraction : float or numpy array of float
        Moles of ethanol in a mole of mixture, 0 to 1.

    Returns
    -------
    float or numpy array of float
        Mass of ethanol in a mass of mixture, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If the mole fraction is out of range.

    Notes
    -----
    p = 46.06844 x / (46.06844 x + 18.01528 (1 - x)).

    References
    ----------
    IUPAC standard atomic weights (2021), doi 10.1515/pac-2019-0603.

    Examples
    --------
    >>> round(abw_from_mole_fraction(0.8943), 4)
    0.9558
    """
    x = ethanol_mole_fraction
    return x / (x + (1.0 - x) * WATER_G_MOL / ETHANOL_G_MOL)


@elementwise
def abv_from_mole_fraction(ethanol_mole_fraction: EthanolMoleFraction) -> Abv:
    """Return the strength by volume at 20 C that goes with a mole fraction of ethanol.

    Parameters
    ----------
    ethanol_mole_fraction : float or numpy array of float
        Moles of ethanol in a mole of mixture, 0 to 1.

    Returns
    -------
    float or numpy array of float
        Percent by volume at 20 C.

    Raises
    ------
    OutOfRangeError
        If the mole fraction is out of range.

    References
    ----------
    OIML R 22 (1975); IUPAC standard atomic weights (2021), doi 10.1515/pac-2019-0603.

    Examples
    --------
    >>> round(abv_from_mole_fraction(0.8943), 1)
    97.2
    """
    return abv_from_abw(abw_from_mole_fraction(ethanol_mole_fraction))


@elementwise
def mole_fraction_from_abv(abv: Abv) -> EthanolMoleFraction:
    """Return the mole fraction of ethanol that goes with a strength by volume at 20 C.

    Parameters
    ----------
    abv : float or numpy array of float
        Percent by volume at 20 C, 0 to 100.

    Returns
    -------
    float or numpy array of float
        Moles of ethanol in a mole of mixture, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If the strength is out of range.

    References
    ----------
    OIML R 22 (1975); IUPAC standard atomic weights (2021), doi 10.1515/pac-2019-0603.

    Examples
    --------
    >>> round(mole_fraction_from_abv(40.0), 4)
    0.1633
    """
    return mole_fraction_from_abw(abw_from_abv(abv))


def _polynomial(coefficients: Iterable[float], x: float) -> float:
    """Return c0 + c1 x + c2 x^2 ..., given from the highest down."""
    total = 0.0
    for coefficient in coefficients:
        total = total * x + coefficient
    return total


_ROWS = tuple(row[::-1] for row in RHO[::-1])


def _density(abw_fraction: float, temperature_c: float) -> float:
    """Return `density` unchecked, for the insides of solvers."""
    return _polynomial((_polynomial(row, abw_fraction) for row in _ROWS), temperature_c - 20.0)


def _abv(abw_fraction: float, reference_temperature_c: float) -> float:
    """Return `abv_from_abw` unchecked."""
    ethanol = _density(1.0, reference_temperature_c)
    abv = 100.0 * (abw_fraction * (_density(abw_fraction, reference_temperature_c) / ethanol))
    at_most: float = np.minimum(abv, 100.0)  # the sums round to 1e-11; the range check is exact
    return at_most


def _inverse(function: Callable[[float], float]) -> float:
    """Return the mass fraction at which a function of it, rising or falling, is zero."""
    found: float = root(function, 0.0, 1.0)
    return found


def _possible(density_kg_m3: float, temperature_c: float) -> float:
    """Refuse a density that no mixture has; one beyond an end by rounding alone is that end."""
    water, ethanol = _density(0.0, temperature_c), _density(1.0, temperature_c)
    bad = np.greater(density_kg_m3, water + ROUNDING) | np.less(density_kg_m3, ethanol - ROUNDING)
    if np.any(bad):
        found, low, high = (
            np.broadcast_to(v, bad.shape)[bad][0] for v in (density_kg_m3, ethanol, water)
        )
        raise OutOfRangeError(
            f"Density (density_kg_m3) is {found:.2f} kg/m³; at that temperature it must lie "
            f"between {low:.2f} (ethanol) and {high:.2f} (water). Anything heavier holds sugar or "
            "another solid: distil a sample and measure that.",
            quantity="density_kg_m3",
        )
    nearest: float = np.clip(density_kg_m3, ethanol, water)
    return nearest
