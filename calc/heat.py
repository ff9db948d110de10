"""Heat in a still: warming up, boiling off, and how fast the spout runs."""

from dataclasses import dataclass
from math import inf, log1p
from typing import Annotated, Any

import numpy as np

from calc.alcoholometry import (
    ETHANOL_G_MOL,
    WATER_G_MOL,
    abw_from_abv,
    density,
    mole_fraction_from_abv,
)
from calc.equilibrium import bubble_point, dew_point
from calc.errors import OutOfRangeError
from calc.materials import Material, vessel_kj_k
from calc.mixture import Mixture
from calc.pressure import STANDARD_HPA, ZERO_C
from calc.quantities import (
    MASS,
    TEMPERATURE,
    VOLUME,
    Abv,
    AbwFraction,
    DurationMin,
    EnergyKwh,
    HeatLossKw,
    PowerKw,
    PressureHpa,
    Quantity,
    TemperatureC,
    checked,
    elementwise,
)

GAS_J_MOL_K = 8.314462618  # CODATA 2018, exact
SECONDS_PER_HOUR = 3600.0

SPECIFIC_HEAT = Quantity("specific_heat_kj_kg_k", "Specific heat", "kJ/(kg K)", 0, 10, 2)
HEAT_LOSS_W_K = Quantity("heat_loss_w_k", "Heat lost to the room per kelvin", "W/K", 0, 10_000)
VESSEL_MASS = MASS.within(0, 20_000).called("Vessel, the mass that warms with it")
ROOM_TEMPERATURE = TEMPERATURE.within(-20, 60).called("Room temperature")
START_TEMPERATURE = TEMPERATURE.called("Temperature at the start")
END_TEMPERATURE = TEMPERATURE.called("Temperature wanted (boiling if left empty)")
HEATED_VOLUME = VOLUME.within(0.1, 100_000).called("Volume in the pot at 20 °C")
DISTILLATE_ABV = Quantity("abv", "Strength of the distillate", "% vol", 0, 97, 1)
REFLUX_RATIO = Quantity("reflux_ratio", "Reflux ratio, returned to drawn", "", 0, 1000)
VAPOUR_KG_H = Quantity("vapour_kg_h", "Vapour by mass", "kg/h", 0, inf, 2)
VAPOUR_M3_H = Quantity("vapour_m3_h", "Vapour by volume in the head", "m³/h", 0, inf, 2)
SPOUT_ML_MIN = Quantity("spout_ml_min", "Spout rate at 20 °C", "mL/min", 0, inf)

# kJ/kg at the normal boiling points; from the references of `raw_latent_kj_mol`.
ETHANOL_LATENT_KJ_KG = 846.0
WATER_LATENT_KJ_KG = 2257.0

# How much more a mixture holds than its parts, kJ/(kg K) at 41 C, against mass fraction.
_EXCESS_ABW = (0.0, 0.10, 0.25, 0.60, 0.80, 1.0)
_EXCESS_KJ_KG_K = (0.0, 0.25, 0.53, 0.43, 0.21, 0.0)


@dataclass(frozen=True, slots=True)
class HeatUp:
    """What it takes to warm a charge."""

    duration_min: DurationMin
    end_temperature_c: TemperatureC
    energy_kwh: EnergyKwh
    lost_kwh: Annotated[float, Quantity("lost_kwh", "Of it, lost to the room", "kWh", 0, inf, 2)]


@dataclass(frozen=True, slots=True)
class SpoutRate:
    """What a power boils off and what of it leaves the spout."""

    vapour_kg_h: Annotated[float, VAPOUR_KG_H]
    vapour_m3_h: Annotated[float, VAPOUR_M3_H]
    spout_ml_min: Annotated[float, SPOUT_ML_MIN]
    head_temperature_c: Annotated[float, TEMPERATURE.called("Head temperature")]


@elementwise
def specific_heat(
    abw_fraction: AbwFraction, temperature_c: Annotated[float, TEMPERATURE.within(0, 110)]
) -> Annotated[float, SPECIFIC_HEAT]:
    """Return how much heat liquid ethanol and water hold for each kelvin.

    Parameters
    ----------
    abw_fraction : float or numpy array of float
        Mass of ethanol in a mass of mixture, 0 to 1.
    temperature_c : float or numpy array of float
        0 to 110 C.

    Returns
    -------
    float or numpy array of float
        kJ/(kg K), within about 3 %.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    The parts by mass (water 4.19; ethanol 2.39 at 20 C, rising by 0.0091 for each kelvin) and
    what the mixture holds beyond them, up to 0.53 kJ/(kg K) at a quarter ethanol by mass,
    measured at 41 C and used at all temperatures. Without it a wash heats 4 % too soon.

    References
    ----------
    Perry's Chemical Engineers' Handbook, specific heats of aqueous solutions of ethyl alcohol
    (from memory); pure ethanol agrees with the `thermo` library within 2 % from 20 to 90 C.

    Examples
    --------
    >>> round(specific_heat(0.25, 41.0), 2)
    4.32
    """
    ethanol = 2.39 + 0.0091 * (temperature_c - 20.0)
    excess = np.interp(abw_fraction, _EXCESS_ABW, _EXCESS_KJ_KG_K)
    held: float = abw_fraction * ethanol + (1.0 - abw_fraction) * 4.19 + excess
    return held


def raw_latent_kj_mol(y: Any) -> Any:
    """Return the heat that boils a mole of vapour, or that it gives back, by mole fraction.

    Mole for mole ethanol and water take nearly the same (39.0 and 40.7 kJ), which is why liquid
    and vapour in a column flow at constant molar rates. Source: 846 and 2257 kJ/kg at the normal
    boiling points, CRC Handbook of Chemistry and Physics and IAPWS-IF97; heat of mixing left out.
    """
    ethanol = ETHANOL_LATENT_KJ_KG * ETHANOL_G_MOL / 1000.0
    return y * ethanol + (1.0 - y) * WATER_LATENT_KJ_KG * WATER_G_MOL / 1000.0


def raw_g_mol(x: Any) -> Any:
    """Return the mean molar mass at a mole fraction of ethanol."""
    return x * ETHANOL_G_MOL + (1.0 - x) * WATER_G_MOL


def raw_m3_mol(kelvin: Any, pressure_hpa: Any) -> Any:
    """Return the volume of a mole of vapour, as an ideal gas."""
    return GAS_J_MOL_K * kelvin / (pressure_hpa * 100.0)


def litres_per_mole(abv: float) -> float:
    """Return the volume at 20 C of a mole of ethanol and water."""
    litres: float = raw_g_mol(mole_fraction_from_abv(abv)) / density(abw_from_abv(abv), 20.0)
    return litres


@checked
def heat_up(
    volume_l: Annotated[float, HEATED_VOLUME],
    abv: Abv,
    power_kw: PowerKw,
    start_temperature_c: Annotated[float, START_TEMPERATURE] = 20.0,
    end_temperature_c: Annotated[float, END_TEMPERATURE] | None = None,
    pressure_hpa: PressureHpa = STANDARD_HPA,
    heat_loss_w_k: Annotated[float, HEAT_LOSS_W_K] = 0.0,
    room_temperature_c: Annotated[float, ROOM_TEMPERATURE] = 20.0,
    vessel_mass_kg: Annotated[float, VESSEL_MASS] = 0.0,
    vessel_material: Material = "stainless-steel",
) -> HeatUp:
    """Return how long a charge takes to warm up, losses counted.

    Parameters
    ----------
    volume_l : float
        0.1 to 100,000 L of charge, measured at 20 C.
    abv : float
        Its strength, % vol at 20 C.
    power_kw : float
        Heating power that reaches the pot, 0.05 to 2000 kW.
    start_temperature_c : float
        -20 to 110 C, below the end.
    end_temperature_c : float, optional
        The temperature wanted, no higher than boiling; boiling if left out.
    pressure_hpa : float
        600 to 1100 hPa, at which it boils.
    heat_loss_w_k : float
        Heat lost to the room for each kelvin the pot is warmer, 0 to 10,000 W/K: about 10 W/K for
        each square metre of bare wall, 1.5 with 3 cm of insulation.
    room_temperature_c : float
        -20 to 60 C.
    vessel_mass_kg : float
        What of the vessel warms with the charge, 0 to 20,000 kg.
    vessel_material : {"stainless-steel", "copper", "aluminium", "plastic", "wood"}
        What it is made of.

    Returns
    -------
    HeatUp
        Minutes, the temperature reached, the energy put in and what of it the room got.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the end is not above the start or is above boiling, or the
        power is less than what the pot loses at the end.

    Notes
    -----
    C dT/dt = P - UA (T - T_room), so t = C/UA ln((P - UA (T0 - T_room)) / (P - UA (T1 - T_room)));
    C from the specific heat of the mixture at the mean temperature and of the vessel.

    References
    ----------
    Energy balance; specific heats as `specific_heat`, of vessels as `calc.materials`; losses
    per square metre: common practice, no source.

    Examples
    --------
    >>> found = heat_up(25.0, 9.0, 2.0)
    >>> round(found.duration_min), round(found.end_temperature_c, 1)
    (64, 92.8)
    """
    boiling = bubble_point(mole_fraction_from_abv(abv), pressure_hpa)
    end = boiling if end_temperature_c is None else end_temperature_c
    _check_end(start_temperature_c, end, boiling)
    charge = Mixture.of_volume(volume_l, abv)
    middle = max(0.0, (start_temperature_c + end) / 2)
    held_kj_k = charge.mass_kg * specific_heat(charge.abw_fraction, middle)
    held_kj_k += vessel_kj_k(vessel_mass_kg, vessel_material)
    loss_kw_k = heat_loss_w_k / 1000.0
    at_start_kw = power_kw - loss_kw_k * (start_temperature_c - room_temperature_c)
    seconds = warming_s(held_kj_k, at_start_kw, loss_kw_k, end - start_temperature_c)
    if seconds == inf:
        raise OutOfRangeError(
            f"Heating power (power_kw) is {power_kw:g} kW; at the end the pot loses "
            f"{loss_kw_k * (end - room_temperature_c):.2f} kW, so it never gets there. Give more "
            "power or less loss.",
            quantity="power_kw",
        )
    energy = power_kw * seconds / SECONDS_PER_HOUR
    lost = energy - held_kj_k * (end - start_temperature_c) / SECONDS_PER_HOUR
    return HeatUp(seconds / 60.0, end, energy, max(0.0, lost))


def _check_end(start_c: float, end_c: float, boiling_c: float) -> None:
    if end_c > boiling_c:
        raise OutOfRangeError(
            f"Temperature wanted (end_temperature_c) is {end_c:g} °C; this charge boils at "
            f"{boiling_c:.1f} °C and gets no hotter until it loses alcohol.",
            quantity="end_temperature_c",
        )
    if end_c <= start_c:
        raise OutOfRangeError(
            f"Temperature at the start (start_temperature_c) is {start_c:g} °C; it must lie below "
            f"the end, {end_c:.1f} °C.",
            quantity="start_temperature_c",
        )


def warming_s(held_kj_k: float, power_kw: float, loss_kw_k: float, rise_k: float) -> float:
    """Return how long a rise takes; infinity where the losses grow to the power first.

    Parameters
    ----------
    held_kj_k : float
        What is warmed.
    power_kw : float
        Net of what is lost at the start.
    loss_kw_k : float
        Lost more, for each kelvin warmer.
    rise_k : float
        Wanted.

    Returns
    -------
    float
        Seconds: -C/UA ln(1 - UA rise / P), written so that a small loss costs no digits.
    """
    share = loss_kw_k * rise_k / power_kw if power_kw > 0.0 else 1.0
    if share >= 1.0:
        return inf
    lossless = held_kj_k * rise_k / power_kw
    return lossless * (-log1p(-share) / share if share else 1.0)


@checked
def spout_rate(
    power_kw: PowerKw,
    abv: Annotated[float, DISTILLATE_ABV],
    heat_loss_kw: HeatLossKw = 0.0,
    reflux_ratio: Annotated[float, REFLUX_RATIO] = 0.0,
    pressure_hpa: PressureHpa = STANDARD_HPA,
) -> SpoutRate:
    """Return how much vapour a power makes and how fast the spout runs.

    Parameters
    ----------
    power_kw : float
        Heating power that reaches the pot, 0.05 to 2000 kW.
    abv : float
        Strength of the distillate, 0 to 97 % vol.
    heat_loss_kw : float
        Power the pot and column lose to the room while boiling, below `power_kw`.
    reflux_ratio : float
        Liquid returned for each part drawn, 0 to 1000; 0 for a pot still.
    pressure_hpa : float
        600 to 1100 hPa.

    Returns
    -------
    SpoutRate
        Vapour in the head by mass and by volume, spout rate at 20 C, and the head's temperature.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the losses take all the power.

    Notes
    -----
    Moles of vapour = net power / latent heat of the vapour; of them 1 in (R + 1) is drawn. The
    vapour's volume is an ideal gas's at its dew point.

    References
    ----------
    Energy balance; latent heats 846 and 2257 kJ/kg: CRC Handbook of Chemistry and Physics and
    IAPWS R7-97(2012).

    Examples
    --------
    >>> [round(spout_rate(1.0, abv).spout_ml_min) for abv in (40.0, 60.0, 90.0)]
    [35, 43, 69]
    """
    y = mole_fraction_from_abv(abv)
    head_c = dew_point(y, pressure_hpa)
    moles_s = net_power(power_kw, heat_loss_kw) / raw_latent_kj_mol(y)
    return SpoutRate(
        vapour_kg_h=moles_s * raw_g_mol(y) / 1000.0 * SECONDS_PER_HOUR,
        vapour_m3_h=moles_s * raw_m3_mol(head_c + ZERO_C, pressure_hpa) * SECONDS_PER_HOUR,
        spout_ml_min=moles_s / (reflux_ratio + 1.0) * litres_per_mole(abv) * 60_000.0,
        head_temperature_c=head_c,
    )


def net_power(power_kw: float, heat_loss_kw: float) -> float:
    """Return the power that makes vapour.

    Raises
    ------
    OutOfRangeError
        If the losses take it all.
    """
    if heat_loss_kw >= power_kw:
        raise OutOfRangeError(
            f"Power lost to the room (heat_loss_kw) is {heat_loss_kw:g} kW; it must be less than "
            f"the heating power, {power_kw:g} kW, or nothing boils.",
            quantity="heat_loss_kw",
        )
    return power_kw - heat_loss_kw
