"""Boiling and condensing in the distiller's terms: strengths in % vol, the still's own pressure."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from calc.alcoholometry import (
    abv_from_mole_fraction,
    abw_from_mole_fraction,
    mole_fraction_from_abv,
)
from calc.equilibrium import (
    azeotrope,
    bubble_point,
    liquid_under,
    raw_bubble_k,
    raw_vapour,
    vapour_over,
)
from calc.pressure import (
    STILL_PRESSURE,
    ZERO_C,
    GaugePressureHpa,
    absolute_hpa,
    ethanol_boiling_point,
    water_boiling_point,
)
from calc.quantities import (
    ABV,
    ABW_FRACTION,
    EXPECTED_ABV,
    TEMPERATURE,
    Abv,
    EthanolMoleFraction,
    FloatArray,
    PressureHpa,
    checked,
)

VAPOUR_ABV = EXPECTED_ABV.called("Strength of the vapour")
LIQUID_ABV = EXPECTED_ABV.called("Strength of the liquid")


@dataclass(frozen=True, slots=True)
class BoilingPoint:
    """When a liquid boils, and what its vapour condenses to."""

    temperature_c: Annotated[float, TEMPERATURE.called("Boils at")]
    vapour_abv: Annotated[float, VAPOUR_ABV]


@dataclass(frozen=True, slots=True)
class DewPoint:
    """When a vapour condenses, and what its first dew is."""

    temperature_c: Annotated[float, TEMPERATURE.called("Condenses at")]
    liquid_abv: Annotated[float, LIQUID_ABV]


@dataclass(frozen=True, slots=True)
class Azeotrope:
    """What boils as one, and the pure parts beside it."""

    temperature_c: Annotated[float, TEMPERATURE.called("Azeotrope boils at")]
    abv: Annotated[float, ABV.called("Strength of the azeotrope")]
    abw_fraction: Annotated[float, ABW_FRACTION]
    ethanol_mole_fraction: EthanolMoleFraction
    ethanol_boiling_c: Annotated[float, TEMPERATURE.called("Pure ethanol boils at")]
    water_boiling_c: Annotated[float, TEMPERATURE.called("Water boils at")]


@checked
def boiling_point(
    abv: Abv,
    pressure_hpa: PressureHpa,
    gauge_pressure_hpa: GaugePressureHpa = 0.0,
) -> BoilingPoint:
    """Return when a mixture of ethanol and water boils, and the strength of its vapour.

    Parameters
    ----------
    abv : float
        Strength of the liquid, 0 to 100 % vol.
    pressure_hpa : float
        600 to 1100 hPa, by the barometer where the still stands.
    gauge_pressure_hpa : float
        Pressure in the still above the room's: of a liquid seal, or, negative, of a vacuum.

    Returns
    -------
    BoilingPoint
        Temperature, and strength at 20 C of the distillate the first vapour condenses to.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or pressure and gauge pressure together are outside 120 to
        1400 hPa.

    Notes
    -----
    Bubble point of `calc.equilibrium`: excess Gibbs energy of four terms, ideal vapour. Within
    0.1 K and 0.6 % mole (rms) of measurements it was not fitted to. Sugar, salt and depth of
    liquid raise the temperature.

    References
    ----------
    Equilibrium fitted to Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, Carey & Lewis (1932),
    Ind. Eng. Chem. 24, 882, and others named in `calc.activity`; water by IAPWS R7-97(2012).

    Examples
    --------
    >>> found = boiling_point(9.0, 1013.25)
    >>> round(found.temperature_c, 1), round(found.vapour_abv)
    (92.8, 54)
    """
    hpa = absolute_hpa(pressure_hpa, gauge_pressure_hpa)
    x = mole_fraction_from_abv(abv)
    return BoilingPoint(bubble_point(x, hpa), abv_from_mole_fraction(vapour_over(x, hpa)))


@checked
def dew_point(
    vapour_abv: Annotated[float, VAPOUR_ABV],
    pressure_hpa: PressureHpa,
    gauge_pressure_hpa: GaugePressureHpa = 0.0,
) -> DewPoint:
    """Return when vapour of ethanol and water condenses, and the strength of its first dew.

    Parameters
    ----------
    vapour_abv : float
        Strength at 20 C of the distillate all of the vapour would condense to, 0 to 100 % vol.
    pressure_hpa : float
        600 to 1100 hPa, by the barometer where the still stands.
    gauge_pressure_hpa : float
        Pressure in the still above the room's: of a liquid seal, or, negative, of a vacuum.

    Returns
    -------
    DewPoint
        Temperature of a head full of that vapour, and strength of the liquid that boils to it.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or pressure and gauge pressure together are outside 120 to
        1400 hPa.

    Notes
    -----
    The bubble point of the liquid in equilibrium with the vapour; see `calc.equilibrium`. No air
    in the vapour.

    References
    ----------
    Equilibrium fitted to Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, Carey & Lewis (1932),
    Ind. Eng. Chem. 24, 882, and others named in `calc.activity`; water by IAPWS R7-97(2012).

    Examples
    --------
    >>> round(dew_point(92.8, 1013.25).temperature_c, 1)
    78.5
    """
    hpa = absolute_hpa(pressure_hpa, gauge_pressure_hpa)
    x = liquid_under(mole_fraction_from_abv(vapour_abv), hpa)
    return DewPoint(bubble_point(x, hpa), abv_from_mole_fraction(x))


@checked
def azeotrope_at(
    pressure_hpa: PressureHpa, gauge_pressure_hpa: GaugePressureHpa = 0.0
) -> Azeotrope:
    """Return the strength no distillation passes, and its boiling point.

    Parameters
    ----------
    pressure_hpa : float
        600 to 1100 hPa, by the barometer where the still stands.
    gauge_pressure_hpa : float
        Pressure in the still above the room's: of a liquid seal, or, negative, of a vacuum.

    Returns
    -------
    Azeotrope
        Temperature and composition, and the boiling points of pure ethanol and of water beside it.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or pressure and gauge pressure together are outside 120 to
        1400 hPa.

    Notes
    -----
    Where liquid and vapour of `calc.equilibrium` have one composition. Published compositions
    differ by 0.13 % vol, temperatures by 0.03 K.

    References
    ----------
    Equilibrium fitted to Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, Carey & Lewis (1932),
    Ind. Eng. Chem. 24, 882, and others named in `calc.activity`; Horsley, Azeotropic Data III
    (1973); water by IAPWS R7-97(2012).

    Examples
    --------
    >>> found = azeotrope_at(1013.25)
    >>> round(found.temperature_c, 1), round(found.abv)
    (78.1, 97)
    """
    hpa = absolute_hpa(pressure_hpa, gauge_pressure_hpa)
    x = azeotrope(hpa)
    return Azeotrope(
        temperature_c=bubble_point(x, hpa),
        abv=abv_from_mole_fraction(x),
        abw_fraction=abw_from_mole_fraction(x),
        ethanol_mole_fraction=x,
        ethanol_boiling_c=ethanol_boiling_point(hpa),
        water_boiling_c=water_boiling_point(hpa),
    )


def boiling_lines(pressure_hpa: float, gauge_pressure_hpa: float = 0.0) -> dict[str, FloatArray]:
    """Return at which temperature liquid boils, and vapour condenses, against strength."""
    hpa = absolute_hpa(pressure_hpa, gauge_pressure_hpa)
    abv = np.linspace(0.0, 100.0, 401)
    liquid = np.asarray(mole_fraction_from_abv(abv))
    kelvin = raw_bubble_k(liquid, hpa)
    of_vapour = np.asarray(abv_from_mole_fraction(raw_vapour(liquid, hpa)))
    return {
        "abv": abv,
        "boils_c": kelvin - ZERO_C,
        "condenses_c": np.interp(abv, of_vapour, kelvin) - ZERO_C,
    }


def azeotrope_line() -> dict[str, FloatArray]:
    """Return the azeotrope's strength and temperature against absolute pressure."""
    hpa = np.linspace(STILL_PRESSURE.low, STILL_PRESSURE.high, 129)
    x = azeotrope(hpa)
    return {
        "still_pressure_hpa": hpa,
        "abv": np.asarray(abv_from_mole_fraction(x)),
        "temperature_c": np.asarray(bubble_point(x, hpa)),
    }
