"""The liquor for a mash, the temperature the mash comes to, and what it loses on the way."""

from dataclasses import dataclass
from typing import Annotated

from calc.errors import OutOfRangeError
from calc.mash_heat import (
    LIQUID_WATER,
    LOSS,
    MASH_TEMPERATURE,
    WATER_KJ_KG_K,
    GrainMassKg,
    GrainTemperatureC,
    LiquorTemperatureC,
    LiquorVolumeL,
    LossK,
    MashTemperatureC,
    Mixed,
    MoisturePercent,
    RestTemperatureC,
    ThicknessLKg,
    VesselMassKg,
    VesselTemperatureC,
    grain_kj_k,
    slaking_kj,
)
from calc.materials import Material, vessel_kj_k
from calc.quantities import checked


@dataclass(frozen=True, slots=True)
class Liquor:
    """The liquor that brings a mash to its rest."""

    liquor_temperature_c: LiquorTemperatureC
    thickness_l_kg: ThicknessLKg


@dataclass(frozen=True, slots=True)
class Loss:
    """What a measured mash lost beyond what the heat balance expects."""

    loss_k: LossK
    expected_temperature_c: Annotated[float, MASH_TEMPERATURE.called("Without a loss it would be")]


@checked
def liquor_temperature(
    target_temperature_c: RestTemperatureC,
    grain_mass_kg: GrainMassKg,
    liquor_volume_l: LiquorVolumeL,
    grain_temperature_c: GrainTemperatureC = 20.0,
    moisture_percent: MoisturePercent = 4.0,
    vessel_mass_kg: VesselMassKg = 0.0,
    vessel_material: Material = "stainless-steel",
    vessel_temperature_c: VesselTemperatureC = 20.0,
    loss_k: LossK = 0.0,
) -> Liquor:
    """Return how hot the liquor must be for a mash to come to its rest.

    Parameters
    ----------
    target_temperature_c : float
        Of the rest, 20 to 99 C.
    grain_mass_kg : float
        All the grain that is stirred in.
    liquor_volume_l : float
        Measured cold.
    grain_temperature_c : float
        -20 to 50 C.
    moisture_percent : float
        Malt 3 to 5, raw grain 11 to 14; 0 to 20.
    vessel_mass_kg : float
        What of the vessel warms with the mash; 0 for one that was preheated.
    vessel_material : str
        Of that vessel.
    vessel_temperature_c : float
        Before the liquor comes in.
    loss_k : float
        Learned from a measured mash in the same vessel, -3 to 15 K.

    Returns
    -------
    Liquor
        Degrees C, and litres of liquor on a kilogram of grain.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the liquor would have to be ice or beyond boiling.

    Notes
    -----
    m_w c_w (T - T_mash) = m_g c_g (T_mash - T_g) + m_v c_v (T_mash - T_v) - m_g h, with T_mash
    the rest plus the loss; c_g = (0.38 + 0.005 x moisture) c_w, and h the heat of slaking, 38
    kJ/kg for dry malt to nothing at 14.7 % moisture.

    References
    ----------
    Pauls & Whites, Brewing Room Book 1984/85, appendix 4 (grain's heat, slaking); specific heat
    of vessels: from memory.

    Examples
    --------
    >>> round(liquor_temperature(66.0, 100.0, 268.0, 27.0, 2.0).liquor_temperature_c, 1)
    69.0
    """
    mash = target_temperature_c + loss_k
    vessel = vessel_kj_k(vessel_mass_kg, vessel_material)
    need = (
        grain_kj_k(grain_mass_kg, moisture_percent) * (mash - grain_temperature_c)
        + vessel * (mash - vessel_temperature_c)
        - slaking_kj(grain_mass_kg, moisture_percent)
    )
    liquor = mash + need / (liquor_volume_l * WATER_KJ_KG_K)
    _check_liquor(liquor, need, mash)
    return Liquor(liquor_temperature_c=liquor, thickness_l_kg=liquor_volume_l / grain_mass_kg)


@checked
def mash_in(
    liquor_temperature_c: LiquorTemperatureC,
    grain_mass_kg: GrainMassKg,
    liquor_volume_l: LiquorVolumeL,
    grain_temperature_c: GrainTemperatureC = 20.0,
    moisture_percent: MoisturePercent = 4.0,
    vessel_mass_kg: VesselMassKg = 0.0,
    vessel_material: Material = "stainless-steel",
    vessel_temperature_c: VesselTemperatureC = 20.0,
    loss_k: LossK = 0.0,
) -> Mixed:
    """Return the temperature a mash comes to when grain is stirred into hot liquor.

    Parameters
    ----------
    liquor_temperature_c : float
        0 to 100 C.
    grain_mass_kg : float
        All the grain that is stirred in.
    liquor_volume_l : float
        Measured cold.
    grain_temperature_c : float
        -20 to 50 C.
    moisture_percent : float
        Malt 3 to 5, raw grain 11 to 14; 0 to 20.
    vessel_mass_kg : float
        What of the vessel warms with the mash; 0 for one that was preheated.
    vessel_material : str
        Of that vessel.
    vessel_temperature_c : float
        Before the liquor comes in.
    loss_k : float
        Learned from a measured mash in the same vessel, -3 to 15 K.

    Returns
    -------
    Mixed
        Degrees C of the mash, and kelvin it lies below the liquor.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the mash would freeze or boil.

    Notes
    -----
    T_mash = (m_w c_w T_w + m_g c_g T_g + m_v c_v T_v + m_g h) / (m_w c_w + m_g c_g + m_v c_v) -
    loss; c_g = (0.38 + 0.005 x moisture) c_w, and h the heat of slaking.

    References
    ----------
    Pauls & Whites, Brewing Room Book 1984/85, appendix 4 (grain's heat, slaking); specific heat
    of vessels: from memory.

    Examples
    --------
    >>> round(mash_in(69.0, 100.0, 268.0, 27.0, 2.0).temperature_c, 1)
    66.0
    """
    grain = grain_kj_k(grain_mass_kg, moisture_percent)
    vessel = vessel_kj_k(vessel_mass_kg, vessel_material)
    liquor = liquor_volume_l * WATER_KJ_KG_K
    heat = (
        liquor * liquor_temperature_c
        + grain * grain_temperature_c
        + vessel * vessel_temperature_c
        + slaking_kj(grain_mass_kg, moisture_percent)
    )
    mash = heat / (liquor + grain + vessel) - loss_k
    MASH_TEMPERATURE.called("Temperature of the mash that follows").check(
        mash, "liquor_temperature_c"
    )
    return Mixed(temperature_c=mash, fall_k=liquor_temperature_c - mash)


@checked
def mash_loss(
    measured_temperature_c: MashTemperatureC,
    liquor_temperature_c: LiquorTemperatureC,
    grain_mass_kg: GrainMassKg,
    liquor_volume_l: LiquorVolumeL,
    grain_temperature_c: GrainTemperatureC = 20.0,
    moisture_percent: MoisturePercent = 4.0,
    vessel_mass_kg: VesselMassKg = 0.0,
    vessel_material: Material = "stainless-steel",
    vessel_temperature_c: VesselTemperatureC = 20.0,
) -> Loss:
    """Return what a mash lost to vessel and time, learned from one that was measured.

    Parameters
    ----------
    measured_temperature_c : float
        Of the mash once it is evenly stirred.
    liquor_temperature_c : float
        Just before the grain went in.
    grain_mass_kg : float
        All the grain that was stirred in.
    liquor_volume_l : float
        Measured cold.
    grain_temperature_c : float
        -20 to 50 C.
    moisture_percent : float
        Malt 3 to 5, raw grain 11 to 14; 0 to 20.
    vessel_mass_kg : float
        The same as will be given for the next mash.
    vessel_material : str
        Of that vessel.
    vessel_temperature_c : float
        Before the liquor came in.

    Returns
    -------
    Loss
        Kelvin to give as `loss_k` next time, and what the mash would have been without it.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the loss is not between -3 and 15 K.

    Notes
    -----
    The heat balance of the mash without a loss, less what was measured. It holds for mashes of
    about the same size and heat in the same vessel.

    References
    ----------
    Pauls & Whites, Brewing Room Book 1984/85, appendix 4 (grain's heat, slaking).

    Examples
    --------
    >>> round(mash_loss(60.0, 69.0, 100.0, 268.0, 27.0, 2.0).loss_k, 1)
    6.0
    """
    expected = mash_in(
        liquor_temperature_c,
        grain_mass_kg,
        liquor_volume_l,
        grain_temperature_c,
        moisture_percent,
        vessel_mass_kg,
        vessel_material,
        vessel_temperature_c,
    ).temperature_c
    loss = expected - measured_temperature_c
    LOSS.called("Loss that follows").check(loss, "measured_temperature_c")
    return Loss(loss_k=loss, expected_temperature_c=expected)


def _check_liquor(liquor_c: float, need_kj: float, mash_c: float) -> None:
    if liquor_c > LIQUID_WATER.high:
        enough = need_kj / WATER_KJ_KG_K / max(LIQUID_WATER.high - mash_c, 0.1)
        raise OutOfRangeError(
            f"The liquor (liquor_volume_l) would have to be {liquor_c:.0f} °C, beyond boiling; "
            f"take at least {enough:.4g} L, or warm grain and vessel first.",
            quantity="liquor_volume_l",
        )
    if liquor_c < LIQUID_WATER.low:
        raise OutOfRangeError(
            f"The liquor (liquor_volume_l) would have to be {liquor_c:.0f} °C, below freezing; "
            "grain or vessel are too hot for that rest: let them cool.",
            quantity="liquor_volume_l",
        )
