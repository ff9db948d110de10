"""The carbon dioxide of a ferment, and the fresh air that keeps its room safe."""

from dataclasses import dataclass
from typing import Annotated

from calc.ferment_heat import FASTEST_SHARE_PER_H
from calc.quantities import BULK_MASS, Quantity, checked
from calc.room_air import MOLAR_VOLUME_L, fresh_air_m3_h
from calc.sugars import CO2_G_MOL, CO2_PER_SUCROSE, SugarFermentedKg

GAS_FLOW = Quantity("flow_l_h", "Gas", "L/h", 0, 1e9, 0)
VENTILATION = Quantity("ventilation_m3_h", "Fresh air it needs", "m³/h", 0, 1e9)
# 5,000 ppm over 8 h; over a short time 15,000 (United Kingdom) or 30,000 (United States).
CO2_LIMIT = Quantity("limit_ppm", "Most carbon dioxide to allow", "ppm", 800, 30_000, 0)


@dataclass(frozen=True, slots=True)
class Gas:
    """The carbon dioxide of a ferment, and the air that carries it off."""

    co2_mass_kg: Annotated[float, BULK_MASS.called("Carbon dioxide")]
    co2_volume_l: Annotated[float, Quantity("co2_volume_l", "As gas at 20 °C", "L", 0, 1e9, 0)]
    peak_low_l_h: Annotated[float, GAS_FLOW.called("At its fastest, quiet")]
    peak_high_l_h: Annotated[float, GAS_FLOW.called("At its fastest, lively")]
    ventilation_m3_h: Annotated[float, VENTILATION]


@checked
def carbon_dioxide(
    sugar_mass_kg: SugarFermentedKg, limit_ppm: Annotated[float, CO2_LIMIT] = 5000.0
) -> Gas:
    """Return the carbon dioxide of a ferment and the fresh air that keeps a room safe.

    Parameters
    ----------
    sugar_mass_kg : float
        Sucrose, or the fermentable extract of a wort; all of it is counted, to be safe.
    limit_ppm : float
        Not to be passed in the room: 5,000 over 8 h, 800 to 30,000.

    Returns
    -------
    Gas
        Kilograms, litres at 20 C and 1013.25 hPa, litres an hour at its fastest for a quiet and
        a lively ferment, and cubic metres of fresh air an hour.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Sucrose gives 0.5143 kg of gas a kilogram, 281 L. At its fastest 1/24 (quiet) to 1/16
    (lively) of it comes in an hour. Air = flow (1 - limit) / (limit - 420 ppm outdoors), for
    a well mixed room; the gas is heavier than air and gathers low down before it mixes.

    References
    ----------
    Gay-Lussac's equation (1815) with IUPAC standard atomic weights (2021); limits: 5,000 ppm 8 h
    (exposure limits of many countries). Pace: common practice, no source.

    Examples
    --------
    >>> round(carbon_dioxide(1.0).co2_volume_l)
    281
    """
    mass = CO2_PER_SUCROSE * sugar_mass_kg
    volume = mass * 1000.0 / CO2_G_MOL * MOLAR_VOLUME_L
    fastest = volume * FASTEST_SHARE_PER_H["lively"]
    return Gas(
        co2_mass_kg=mass,
        co2_volume_l=volume,
        peak_low_l_h=volume * FASTEST_SHARE_PER_H["quiet"],
        peak_high_l_h=fastest,
        ventilation_m3_h=fresh_air_m3_h(fastest, limit_ppm),
    )
