"""From one rest of a mash to the next, and what cold solids do to a hot liquid."""

from dataclasses import dataclass
from typing import Annotated

from calc.errors import OutOfRangeError
from calc.mash_heat import (
    GRAIN_TEMPERATURE,
    LIQUID_WATER,
    MASH_TEMPERATURE,
    WATER_KJ_KG_K,
    GrainMassKg,
    LiquorTemperatureC,
    LiquorVolumeL,
    MashTemperatureC,
    Mixed,
    MoisturePercent,
    RestTemperatureC,
    ThicknessLKg,
    VesselMassKg,
    grain_kj_k,
)
from calc.materials import Material, vessel_kj_k
from calc.quantities import BULK_MASS, BULK_VOLUME, Quantity, checked

HEAT = Quantity("heat_kwh", "Heat that does the same without water", "kWh", 0, 1_000_000, 2)
SOLIDS_HEAT = Quantity(
    "solids_heat_kj_kg_k", "Specific heat of the solids", "kJ/(kg K)", 0.5, 4.3, 2
)


@dataclass(frozen=True, slots=True)
class Step:
    """The water that takes a mash to another rest."""

    added_volume_l: Annotated[float, BULK_VOLUME.called("Water to add, measured cold")]
    liquor_volume_after_l: Annotated[float, BULK_VOLUME.called("Liquor in the mash then")]
    thickness_l_kg: ThicknessLKg
    heat_kwh: Annotated[float, HEAT]


@checked
def cold_solids(
    liquor_temperature_c: LiquorTemperatureC,
    liquor_volume_l: LiquorVolumeL,
    solids_mass_kg: Annotated[float, BULK_MASS.called("Solids stirred in")],
    solids_temperature_c: Annotated[float, GRAIN_TEMPERATURE.called("Temperature of the solids")],
    solids_heat_kj_kg_k: Annotated[float, SOLIDS_HEAT] = 1.7,
) -> Mixed:
    """Return what cold solids do to a hot liquid, by mixing alone.

    Parameters
    ----------
    liquor_temperature_c : float
        Of the liquid, 0 to 100 C.
    liquor_volume_l : float
        Of the liquid, measured cold; a mash counts as the liquor in it.
    solids_mass_kg : float
        Flakes, flour, fruit or anything else.
    solids_temperature_c : float
        -20 to 50 C; ice is not meant.
    solids_heat_kj_kg_k : float
        1.7 for dry grain, 3.7 for fruit, 3.5 for potatoes.

    Returns
    -------
    Mixed
        Degrees C once evenly mixed, and how many kelvin it has fallen.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    T = (m_w c_w T_w + m_s c_s T_s) / (m_w c_w + m_s c_s), without slaking, vessel or loss.

    References
    ----------
    Conservation of energy; heat of dry grain: Pauls & Whites, Brewing Room Book 1984/85, appendix
    4; of fruit and potatoes: from memory.

    Examples
    --------
    >>> round(cold_solids(75.0, 60.0, 15.0, 15.0).temperature_c, 1)
    69.5
    """
    liquor, solids = liquor_volume_l * WATER_KJ_KG_K, solids_mass_kg * solids_heat_kj_kg_k
    mixed = (liquor * liquor_temperature_c + solids * solids_temperature_c) / (liquor + solids)
    MASH_TEMPERATURE.called("Temperature of the mixture").check(mixed, "solids_temperature_c")
    return Mixed(temperature_c=mixed, fall_k=liquor_temperature_c - mixed)


@checked
def rest_step(
    mash_temperature_c: MashTemperatureC,
    target_temperature_c: RestTemperatureC,
    added_temperature_c: Annotated[float, LIQUID_WATER.called("Temperature of the added water")],
    grain_mass_kg: GrainMassKg,
    liquor_volume_l: LiquorVolumeL,
    moisture_percent: MoisturePercent = 4.0,
    vessel_mass_kg: VesselMassKg = 0.0,
    vessel_material: Material = "stainless-steel",
) -> Step:
    """Return the hot or cold water that takes a mash to its next rest.

    Parameters
    ----------
    mash_temperature_c : float
        Now, evenly stirred.
    target_temperature_c : float
        Of the next rest, above or below.
    added_temperature_c : float
        Of the water: hotter than the next rest to go up, colder to go down.
    grain_mass_kg : float
        In the mash.
    liquor_volume_l : float
        In the mash already, measured cold.
    moisture_percent : float
        Of the grain as it came.
    vessel_mass_kg : float
        What of the vessel warms or cools with the mash.
    vessel_material : str
        Of that vessel.

    Returns
    -------
    Step
        Litres to add, measured cold; litres in the mash then, and on a kilogram of grain; and
        the heat in kWh that would do the same without water (0 on the way down).

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or that water cannot take the mash there.

    Notes
    -----
    m_add c_w (T_add - T_next) = (m_w c_w + m_g c_g + m_v c_v)(T_next - T_now). The grain is
    already wet, so nothing slakes.

    References
    ----------
    Conservation of energy; grain's heat: Pauls & Whites, Brewing Room Book 1984/85, appendix 4.

    Examples
    --------
    >>> round(rest_step(52.0, 64.0, 98.0, 100.0, 268.0).added_volume_l, 1)
    108.7
    """
    rise = target_temperature_c - mash_temperature_c
    headroom = added_temperature_c - target_temperature_c
    _check_way(rise, headroom, added_temperature_c, target_temperature_c)
    capacity = (
        liquor_volume_l * WATER_KJ_KG_K
        + grain_kj_k(grain_mass_kg, moisture_percent)
        + vessel_kj_k(vessel_mass_kg, vessel_material)
    )
    added = capacity * rise / (headroom * WATER_KJ_KG_K) if rise else 0.0
    BULK_VOLUME.called("Water to add").check(added, "added_temperature_c")
    return Step(
        added_volume_l=added,
        liquor_volume_after_l=liquor_volume_l + added,
        thickness_l_kg=(liquor_volume_l + added) / grain_mass_kg,
        heat_kwh=max(capacity * rise, 0.0) / 3600.0,
    )


def _check_way(rise: float, headroom: float, added_c: float, target_c: float) -> None:
    if rise * headroom < 0 or (rise and not headroom):
        raise OutOfRangeError(
            f"Temperature of the added water (added_temperature_c) is {added_c:.4g} °C; to go "
            f"{'up' if rise > 0 else 'down'} to {target_c:.4g} °C it must be "
            f"{'hotter' if rise > 0 else 'colder'} than that.",
            quantity="added_temperature_c",
        )
