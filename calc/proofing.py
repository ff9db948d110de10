"""Bringing spirit to strength with water, by volume and by mass, contraction allowed for."""

from dataclasses import dataclass
from typing import Annotated

from calc.alcoholometry import abw_from_abv, density
from calc.contents import WEIGHT_IN_AIR, weight_in_air
from calc.errors import OutOfRangeError
from calc.mixture import Mixture
from calc.quantities import (
    ABV,
    MASS,
    REFERENCE_TEMPERATURE,
    SPIRIT_TEMPERATURE,
    TEMPERATURE,
    VOLUME,
    Abv,
    SpiritTemperatureC,
    VolumeL,
    checked,
)

TARGET = ABV.within(0.5, 100).called("Strength wanted")
WATER_VOLUME = VOLUME.called("Water to add")
WATER_MASS = MASS.called("Water to add, by mass")
WATER_TEMPERATURE = TEMPERATURE.within(0.5, 40).called("Temperature of the water")
CONTRACTION = VOLUME.within(-10_000, 100_000).called("Volume lost by contraction")
STRENGTH_REFERENCE = REFERENCE_TEMPERATURE.called("Temperature the strengths refer to")

WaterVolumeL = Annotated[float, WATER_VOLUME]
WaterMassKg = Annotated[float, WATER_MASS]
TargetAbv = Annotated[float, TARGET]
ContractionL = Annotated[float, CONTRACTION]


@dataclass(frozen=True, slots=True)
class Dilution:
    """Water that brings spirit to strength, and what comes of it."""

    water_volume_l: WaterVolumeL
    water_mass_kg: WaterMassKg
    final_volume_l: Annotated[float, VOLUME.called("Final volume")]
    contraction_l: ContractionL


@dataclass(frozen=True, slots=True)
class WarmAndCold:
    """Water of one temperature that brings spirit of another to strength."""

    water_volume_l: Annotated[float, VOLUME.called("Water to add, at its own temperature")]
    water_mass_kg: WaterMassKg
    final_volume_at_20_c_l: Annotated[float, VOLUME.called("Final volume at 20 °C")]
    contraction_at_20_c_l: Annotated[float, CONTRACTION.called("Contraction, all at 20 °C")]


@dataclass(frozen=True, slots=True)
class WeighedDilution:
    """Water, by the scale, that brings weighed spirit to strength."""

    water_weight_kg: Annotated[float, WEIGHT_IN_AIR.called("Water to add, by the scale")]
    water_volume_l: Annotated[float, VOLUME.called("Water to add, at 20 °C")]
    final_weight_kg: Annotated[float, WEIGHT_IN_AIR.called("Final weight, by the scale")]
    final_volume_at_20_c_l: Annotated[float, VOLUME.called("Final volume at 20 °C")]


@checked
def dilution(
    volume_l: VolumeL,
    abv: Abv,
    target_abv: TargetAbv,
    temperature_c: SpiritTemperatureC = 20.0,
    reference_temperature_c: Annotated[float, STRENGTH_REFERENCE] = 20.0,
) -> Dilution:
    """Return the water that brings spirit to a lower strength.

    Parameters
    ----------
    volume_l : float
        Of the spirit, at the temperature given.
    abv, target_abv : float
        Strength now and wanted, percent by volume at the reference temperature; wanted no less
        than 0.5 and no more than now.
    temperature_c : float
        Of spirit, water and mixture, at which all volumes are taken; -20 to 40 C.
    reference_temperature_c : float
        20 C unless the strengths are of an instrument made for another temperature.

    Returns
    -------
    Dilution
        Water by volume and by mass, final volume, and the volume lost by contraction.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the strength wanted is above the spirit's.

    Notes
    -----
    Mass is kept, volume is not: with p and p2 the strengths by mass, the water added is
    m (p / p2 - 1), and each volume is its mass by rho(p, t).

    References
    ----------
    OIML R 22 (1975), International Alcoholometric Tables, general formula.

    Examples
    --------
    >>> found = dilution(10.0, 65.0, 40.0, 20.0)
    >>> round(found.water_volume_l, 3), round(found.final_volume_l, 2)
    (6.441, 16.25)
    """
    check_weaker(abv, target_abv)
    spirit = Mixture.of_volume(volume_l, abv, temperature_c, reference_temperature_c)
    abw = abw_from_abv(target_abv, reference_temperature_c)
    water = spirit.water_to_reach(abw)
    water_volume = 1000.0 * water / density(0.0, temperature_c)
    final = 1000.0 * (spirit.mass_kg + water) / density(abw, temperature_c)
    return Dilution(water_volume, water, final, volume_l + water_volume - final)


@checked
def dilution_warm_and_cold(
    volume_l: VolumeL,
    abv: Abv,
    target_abv: TargetAbv,
    temperature_c: Annotated[float, SPIRIT_TEMPERATURE.called("Temperature of the spirit")],
    water_temperature_c: Annotated[float, WATER_TEMPERATURE],
) -> WarmAndCold:
    """Return the water of one temperature that brings spirit of another to strength.

    Parameters
    ----------
    volume_l : float
        Of the spirit, at its own temperature.
    abv, target_abv : float
        Strength now and wanted, percent by volume at 20 C; wanted no less than 0.5 and no more
        than now.
    temperature_c : float
        Of the spirit, -20 to 40 C.
    water_temperature_c : float
        Of the water, 0.5 to 40 C.

    Returns
    -------
    WarmAndCold
        Water by volume at its own temperature and by mass; final volume and contraction at 20 C.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the strength wanted is above the spirit's.

    Notes
    -----
    The water's mass is m (p / p2 - 1), with p and p2 the strengths by mass. Mixing gives heat of
    its own, so the mixture's temperature is not foretold; its volume is given at 20 C.

    References
    ----------
    OIML R 22 (1975), International Alcoholometric Tables, general formula.

    Examples
    --------
    >>> found = dilution_warm_and_cold(10.0, 65.0, 40.0, 28.0, 10.0)
    >>> round(found.water_volume_l, 3), round(found.final_volume_at_20_c_l, 2)
    (6.384, 16.13)
    """
    check_weaker(abv, target_abv)
    strong, weak = abw_from_abv(abv), abw_from_abv(target_abv)
    spirit = Mixture.of_volume(volume_l, abv, temperature_c)
    water = spirit.water_to_reach(weak)
    apart = 1000.0 * (spirit.mass_kg / density(strong, 20.0) + water / density(0.0, 20.0))
    final = 1000.0 * (spirit.mass_kg + water) / density(weak, 20.0)
    water_volume = 1000.0 * water / density(0.0, water_temperature_c)
    return WarmAndCold(water_volume, water, final, apart - final)


@checked
def dilution_by_weight(
    weight_in_air_kg: Annotated[float, WEIGHT_IN_AIR.called("Weight of the spirit, by the scale")],
    abv: Abv,
    target_abv: TargetAbv,
) -> WeighedDilution:
    """Return the water, by the scale, that brings weighed spirit to strength.

    Parameters
    ----------
    weight_in_air_kg : float
        What the scale shows for the spirit alone.
    abv, target_abv : float
        Strength now and wanted, percent by volume at 20 C; wanted no less than 0.5 and no more
        than now.

    Returns
    -------
    WeighedDilution
        Water by the scale and by volume, final weight and final volume at 20 C.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the strength wanted is above the spirit's.

    Notes
    -----
    By mass the temperature does not matter: water = m (p / p2 - 1), with p and p2 the strengths
    by mass. The scale's readings are freed of the air's lift and given back with it.

    References
    ----------
    OIML R 22 (1975); OIML D 28 (2004), conventional value of weighing in air.

    Examples
    --------
    >>> found = dilution_by_weight(100.0, 65.0, 40.0)
    >>> round(found.water_weight_kg, 2), round(found.final_volume_at_20_c_l, 1)
    (71.63, 181.2)
    """
    check_weaker(abv, target_abv)
    strong = density(abw_from_abv(abv), 20.0)
    spirit = Mixture.of_mass(weight_in_air_kg / weight_in_air(1.0, strong), abw_from_abv(abv))
    water = spirit.water_to_reach(abw_from_abv(target_abv))
    total, weak = spirit.mass_kg + water, density(abw_from_abv(target_abv), 20.0)
    return WeighedDilution(
        water_weight_kg=weight_in_air(water, density(0.0, 20.0)),
        water_volume_l=1000.0 * water / density(0.0, 20.0),
        final_weight_kg=weight_in_air(total, weak),
        final_volume_at_20_c_l=1000.0 * total / weak,
    )


def check_weaker(abv: float, target_abv: float) -> None:
    """Refuse a strength wanted above the spirit's own: water only lowers it."""
    if target_abv > abv:
        raise OutOfRangeError(
            f"Strength wanted (target_abv) is {target_abv:.10g} % vol; water only lowers strength, "
            f"so it must lie between {TARGET.low:.10g} and the spirit's own {abv:.10g} % vol.",
            quantity="target_abv",
        )
