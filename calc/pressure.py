"""Vapour pressures of water and of ethanol, and the air's pressure at an altitude.

Every function takes numbers or numpy arrays. Pressures are absolute, in hPa.
"""

from typing import Annotated, Any

import numpy as np

from calc.quantities import (
    PRESSURE,
    TEMPERATURE,
    DurationH,
    PressureHpa,
    Quantity,
    TemperatureC,
    elementwise,
)
from calc.solve import root

STANDARD_HPA = 1013.25
ZERO_C = 273.15

# What a still can be under: a vacuum pump at one end, a liquid seal at the other. The activity
# model has been compared with measurements from 4 to 160 kPa; below 12 kPa the azeotrope is about
# to vanish and head temperature says nothing.
STILL_PRESSURE = PRESSURE.within(120, 1400).called("Absolute pressure")
BOILING_TEMPERATURE = TEMPERATURE.within(20, 110)
GAUGE_PRESSURE = Quantity(
    "gauge_pressure_hpa",
    "Pressure in the still above the room's (vacuum negative)",
    "hPa",
    -980,
    300,
)
WATER_BOILS = Quantity("temperature_c", "Water boils at", "°C", 20, 110, 2)
ALTITUDE = Quantity("altitude_m", "Altitude above sea level", "m", -500, 4500, 0)
WEATHER_HPA = 8.0  # how the air's pressure scatters about a place's usual, one standard deviation
CHANGE = Quantity("pressure_change_hpa", "The air's pressure may have changed by", "hPa", 0, 20, 1)
SEA_LEVEL_PRESSURE = PRESSURE.within(900, 1090).called("Pressure reduced to sea level")

StillPressureHpa = Annotated[float, STILL_PRESSURE]
BoilingTemperatureC = Annotated[float, BOILING_TEMPERATURE]
GaugePressureHpa = Annotated[float, GAUGE_PRESSURE]
AltitudeM = Annotated[float, ALTITUDE]

# IAPWS-IF97, table 34: n1 to n10 of region 4.
_N1, _N2, _N3, _N4, _N5 = (
    1167.0521452767,
    -724213.16703206,
    -17.073846940092,
    12020.824702470,
    -3232555.0322333,
)
_N6, _N7, _N8, _N9, _N10 = (
    14.915108613530,
    -4823.2657361591,
    405113.40542057,
    -0.23855557567849,
    650.17534844798,
)
_HPA_PER_MPA = 1e4

# Ethanol: critical point, and a, b, c, d of the Wagner equation in its 2.5-5 form.
# Poling, Prausnitz & O'Connell, The Properties of Gases and Liquids, 5th ed. (2001), appendix A.
_ETHANOL_CRITICAL_K = 513.92
_ETHANOL_CRITICAL_HPA = 61320.0
_WAGNER = (-8.68587, 1.17831, -4.8762, 1.588)


@elementwise
def water_vapour_pressure(temperature_c: BoilingTemperatureC) -> StillPressureHpa:
    """Return the pressure at which water boils at a temperature.

    Parameters
    ----------
    temperature_c : float or numpy array of float
        20 to 110 C.

    Returns
    -------
    float or numpy array of float
        hPa, absolute.

    Raises
    ------
    OutOfRangeError
        If the temperature is out of range.

    Notes
    -----
    The quadratic of region 4, solved for the fourth root of the pressure. Valid from 0 C to the
    critical point; offered here where stills work.

    References
    ----------
    IAPWS R7-97(2012), Industrial Formulation 1997, equation 30.

    Examples
    --------
    >>> round(water_vapour_pressure(99.974), 1)
    1013.2
    """
    hpa: float = water_hpa(temperature_c + ZERO_C)
    return hpa


@elementwise
def water_boiling_point(pressure_hpa: StillPressureHpa) -> Annotated[float, WATER_BOILS]:
    """Return the temperature at which water boils under a pressure.

    Parameters
    ----------
    pressure_hpa : float or numpy array of float
        Absolute, 120 to 1400 hPa: the barometer where the still stands, not the figure reduced
        to sea level.

    Returns
    -------
    float or numpy array of float
        C.

    Raises
    ------
    OutOfRangeError
        If the pressure is out of range.

    Notes
    -----
    The same quadratic as `water_vapour_pressure`, solved for the temperature; exact inverse.

    References
    ----------
    IAPWS R7-97(2012), Industrial Formulation 1997, equation 31.

    Examples
    --------
    >>> round(water_boiling_point(1013.25), 3)
    99.974
    """
    kelvin: float = water_boiling_k(pressure_hpa)
    return kelvin - ZERO_C


@elementwise
def ethanol_vapour_pressure(temperature_c: BoilingTemperatureC) -> StillPressureHpa:
    """Return the pressure at which pure ethanol boils at a temperature.

    Parameters
    ----------
    temperature_c : float or numpy array of float
        20 to 110 C.

    Returns
    -------
    float or numpy array of float
        hPa, absolute.

    Raises
    ------
    OutOfRangeError
        If the temperature is out of range.

    Notes
    -----
    ln(P/Pc) = (a s + b s^1.5 + c s^2.5 + d s^5) Tc/T with s = 1 - T/Tc, Tc = 513.92 K and
    Pc = 6.132 MPa.

    References
    ----------
    Poling, B. E., Prausnitz, J. M. & O'Connell, J. P. (2001), The Properties of Gases and
    Liquids, 5th ed., McGraw-Hill, appendix A.

    Examples
    --------
    >>> round(ethanol_vapour_pressure(78.287), 1)
    1013.2
    """
    hpa: float = ethanol_hpa(temperature_c + ZERO_C)
    return hpa


@elementwise
def ethanol_boiling_point(pressure_hpa: StillPressureHpa) -> TemperatureC:
    """Return the temperature at which pure ethanol boils under a pressure.

    Parameters
    ----------
    pressure_hpa : float or numpy array of float
        Absolute, 120 to 1400 hPa.

    Returns
    -------
    float or numpy array of float
        C.

    Raises
    ------
    OutOfRangeError
        If the pressure is out of range.

    Notes
    -----
    `ethanol_vapour_pressure` solved for the temperature.

    References
    ----------
    Poling, B. E., Prausnitz, J. M. & O'Connell, J. P. (2001), The Properties of Gases and
    Liquids, 5th ed., McGraw-Hill, appendix A.

    Examples
    --------
    >>> round(ethanol_boiling_point(1013.25), 3)
    78.287
    """
    found: float = root(lambda t: np.log(ethanol_hpa(t) / pressure_hpa), 280.0, 400.0)
    return found - ZERO_C


@elementwise
def pressure_at_altitude(
    altitude_m: AltitudeM,
    sea_level_pressure_hpa: Annotated[float, SEA_LEVEL_PRESSURE] = STANDARD_HPA,
) -> PressureHpa:
    """Return the usual pressure of the air at an altitude.

    Parameters
    ----------
    altitude_m : float or numpy array of float
        -500 to 4500 m above sea level.
    sea_level_pressure_hpa : float or numpy array of float
        900 to 1090 hPa, as a weather service reports it; 1013.25 hPa unless said otherwise.

    Returns
    -------
    float or numpy array of float
        hPa: the pressure a barometer shows there, which is what a still boils under.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the result lies outside 600 to 1100 hPa.

    Notes
    -----
    p = p0 (1 - 0.0065 H / 288.15)^5.25588, H the geopotential altitude, which at 4500 m is 3 m
    less than the geometric one (1 hPa) and at 1000 m 0.2 m. A reported pressure is taken down the
    same atmosphere, counted from the altitude at which that atmosphere has it. Weather moves the
    result by up to 30 hPa, which moves a head by 0.75 K: a barometer is better.

    References
    ----------
    ISO 2533:1975, Standard Atmosphere, equations for the layer from -2 to 11 km.

    Examples
    --------
    >>> round(pressure_at_altitude(1000.0), 2)
    898.75
    """
    exponent = 9.80665 / (287.05287 * 0.0065)
    offset = 288.15 / 0.0065 * (1.0 - (sea_level_pressure_hpa / STANDARD_HPA) ** (1.0 / exponent))
    hpa: float = STANDARD_HPA * (1.0 - 0.0065 * (altitude_m + offset) / 288.15) ** exponent
    PRESSURE.check(hpa, "pressure_hpa")
    return hpa


@elementwise
def weather_change(duration_h: DurationH) -> Annotated[float, CHANGE]:
    """Return how far the air's pressure has likely moved after some hours.

    Parameters
    ----------
    duration_h : float or numpy array of float
        0 to 100 000 h.

    Returns
    -------
    float or numpy array of float
        hPa, one standard deviation, up or down.

    Raises
    ------
    OutOfRangeError
        If the time is out of range.

    Notes
    -----
    d^2 = 2 s^2 (1 - exp(-(t / 36.8 h)^1.7)), with s = 8 hPa: half a hectopascal in an hour, 1.4 in
    three, 2.4 in six, 7 in a day, and 11 at last, as two days' weather have nothing in common.

    References
    ----------
    Station records of middle latitudes, from memory; calmer near the equator, and stormier in
    winter on a coast.

    Examples
    --------
    >>> [round(weather_change(hours), 1) for hours in (1.0, 6.0, 24.0)]
    [0.5, 2.4, 7.0]
    """
    forgotten = -np.expm1(-((duration_h / 36.8) ** 1.7))
    hpa: float = WEATHER_HPA * np.sqrt(2.0 * forgotten)
    return hpa


def absolute_hpa(pressure_hpa: float, gauge_pressure_hpa: float) -> float:
    """Return the pressure in a still from the room's and the still's above it.

    Raises
    ------
    OutOfRangeError
        If it lies outside `STILL_PRESSURE`.
    """
    hpa = pressure_hpa + gauge_pressure_hpa
    STILL_PRESSURE.check(hpa, "pressure_hpa + gauge_pressure_hpa")
    return hpa


def water_hpa(kelvin: Any) -> Any:
    """Return water's vapour pressure, unchecked, of a float or an array."""
    theta = kelvin + _N9 / (kelvin - _N10)
    a = theta * (theta + _N1) + _N2
    b = theta * (_N3 * theta + _N4) + _N5
    c = theta * (_N6 * theta + _N7) + _N8
    fourth_root = 2.0 * c / (-b + np.sqrt(b * b - 4.0 * a * c))
    return _HPA_PER_MPA * fourth_root**4


def water_boiling_k(pressure_hpa: Any) -> Any:
    """Return water's boiling temperature in K, unchecked, under a float or an array."""
    beta = (pressure_hpa / _HPA_PER_MPA) ** 0.25
    e = beta * (beta + _N3) + _N6
    f = beta * (_N1 * beta + _N4) + _N7
    g = beta * (_N2 * beta + _N5) + _N8
    d = 2.0 * g / (-f - np.sqrt(f * f - 4.0 * e * g))
    return (_N10 + d - np.sqrt((_N10 + d) ** 2 - 4.0 * (_N9 + _N10 * d))) / 2.0


def ethanol_hpa(kelvin: Any) -> Any:
    """Return ethanol's vapour pressure, unchecked, of a float or an array."""
    s = 1.0 - kelvin / _ETHANOL_CRITICAL_K
    half = np.sqrt(s)
    a, b, c, d = _WAGNER
    log_ratio = s * (a + half * (b + s * (c + d * s * s * half))) * _ETHANOL_CRITICAL_K / kelvin
    return _ETHANOL_CRITICAL_HPA * np.exp(log_ratio)
