"""Alcohol of a wash or a pulp by distilling a measured sample of it.

Whatever is dissolved stays behind, so that the distillate, made up with water, can be read with
an alcoholometer. It is the honest way where no original gravity was taken or fruit was added.
"""

from dataclasses import dataclass
from typing import Annotated

from calc.alcoholometer import READING, true_strength
from calc.alcoholometry import abw_from_abv
from calc.hydrometer import water_density
from calc.quantities import (
    ABV,
    ABW_FRACTION,
    SPIRIT_TEMPERATURE,
    TEMPERATURE,
    Abv,
    Glass,
    Quantity,
    ReferenceTemperatureC,
    checked,
)
from calc.sugars import ETHANOL_KG_L

SAMPLE_VOLUME = Quantity("sample_volume_ml", "Volume of the sample", "mL", 10, 20_000)
SAMPLE_MASS = Quantity("sample_mass_g", "Mass of the pulp sample", "g", 10, 20_000)
MADE_UP = Quantity(
    "distillate_volume_ml", "Volume of the distillate, made up with water", "mL", 10, 20_000
)
WASH_TEMPERATURE = TEMPERATURE.within(0, 40).called("Temperature of the sample when measured")
DISTILLATE_TEMPERATURE = SPIRIT_TEMPERATURE.within(0, 40).called("Temperature of the distillate")
PER_100_KG = Quantity("pure_alcohol_l_100_kg", "Pure alcohol in 100 kg", "L/100 kg", 0, 130, 2)

MadeUpMl = Annotated[float, MADE_UP]
DistillateTemperatureC = Annotated[float, DISTILLATE_TEMPERATURE]
ReadingAbv = Annotated[float, READING]


@dataclass(frozen=True, slots=True)
class WashStrength:
    """The strength of a wash whose sample was distilled."""

    abv: Abv
    distillate_abv: Annotated[float, ABV.called("True strength of the distillate")]


@dataclass(frozen=True, slots=True)
class PulpStrength:
    """The alcohol of a pulp whose sample was distilled."""

    pure_alcohol_l_100_kg: Annotated[float, PER_100_KG]
    abw_fraction: Annotated[float, ABW_FRACTION]
    distillate_abv: Annotated[float, ABV.called("True strength of the distillate")]


@checked
def wash_by_distilling(
    sample_volume_ml: Annotated[float, SAMPLE_VOLUME],
    distillate_volume_ml: MadeUpMl,
    reading_abv: ReadingAbv,
    temperature_c: DistillateTemperatureC = 20.0,
    sample_temperature_c: Annotated[float, WASH_TEMPERATURE] = 20.0,
    reference_temperature_c: ReferenceTemperatureC = 20.0,
    glass: Glass = "soda-lime",
) -> WashStrength:
    """Return the strength of a wash from the distillate of a measured sample.

    Parameters
    ----------
    sample_volume_ml : float
        Of wash, its gas shaken out, 10 to 20,000 mL.
    distillate_volume_ml : float
        Of the distillate once made up with distilled water; best to the sample's own volume.
    reading_abv : float
        What the alcoholometer shows in it, percent by volume.
    temperature_c : float
        Of the distillate as it is measured and read, 0 to 40 C.
    sample_temperature_c : float
        Of the wash as it was measured, 0 to 40 C.
    reference_temperature_c : float
        Marked on the alcoholometer.
    glass : {"soda-lime", "borosilicate"}
        What it is blown of.

    Returns
    -------
    WashStrength
        Percent by volume at 20 C of the wash and of the distillate.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the reading is impossible at that temperature, or more
        alcohol comes out than the sample could hold.

    Notes
    -----
    All the alcohol of the sample is in the distillate: mass of ethanol = V rho(p, t) p of the
    distillate; divided by ethanol's density and by the sample's volume at 20 C (it is taken to
    expand as water does). Collect a third of a wash at least, more of a strong one, and lose
    none: what is lost is missing in the answer.

    References
    ----------
    OIV, Compendium of International Methods of Analysis, OIV-MA-AS312-01 (alcohol by volume by
    distillation); OIML R 22 (1975), density formula.

    Examples
    --------
    >>> round(wash_by_distilling(500.0, 500.0, 9.0).abv, 1)
    9.0
    """
    ethanol_g, strength = _ethanol_g(
        distillate_volume_ml, reading_abv, temperature_c, reference_temperature_c, glass
    )
    sample_ml = sample_volume_ml * water_density(sample_temperature_c) / water_density(20.0)
    abv = 100.0 * ethanol_g / ETHANOL_KG_L / sample_ml
    ABV.called("Strength of the wash that follows").check(abv, "distillate_volume_ml")
    return WashStrength(abv=abv, distillate_abv=strength)


@checked
def pulp_by_distilling(
    sample_mass_g: Annotated[float, SAMPLE_MASS],
    distillate_volume_ml: MadeUpMl,
    reading_abv: ReadingAbv,
    temperature_c: DistillateTemperatureC = 20.0,
    reference_temperature_c: ReferenceTemperatureC = 20.0,
    glass: Glass = "soda-lime",
) -> PulpStrength:
    """Return the alcohol of a fruit pulp or mash from the distillate of a weighed sample.

    Parameters
    ----------
    sample_mass_g : float
        Of pulp, well stirred before it was taken, 10 to 20,000 g.
    distillate_volume_ml : float
        Of the distillate once made up with distilled water.
    reading_abv : float
        What the alcoholometer shows in it, percent by volume.
    temperature_c : float
        Of the distillate as it is measured and read, 0 to 40 C.
    reference_temperature_c : float
        Marked on the alcoholometer.
    glass : {"soda-lime", "borosilicate"}
        What it is blown of.

    Returns
    -------
    PulpStrength
        Litres of pure alcohol in 100 kg of pulp, the mass fraction, and the strength of the
        distillate in percent by volume at 20 C.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the reading is impossible at that temperature, or more
        alcohol comes out than the sample could hold.

    Notes
    -----
    Mass of ethanol = V rho(p, t) p of the distillate, divided by the mass of the sample. Water
    added to thin the pulp in the flask does not change the answer.

    References
    ----------
    OIV, Compendium of International Methods of Analysis, OIV-MA-AS312-01 (alcohol by volume by
    distillation); OIML R 22 (1975), density formula.

    Examples
    --------
    >>> round(pulp_by_distilling(400.0, 400.0, 5.0).pure_alcohol_l_100_kg, 1)
    5.0
    """
    ethanol_g, strength = _ethanol_g(
        distillate_volume_ml, reading_abv, temperature_c, reference_temperature_c, glass
    )
    abw = ethanol_g / sample_mass_g
    ABW_FRACTION.called("Strength of the pulp that follows").check(abw, "distillate_volume_ml")
    return PulpStrength(
        pure_alcohol_l_100_kg=100.0 * abw / ETHANOL_KG_L,
        abw_fraction=abw,
        distillate_abv=strength,
    )


def _ethanol_g(
    volume_ml: float, reading_abv: float, temperature_c: float, reference_c: float, glass: Glass
) -> tuple[float, float]:
    """Return grams of ethanol in a distillate, and its strength at 20 C."""
    found = true_strength(reading_abv, temperature_c, reference_c, glass)
    mass_g = volume_ml * found.density_kg_m3 / 1000.0
    return mass_g * abw_from_abv(found.abv_at_20_c), found.abv_at_20_c
