"""What an alcoholometer, a balance or a densimeter says about strength."""

from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np

from calc.alcoholometry import (
    ROUNDING,
    SIXTY_F,
    abv_from_abw,
    abw_from_abv,
    abw_from_density,
    density,
)
from calc.errors import OutOfRangeError
from calc.quantities import (
    ABV,
    DENSITY,
    Abv,
    DensityKgM3,
    FloatArray,
    Glass,
    Quantity,
    ReferenceTemperatureC,
    SpiritTemperatureC,
    UsProof,
    checked,
    elementwise,
)
from calc.strength import Strength, strength

# Cubic expansion of the instrument per kelvin: soda-lime glass ISO 1768 (1975), borosilicate
# from memory (three times the linear 3.3e-6 /K of ISO 3585).
GLASS_EXPANSION = {"soda-lime": 25e-6, "borosilicate": 10e-6}
# Conventional values for weighing in air: OIML D 28 (2004).
AIR_KG_M3 = 1.2
WEIGHTS_KG_M3 = 8000.0
# Volume that a dissolved gram of sugar or oak extract takes up, mL: sucrose in water, from memory.
DISSOLVED_ML_G = 0.62

READING = Quantity("reading_abv", "Reading of the alcoholometer", "% vol", 0, 100, 2)
AIR_DENSITY = Quantity("air_density_kg_m3", "Density of the air", "kg/m³", 0.8, 1.4, 4)
WEIGHED_SAMPLE = Quantity("weighed_g", "Weight of the sample, by the balance", "g", 1, 20_000, 3)
SAMPLE_VOLUME = Quantity("volume_ml", "Volume of the sample", "mL", 1, 20_000, 3)
DISSOLVED = Quantity("dissolved_g_l", "Sugar or other solids dissolved", "g/L", 0, 50, 2)


@dataclass(frozen=True, slots=True)
class TrueStrength:
    """What an alcoholometer's reading says once its temperature is allowed for."""

    abv: Annotated[float, ABV.called("True strength at the instrument's temperature")]
    abv_at_20_c: Annotated[float, ABV.called("True strength at 20 °C")]
    us_proof: UsProof
    density_kg_m3: DensityKgM3


@dataclass(frozen=True, slots=True)
class Obscured:
    """What dissolved solids hide from an alcoholometer."""

    abv: Annotated[float, ABV.called("True strength")]
    hidden_abv: Annotated[float, ABV.called("Strength the instrument does not see")]


@checked
def true_strength(
    reading_abv: Annotated[float, READING],
    temperature_c: SpiritTemperatureC,
    reference_temperature_c: ReferenceTemperatureC = 20.0,
    glass: Glass = "soda-lime",
) -> TrueStrength:
    """Return the true strength from an alcoholometer's reading at any temperature.

    Parameters
    ----------
    reading_abv : float
        What the instrument shows, percent by volume, 0 to 100.
    temperature_c : float
        Of the spirit when it was read, -20 to 40 C.
    reference_temperature_c : float
        Marked on the instrument: 20 C, 15.56 C (60 F) or 15 C.
    glass : {"soda-lime", "borosilicate"}
        What the instrument is blown of; soda-lime unless it says otherwise.

    Returns
    -------
    TrueStrength
        Percent by volume at the instrument's temperature and at 20 C, US proof, and the density
        of the spirit as it was read.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or no mixture of ethanol and water reads so at that
        temperature.

    Notes
    -----
    The instrument floats as deep as it would in spirit of its own scale: density at t =
    rho(p(r, T0), T0) / (1 + a (t - T0)), with r the reading, T0 the instrument's temperature and
    a the cubic expansion of its glass, 25e-6 /K (soda lime) or 10e-6 /K (borosilicate). The
    strength of that density at t is the true one. Surface tension is left out.

    References
    ----------
    OIML R 22 (1975), density formula; ISO 1768 (1975), cubic expansion of glass hydrometers.

    Examples
    --------
    >>> round(true_strength(40.0, 25.0).abv, 1)
    38.0
    """
    at_temperature = _spirit_density(reading_abv, temperature_c, reference_temperature_c, glass)
    _check_reading(reading_abv, temperature_c, reference_temperature_c, glass)
    abw = abw_from_density(at_temperature, temperature_c)
    return TrueStrength(
        abv=abv_from_abw(abw, reference_temperature_c),
        abv_at_20_c=abv_from_abw(abw),
        us_proof=2.0 * abv_from_abw(abw, SIXTY_F),
        density_kg_m3=at_temperature,
    )


@elementwise
def expected_reading(
    abv: Abv,
    temperature_c: SpiritTemperatureC,
    reference_temperature_c: ReferenceTemperatureC = 20.0,
    glass: Glass = "soda-lime",
) -> Annotated[float, READING]:
    """Return what an alcoholometer reads in spirit of known strength at any temperature.

    Parameters
    ----------
    abv : float or numpy array of float
        True strength, percent by volume at 20 C, 0 to 100.
    temperature_c : float or numpy array of float
        Of the spirit, -20 to 40 C.
    reference_temperature_c : float
        Marked on the instrument: 20 C, 15.56 C (60 F) or 15 C.
    glass : {"soda-lime", "borosilicate"}
        What the instrument is blown of.

    Returns
    -------
    float or numpy array of float
        Percent by volume, as the instrument shows it.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the instrument would stand off its scale.

    Notes
    -----
    The inverse of the true strength: the instrument shows the strength that has, at its own
    temperature T0, the density rho(p, t) (1 + a (t - T0)).

    References
    ----------
    OIML R 22 (1975), density formula; ISO 1768 (1975), cubic expansion of glass hydrometers.

    Examples
    --------
    >>> round(expected_reading(40.0, 25.0), 1)
    42.0
    """
    at, base = temperature_c, reference_temperature_c
    seen = density(abw_from_abv(abv), at) * _glass_factor(at, base, glass)
    water, ethanol = density(0.0, base), density(1.0, base)
    if np.any((seen > water + ROUNDING) | (seen < ethanol - ROUNDING)):
        raise OutOfRangeError(
            f"Strength (abv) {_first(abv):.4g} % vol at {_first(at):.4g} °C stands off the scale "
            "of 0 to 100 % vol; bring the spirit nearer the instrument's temperature.",
            quantity="abv",
        )
    reading: float = abv_from_abw(abw_from_density(seen, base), base)
    return reading


@checked
def strength_from_density(
    density_kg_m3: Annotated[float, DENSITY.within(700, 1100)], temperature_c: SpiritTemperatureC
) -> Strength:
    """Return strength from a density in vacuo, as a densimeter shows it.

    Parameters
    ----------
    density_kg_m3 : float
        At the temperature given; between pure ethanol's and pure water's.
    temperature_c : float
        Of the sample, -20 to 40 C.

    Returns
    -------
    Strength
        Percent by volume at 20 C and at 60 F, US proof, by mass, by mole, and the density at 20 C.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or no mixture of ethanol and water has that density.

    Notes
    -----
    Solves rho(p, t) = density for the mass fraction p.

    References
    ----------
    OIML R 22 (1975), International Alcoholometric Tables, general formula.

    Examples
    --------
    >>> round(strength_from_density(948.05, 20.0).abv, 2)
    40.0
    """
    return strength(abw_from_density(density_kg_m3, temperature_c))


@checked
def strength_from_weighing(
    weighed_g: Annotated[float, WEIGHED_SAMPLE],
    volume_ml: Annotated[float, SAMPLE_VOLUME],
    temperature_c: SpiritTemperatureC,
    air_density_kg_m3: Annotated[float, AIR_DENSITY] = AIR_KG_M3,
) -> Strength:
    """Return strength from the weight, in air, of a known volume of spirit.

    Parameters
    ----------
    weighed_g : float
        What the balance shows for the spirit alone, in grams.
    volume_ml : float
        What the flask or pycnometer holds at that temperature, in millilitres.
    temperature_c : float
        Of the spirit, -20 to 40 C.
    air_density_kg_m3 : float
        0.8 to 1.4 kg/m3; 1.2 unless known better (about 1.06 at 1000 m).

    Returns
    -------
    Strength
        Percent by volume at 20 C and at 60 F, US proof, by mass, by mole, and the density at 20 C.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or no mixture of ethanol and water has that density.

    Notes
    -----
    The air carries part of the spirit and of the weights: density = (W / V)(1 - a / 8000) + a,
    with a the density of the air.

    References
    ----------
    OIML R 22 (1975), density formula; OIML D 28 (2004), conventional value of weighing in air.

    Examples
    --------
    >>> round(strength_from_weighing(94.70, 100.0, 20.0).abv, 1)
    40.0
    """
    in_air = 1000.0 * weighed_g / volume_ml
    found = in_air * (1.0 - air_density_kg_m3 / WEIGHTS_KG_M3) + air_density_kg_m3
    return strength(abw_from_density(found, temperature_c))


@checked
def obscured_strength(
    apparent_abv: Annotated[float, ABV.called("Strength the instrument shows, at 20 °C")],
    dissolved_g_l: Annotated[float, DISSOLVED],
) -> Obscured:
    """Return the true strength of a spirit whose sugar or oak extract hides part of it.

    Parameters
    ----------
    apparent_abv : float
        Strength shown by an alcoholometer or densimeter, corrected to 20 C, 0 to 100 % vol.
    dissolved_g_l : float
        Sugar, oak extract or other solids left on evaporating a litre, 0 to 50 g.

    Returns
    -------
    Obscured
        True strength at 20 C and how much of it was hidden.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the spirit without its solids would be lighter than
        ethanol.

    Notes
    -----
    A gram of dissolved solids takes up 0.62 mL (sucrose; oak extract is near it): without its
    c g/L the spirit's density is (rho - c) / (1 - 0.00062 c), and the alcohol found there is
    shared by the whole volume again. A gram per litre hides about 0.2 % vol. An estimate: for
    a label or for duty distil a sample and measure the distillate.

    References
    ----------
    OIML R 22 (1975), density formula; the volume of dissolved sucrose from memory.

    Examples
    --------
    >>> round(obscured_strength(38.0, 10.0).abv, 1)
    40.4
    """
    shown = density(abw_from_abv(apparent_abv), 20.0)
    spirit_share = 1.0 - dissolved_g_l * DISSOLVED_ML_G / 1000.0
    clear = abw_from_density((shown - dissolved_g_l) / spirit_share, 20.0)
    true = abv_from_abw(clear) * spirit_share
    return Obscured(abv=true, hidden_abv=true - apparent_abv)


def true_strength_curve(
    reading_abv: float,
    reference_temperature_c: float = 20.0,
    glass: Glass = "soda-lime",
) -> dict[str, FloatArray]:
    """Return the true strength that one reading stands for, against temperature.

    NaN where no mixture of ethanol and water reads so.
    """
    at: FloatArray = np.linspace(0.0, 40.0, 161)
    spirit = _spirit_density(reading_abv, at, reference_temperature_c, glass)
    possible = (spirit <= density(0.0, at)) & (spirit >= density(1.0, at))
    true = np.full(at.shape, np.nan)
    abw = abw_from_density(spirit[possible], at[possible])
    true[possible] = abv_from_abw(abw, reference_temperature_c)
    return {"temperature_c": at, "abv": true}


def _glass_factor(temperature_c: Any, reference_temperature_c: float, glass: Glass) -> Any:
    return 1.0 + GLASS_EXPANSION[glass] * (temperature_c - reference_temperature_c)


def _spirit_density(
    reading_abv: float, temperature_c: Any, reference_temperature_c: float, glass: Glass
) -> Any:
    """Return the density, at its own temperature, of the spirit that reads so."""
    base = reference_temperature_c
    scale = density(abw_from_abv(reading_abv, base), base)
    return scale / _glass_factor(temperature_c, base, glass)


def _check_reading(
    reading_abv: float, temperature_c: float, reference_temperature_c: float, glass: Glass
) -> None:
    """Refuse a reading that plain water or ethanol passes at that temperature."""
    lowest, highest = (
        _reading_of(abw, temperature_c, reference_temperature_c, glass) for abw in (0.0, 1.0)
    )
    if not lowest - ROUNDING <= reading_abv <= highest + ROUNDING:
        raise OutOfRangeError(
            f"Reading of the alcoholometer (reading_abv) is {reading_abv:.4g} % vol; at "
            f"{temperature_c:.4g} °C it must lie between {lowest:.2f} (water) and {highest:.2f} "
            "(ethanol) % vol. Check thermometer and instrument; sugar makes it read low.",
            quantity="reading_abv",
        )


def _reading_of(
    abw_fraction: float, temperature_c: float, reference_temperature_c: float, glass: Glass
) -> float:
    base = reference_temperature_c
    seen = density(abw_fraction, temperature_c) * _glass_factor(temperature_c, base, glass)
    on_scale = min(max(seen, density(1.0, base)), density(0.0, base))
    reading: float = abv_from_abw(abw_from_density(on_scale, base), base)
    return reading


def _first(value: float) -> float:
    return float(np.ravel(value)[0])
