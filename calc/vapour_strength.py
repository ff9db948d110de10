"""Strength of vapour from head temperature and of the pot from pot temperature, with a band.

Where a temperature does not tell the strength, the result says why instead of guessing.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np

from calc.pressure import ZERO_C, GaugePressureHpa, absolute_hpa, water_boiling_k
from calc.quantities import (
    EXPECTED_ABV,
    TEMPERATURE,
    FloatArray,
    PressureHpa,
    Quantity,
    checked,
)
from calc.strength_table import azeotrope_abv, azeotrope_k, liquid_abv, vapour_abv

HEAD_TEMPERATURE = TEMPERATURE.called("Head temperature")
POT_TEMPERATURE = TEMPERATURE.called("Pot temperature")
TEMPERATURE_ERROR = Quantity("temperature_error_c", "Probe error, ± (95 %)", "K", 0, 10, 2)
PRESSURE_ERROR = Quantity("pressure_error_hpa", "Pressure error, ± (95 %)", "hPa", 0, 200)
ABV_LOW = Quantity("abv_low", "Strength at least (95 %)", "% vol", 0, 100)
ABV_HIGH = Quantity("abv_high", "Strength at most (95 %)", "% vol", 0, 100)

HeadTemperatureC = Annotated[float, HEAD_TEMPERATURE]
PotTemperatureC = Annotated[float, POT_TEMPERATURE]
TemperatureErrorC = Annotated[float, TEMPERATURE_ERROR]
PressureErrorHpa = Annotated[float, PRESSURE_ERROR]

VAPOUR_ASSUMES = (
    "Assumes saturated vapour with no air in it, no stronger than the azeotrope, at the pressure "
    "given, and a probe that has nothing but that vapour around it."
)
POT_ASSUMES = (
    "Assumes that the pot is boiling, stirred by its boiling, no stronger than the azeotrope, and "
    "holds ethanol and water only: sugar, salt and depth of liquid over the probe raise its "
    "temperature and make the figure too low."
)

# From here up head temperature moves by less than 0.15 K for all the strength there is left,
# which is no more than the published models differ by.
RICHEST_TOLD_ABV = 94.5
# A band wider than this spans a whole fraction of a run. Common practice, no source.
WIDEST_USEFUL_ABV = 15.0
# How far the published models scatter about the published measurements of vapour, one standard
# deviation, against kelvin above the azeotrope: 0.3 % vol up to 80 C at 1013 hPa, 0.6 up to 88 C,
# 1.3 beyond, each step climbed over the kelvin before it.
_SCATTER_K = (0.86, 1.86, 8.86, 9.86)
_SCATTER_ABV = (0.3, 0.6, 0.6, 1.3)
# Of boiling temperatures: what the model makes of tables left out of the fit, 0.05 to 0.12 K.
_BOILING_SCATTER_K = 0.1
# Published azeotropes differ by 0.005 mole fraction.
_AZEOTROPE_SCATTER_ABV = 0.13
_TWO_SIDED_95 = 1.96


@dataclass(frozen=True, slots=True)
class StrengthEstimate:
    """A strength with its band, or why it cannot be told; near the azeotrope the band alone."""

    abv: Annotated[float, EXPECTED_ABV] | None
    abv_low: Annotated[float, ABV_LOW] | None
    abv_high: Annotated[float, ABV_HIGH] | None
    why: str | None


@dataclass(frozen=True, slots=True)
class _Judged:
    """Strengths and bands, NaN where there is none, and which of `_WHY` applies."""

    abv: FloatArray
    low: FloatArray
    high: FloatArray
    reason: FloatArray


@dataclass(frozen=True, slots=True)
class _Phase:
    """What differs between vapour and pot."""

    strength: Callable[[Any, Any], Any]
    model_k: float  # the model's own error as a temperature, +- (95 %)
    scatter_abv: Callable[[Any], Any]  # and as a strength, one standard deviation
    names: dict[str, str]


_TOLD, _TOO_COOL, _TOO_HOT, _WATER, _WIDE, _AZEOTROPE = range(6)
_WHY = {
    _TOO_COOL: "Cooler than any {kind} of ethanol and water at this pressure: {cool}check the "
    "probe and the pressure, and enter a vacuum if there is one.",
    _AZEOTROPE: "Too near the azeotrope: temperature no longer tells the strength, which lies "
    "between {low:.1f} and {high:.1f} % vol.",
    _WIDE: "The errors given leave anything from {low:.1f} to {high:.1f} % vol, too wide to act "
    "on: a better probe or pressure would narrow it.",
    _WATER: "As hot as boiling water, within the errors given: no more than {high:.1f} % vol.",
    _TOO_HOT: "Hotter than boiling water at this pressure: check the probe and the pressure, enter "
    "the pressure of a liquid seal if there is one, and if anything may be blocked turn the heat "
    "off{hot}.",
}


def _scatter_of_vapour(above_azeotrope_k: Any) -> Any:
    return np.interp(above_azeotrope_k, _SCATTER_K, _SCATTER_ABV)


_VAPOUR = _Phase(
    vapour_abv,
    0.0,
    _scatter_of_vapour,
    {"kind": "vapour", "cool": "vapour has not arrived, or there is air in it; ", "hot": ""},
)
_POT = _Phase(
    liquid_abv,
    _TWO_SIDED_95 * _BOILING_SCATTER_K,
    np.zeros_like,
    {
        "kind": "boiling mixture",
        "cool": "the pot is not boiling yet; ",
        "hot": "; sugar or salt in the pot raises its temperature too",
    },
)


@checked
def vapour_strength(
    head_temperature_c: HeadTemperatureC,
    pressure_hpa: PressureHpa,
    temperature_error_c: TemperatureErrorC = 0.5,
    pressure_error_hpa: PressureErrorHpa = 3.0,
    gauge_pressure_hpa: GaugePressureHpa = 0.0,
) -> StrengthEstimate:
    """Return the strength of the vapour in a still's head from its temperature.

    Parameters
    ----------
    head_temperature_c : float
        -20 to 110 C.
    pressure_hpa : float
        600 to 1100 hPa: the barometer where the still stands.
    temperature_error_c : float
        Limits of the probe's error, +-, 0 to 10 K, taken to hold 95 % of it; 0.5 K is what an
        uncalibrated one-wire probe promises.
    pressure_error_hpa : float
        Limits of the pressure's error, +-, 0 to 200 hPa, taken to hold 95 % of it.
    gauge_pressure_hpa : float
        Pressure in the still above the room's: of a liquid seal, or, negative, of a vacuum.

    Returns
    -------
    StrengthEstimate
        Strength of vapour and of the distillate it condenses to, % vol at 20 C, with a band that
        holds the true one 95 times in 100. ``abv`` is None, and ``why`` says why, where
        temperature does not tell: within half the probe's limits of the azeotrope or above 94.5 %
        vol, outside what can boil at the pressure, or where the band is wider than 15 % vol.
        ``abv_low`` and ``abv_high`` are given wherever they mean something.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or pressure and gauge pressure together are outside 120 to
        1400 hPa.

    Notes
    -----
    The dew point of `calc.equilibrium` solved for composition, read from a table in
    sqrt((T - T_azeotrope) / (T_water - T_azeotrope)) that is within 0.02 % vol of the solution.
    Probe and pressure move the temperature by +-u = +-hypot(u_T, u_P dT/dP); each end of the band
    is the strength at T +- u, widened in quadrature by 1.96 standard deviations of the model:
    0.3 % vol up to 80 C, 0.6 up to 88 C, 1.3 beyond (at 1013 hPa). Assumes saturated vapour, no
    air, and no strength beyond the azeotrope.

    References
    ----------
    Equilibrium fitted to Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, Carey & Lewis (1932),
    Ind. Eng. Chem. 24, 882, and others named in `calc.activity`. Band combined after JCGM
    100:2008, clause 5.1.2. Scatter of the models: computed from published models against
    published data. Limits of use: common practice, no source.

    Examples
    --------
    >>> found = vapour_strength(84.0, 1013.25, 0.1, 1.0)
    >>> round(found.abv), found.abv_low < found.abv < found.abv_high, found.why
    (79, True, None)
    """
    hpa = absolute_hpa(pressure_hpa, gauge_pressure_hpa)
    kelvin = head_temperature_c + ZERO_C
    return _told(_judge(kelvin, hpa, temperature_error_c, pressure_error_hpa, _VAPOUR), _VAPOUR)


@checked
def pot_strength(
    pot_temperature_c: PotTemperatureC,
    pressure_hpa: PressureHpa,
    temperature_error_c: TemperatureErrorC = 0.5,
    pressure_error_hpa: PressureErrorHpa = 3.0,
    gauge_pressure_hpa: GaugePressureHpa = 0.0,
) -> StrengthEstimate:
    """Return the strength of what boils in a pot from its temperature.

    Parameters
    ----------
    pot_temperature_c : float
        -20 to 110 C.
    pressure_hpa : float
        600 to 1100 hPa: the barometer where the still stands.
    temperature_error_c : float
        Limits of the probe's error, +-, 0 to 10 K, taken to hold 95 % of it.
    pressure_error_hpa : float
        Limits of the pressure's error, +-, 0 to 200 hPa, taken to hold 95 % of it.
    gauge_pressure_hpa : float
        Pressure in the still above the room's: of a liquid seal or of the column's resistance,
        or, negative, of a vacuum. 10 cm of water above the probe count as 10 hPa.

    Returns
    -------
    StrengthEstimate
        % vol at 20 C, with a band that holds the true one 95 times in 100, or why it cannot be
        told; see `vapour_strength`.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or pressure and gauge pressure together are outside 120 to
        1400 hPa.

    Notes
    -----
    The bubble point of `calc.equilibrium` solved for composition, from the same table as
    `vapour_strength`. The model's own error counts as 0.1 K (one standard deviation). Assumes
    that the pot boils, and ethanol and water only: sugar raises the temperature by about 0.5 K
    for each mole in a kilogram of water (342 g of sucrose).

    References
    ----------
    Equilibrium fitted to Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, Carey & Lewis (1932),
    Ind. Eng. Chem. 24, 882, and others named in `calc.activity`. Band combined after JCGM
    100:2008, clause 5.1.2. Limits of use: common practice, no source.

    Examples
    --------
    >>> found = pot_strength(93.0, 1013.25, 0.1, 1.0)
    >>> round(found.abv), found.abv_low < found.abv < found.abv_high, found.why
    (9, True, None)
    """
    hpa = absolute_hpa(pressure_hpa, gauge_pressure_hpa)
    kelvin = pot_temperature_c + ZERO_C
    return _told(_judge(kelvin, hpa, temperature_error_c, pressure_error_hpa, _POT), _POT)


def vapour_strength_line(
    pressure_hpa: float,
    temperature_error_c: float = 0.5,
    pressure_error_hpa: float = 3.0,
    gauge_pressure_hpa: float = 0.0,
) -> dict[str, FloatArray]:
    """Return strength and band against head temperature, NaN where it cannot be told."""
    return _line(
        "head_temperature_c",
        absolute_hpa(pressure_hpa, gauge_pressure_hpa),
        (temperature_error_c, pressure_error_hpa),
        _VAPOUR,
    )


def pot_strength_line(
    pressure_hpa: float,
    temperature_error_c: float = 0.5,
    pressure_error_hpa: float = 3.0,
    gauge_pressure_hpa: float = 0.0,
) -> dict[str, FloatArray]:
    """Return strength and band against pot temperature, NaN where it cannot be told."""
    return _line(
        "pot_temperature_c",
        absolute_hpa(pressure_hpa, gauge_pressure_hpa),
        (temperature_error_c, pressure_error_hpa),
        _POT,
    )


def _line(
    name: str, hpa: float, errors: tuple[float, float], phase: _Phase
) -> dict[str, FloatArray]:
    kelvin = np.linspace(azeotrope_k(hpa), water_boiling_k(hpa), 201)
    found = _judge(kelvin, hpa, *errors, phase)
    return {
        name: kelvin - ZERO_C,
        "abv": found.abv,
        "abv_low": found.low,
        "abv_high": found.high,
    }


def _judge(
    kelvin: Any, hpa: float, temperature_error_k: float, pressure_error_hpa: float, phase: _Phase
) -> _Judged:
    """Return strengths, bands and reasons; takes one temperature or many."""
    cool, hot = azeotrope_k(hpa), water_boiling_k(hpa)
    by_pressure = _kelvin_per_hpa(kelvin, hpa) * pressure_error_hpa
    u = np.sqrt(temperature_error_k**2 + by_pressure**2 + phase.model_k**2)

    def at(temperature: Any) -> Any:
        return phase.strength(np.clip(temperature, cool, hot), hpa)

    richest = azeotrope_abv(hpa) + _TWO_SIDED_95 * _AZEOTROPE_SCATTER_ABV
    middle, spread = at(kelvin), _TWO_SIDED_95 * phase.scatter_abv(kelvin - cool)
    low = np.maximum(middle - np.hypot(middle - at(kelvin + u), spread), 0.0)
    high = np.minimum(middle + np.hypot(at(kelvin - u) - middle, spread), richest)
    reason = np.select(
        [
            kelvin + u < cool,
            kelvin - u > hot,
            kelvin > hot,
            high - low > WIDEST_USEFUL_ABV,
            (kelvin - u / 2 < cool) | (middle > RICHEST_TOLD_ABV),
        ],
        [_TOO_COOL, _TOO_HOT, _WATER, _WIDE, _AZEOTROPE],
        _TOLD,
    )
    nothing = (reason == _TOO_COOL) | (reason == _TOO_HOT)
    low, high = (np.where(nothing, np.nan, v) for v in (low, high))
    return _Judged(np.where(reason == _TOLD, middle, np.nan), low, high, reason)


def _kelvin_per_hpa(kelvin: Any, hpa: float) -> Any:
    """Return how far one hPa moves the temperature at which a mixture boils or condenses."""
    cool, hot = azeotrope_k(hpa), water_boiling_k(hpa)
    next_cool, next_hot = azeotrope_k(hpa + 1.0), water_boiling_k(hpa + 1.0)
    share = np.clip((kelvin - cool) / (hot - cool), 0.0, 1.0)
    return (next_cool - cool) * (1 - share) + (next_hot - hot) * share


def _told(found: _Judged, phase: _Phase) -> StrengthEstimate:
    low, high = (float(v) if np.isfinite(v) else None for v in (found.low, found.high))
    reason = int(found.reason)
    if reason == _TOLD:
        return StrengthEstimate(float(found.abv), low, high, None)
    words = _WHY[reason].format(low=low or 0.0, high=high or 0.0, **phase.names)
    return StrengthEstimate(None, low, high, words)
