"""What a vessel of spirit holds: volume at 20 C, pure alcohol, mass and weight."""

from dataclasses import dataclass
from typing import Annotated

from calc.alcoholometer import AIR_DENSITY, AIR_KG_M3, WEIGHTS_KG_M3
from calc.alcoholometry import SIXTY_F, abw_from_abv, density
from calc.mixture import Mixture
from calc.quantities import (
    ABV,
    DENSITY,
    MASS,
    US_GALLON_L,
    VOLUME,
    MassKg,
    PureAlcoholL,
    Quantity,
    SpiritTemperatureC,
    VolumeL,
    checked,
    elementwise,
)

WEIGHT_IN_AIR = MASS.called("Weight by the scale, in air")
PROOF_GALLONS = Quantity("us_proof_gal", "US proof gallons", "proof gal", 0, 1_000_000, 3)

WeightInAirKg = Annotated[float, WEIGHT_IN_AIR]


@dataclass(frozen=True, slots=True)
class Contents:
    """A quantity of spirit, in every way it is reckoned."""

    volume_l: Annotated[float, VOLUME.called("Volume at the temperature given")]
    volume_at_20_c_l: Annotated[float, VOLUME.called("Volume at 20 °C")]
    pure_alcohol_l: PureAlcoholL
    us_proof_gal: Annotated[float, PROOF_GALLONS]
    mass_kg: MassKg
    weight_in_air_kg: WeightInAirKg


@elementwise
def weight_in_air(
    mass_kg: MassKg,
    density_kg_m3: Annotated[float, DENSITY],
    air_density_kg_m3: Annotated[float, AIR_DENSITY] = AIR_KG_M3,
    weights_density_kg_m3: Annotated[
        float, DENSITY.within(2000, 20_000).called("Density of the weights")
    ] = WEIGHTS_KG_M3,
) -> WeightInAirKg:
    """Return what a scale shows for a mass of liquid, the air carrying part of it.

    Parameters
    ----------
    mass_kg : float or numpy array of float
        Of the liquid.
    density_kg_m3 : float or numpy array of float
        Of the liquid, 700 to 1400 kg/m3.
    air_density_kg_m3 : float
        0.8 to 1.4 kg/m3; 1.2 unless known better.
    weights_density_kg_m3 : float
        Of the weights the scale was adjusted with, 2000 to 20,000 kg/m3.

    Returns
    -------
    float or numpy array of float
        In kilograms.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    W = m (1 - a / rho) / (1 - a / w), with a the density of the air and w that of the weights.

    References
    ----------
    OIML D 28 (2004), conventional value of weighing in air.

    Examples
    --------
    >>> round(weight_in_air(100.0, 948.05), 3)
    99.888
    """
    return (
        mass_kg
        * (1.0 - air_density_kg_m3 / density_kg_m3)
        / (1.0 - air_density_kg_m3 / weights_density_kg_m3)
    )


@checked
def contents_by_volume(
    volume_l: VolumeL,
    abv: Annotated[float, ABV.called("Strength at 20 °C")],
    temperature_c: SpiritTemperatureC = 20.0,
) -> Contents:
    """Return what a volume of spirit measured at a temperature holds.

    Parameters
    ----------
    volume_l : float
        Measured at the temperature given.
    abv : float
        Percent by volume at 20 C, 0 to 100.
    temperature_c : float
        Of the spirit, -20 to 40 C.

    Returns
    -------
    Contents
        Volume at 20 C, pure alcohol, US proof gallons, mass and weight in air.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    The mass is volume times density at the temperature; the volume at 20 C is that mass by the
    density at 20 C. Pure alcohol is the volume its ethanol would fill alone at 20 C. A proof
    gallon is a US gallon at 60 F of 50 % vol, or as much alcohol in another form.

    References
    ----------
    OIML R 22 (1975); OIML D 28 (2004); 27 CFR 30.11 (proof gallon).

    Examples
    --------
    >>> found = contents_by_volume(100.0, 40.0, 30.0)
    >>> round(found.volume_at_20_c_l, 2), round(found.pure_alcohol_l, 2)
    (99.28, 39.71)
    """
    return _contents(Mixture.of_volume(volume_l, abv, temperature_c), abv, temperature_c)


@checked
def contents_by_weight(
    weight_in_air_kg: WeightInAirKg,
    abv: Annotated[float, ABV.called("Strength at 20 °C")],
    temperature_c: SpiritTemperatureC = 20.0,
) -> Contents:
    """Return what a quantity of spirit holds from what the scale shows.

    Parameters
    ----------
    weight_in_air_kg : float
        What the scale shows for the spirit alone.
    abv : float
        Percent by volume at 20 C, 0 to 100.
    temperature_c : float
        At which the volume is also wanted, -20 to 40 C.

    Returns
    -------
    Contents
        Volume at that temperature and at 20 C, pure alcohol, US proof gallons, mass and weight.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    The mass is the weight freed of the air's lift, m = W (1 - 1.2 / 8000) / (1 - 1.2 / rho); the
    volume is that mass by the density.

    References
    ----------
    OIML R 22 (1975); OIML D 28 (2004); 27 CFR 30.11 (proof gallon).

    Examples
    --------
    >>> found = contents_by_weight(100.0, 63.5)
    >>> round(found.volume_at_20_c_l, 2), round(found.pure_alcohol_l, 2)
    (111.1, 70.55)
    """
    abw = abw_from_abv(abv)
    mass = weight_in_air_kg / weight_in_air(1.0, density(abw, 20.0))
    return _contents(Mixture.of_mass(mass, abw), abv, temperature_c)


def us_proof_gallons(mixture: Mixture) -> float:
    """Return a mixture's alcohol in US proof gallons."""
    return 2.0 * mixture.ethanol_kg * 1000.0 / density(1.0, SIXTY_F) / US_GALLON_L


def _contents(mixture: Mixture, abv: float, temperature_c: float) -> Contents:
    in_vacuo = density(abw_from_abv(abv), 20.0)
    return Contents(
        volume_l=1000.0 * mixture.mass_kg / density(abw_from_abv(abv), temperature_c),
        volume_at_20_c_l=1000.0 * mixture.mass_kg / in_vacuo,
        pure_alcohol_l=mixture.pure_alcohol_l,
        us_proof_gal=us_proof_gallons(mixture),
        mass_kg=mixture.mass_kg,
        weight_in_air_kg=weight_in_air(mixture.mass_kg, in_vacuo),
    )
