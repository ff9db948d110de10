"""Condensers: the heat they carry off, the water they take, and a tank that goes round."""

from dataclasses import dataclass
from math import inf
from typing import Annotated

import numpy as np

from calc.alcoholometry import abw_from_abv, mole_fraction_from_abv
from calc.equilibrium import dew_point
from calc.errors import OutOfRangeError
from calc.heat import (
    DISTILLATE_ABV,
    HEAT_LOSS_W_K,
    REFLUX_RATIO,
    ROOM_TEMPERATURE,
    SECONDS_PER_HOUR,
    net_power,
    raw_g_mol,
    raw_latent_kj_mol,
    specific_heat,
    warming_s,
)
from calc.pressure import STANDARD_HPA
from calc.quantities import (
    DURATION_H,
    POWER,
    TEMPERATURE,
    VOLUME,
    FloatArray,
    HeatLossKw,
    PowerKw,
    PressureHpa,
    Quantity,
    checked,
    elementwise,
)

# kJ for a litre of water and a kelvin: 998.2 kg/m3 at 20 C and 4.184 kJ/(kg K); within 1.5 % from
# 5 to 60 C. Source: IAPWS-IF97.
WATER_KJ_L_K = 4.177

COOLANT_IN = TEMPERATURE.within(0, 60).called("Coolant going in")
PRODUCT_OUT = Quantity(
    "product_coolant_out_c", "Coolant leaving the product condenser", "°C", 1, 95
)
REFLUX_OUT = Quantity("reflux_coolant_out_c", "Coolant leaving the reflux condenser", "°C", 1, 95)
SPOUT_TEMPERATURE = TEMPERATURE.within(0, 60).called("Spirit at the spout")
MARGIN = Quantity("margin", "Margin, wanted flow to flow just enough", "", 1, 5, 2)
DUTY = POWER.within(0.01, 2000).called("Heat carried off")
RISE = Quantity("coolant_rise_k", "Coolant gets warmer by", "K", 0.5, 90)
FLOW = Quantity("flow_l_min", "Coolant flow", "L/min", 0, inf, 2)
TANK_VOLUME = VOLUME.within(1, 1_000_000).called("Water in the tank")
TANK_LIMIT = TEMPERATURE.within(1, 95).called("Warmest the tank may get")
_NEVER = "It never gets that warm: at this heat and loss it settles below the limit."
WARMING = Quantity("warming_k_h", "Tank warms, at the start", "K/h", -inf, inf, 2)
SETTLES = Quantity("settles_at_c", "Temperature it would settle at", "°C", -20, 100).if_absent(
    "it would boil"
)


@dataclass(frozen=True, slots=True)
class Condensers:
    """Heat and water of a product condenser and of a reflux condenser; 0 where there is none."""

    product_duty_kw: Annotated[float, POWER.called("Heat to the product condenser")]
    product_flow_l_min: Annotated[float, FLOW.called("Coolant for the product condenser")]
    reflux_duty_kw: Annotated[float, POWER.called("Heat to the reflux condenser")]
    reflux_flow_l_min: Annotated[float, FLOW.called("Coolant for the reflux condenser")]


@dataclass(frozen=True, slots=True)
class TankWarming:
    """How a tank of recirculated water warms; None for what is never reached."""

    warming_k_h: Annotated[float, WARMING]
    duration_h: Annotated[float, DURATION_H.if_absent("never")] | None
    settles_at_c: Annotated[float, SETTLES] | None
    why: str | None


@elementwise
def coolant_flow(
    duty_kw: Annotated[float, DUTY], coolant_rise_k: Annotated[float, RISE]
) -> Annotated[float, FLOW]:
    """Return the flow of cooling water that carries off a heat.

    Parameters
    ----------
    duty_kw : float or numpy array of float
        0.01 to 2000 kW.
    coolant_rise_k : float or numpy array of float
        How much warmer the water may come out, 0.5 to 90 K.

    Returns
    -------
    float or numpy array of float
        L/min, with nothing to spare.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Flow = duty / (density x specific heat x rise): 14.4 L/min for each kW and kelvin.

    References
    ----------
    Energy balance; IAPWS R7-97(2012) for water at 20 C.

    Examples
    --------
    >>> round(coolant_flow(2.0, 30.0), 2)
    0.96
    """
    return 60.0 * duty_kw / (WATER_KJ_L_K * coolant_rise_k)


@checked
def condensers(
    power_kw: PowerKw,
    abv: Annotated[float, DISTILLATE_ABV],
    coolant_in_c: Annotated[float, COOLANT_IN],
    product_coolant_out_c: Annotated[float, PRODUCT_OUT],
    reflux_ratio: Annotated[float, REFLUX_RATIO] = 0.0,
    reflux_coolant_out_c: Annotated[float, REFLUX_OUT] | None = None,
    heat_loss_kw: HeatLossKw = 0.0,
    spout_temperature_c: Annotated[float, SPOUT_TEMPERATURE] = 20.0,
    margin: Annotated[float, MARGIN] = 1.5,
    pressure_hpa: PressureHpa = STANDARD_HPA,
) -> Condensers:
    """Return the heat and the water of the product condenser and of the reflux condenser.

    Parameters
    ----------
    power_kw : float
        Heating power that reaches the pot, 0.05 to 2000 kW.
    abv : float
        Strength of the distillate, 0 to 97 % vol.
    coolant_in_c : float
        Water going in, 0 to 60 C.
    product_coolant_out_c : float
        Water leaving the product condenser, 1 to 95 C; warmer than it went in.
    reflux_ratio : float
        Liquid returned for each part drawn, 0 to 1000; 0 for no reflux condenser.
    reflux_coolant_out_c : float, optional
        Water leaving the reflux condenser; as the product condenser's if left out.
    heat_loss_kw : float
        Power lost to the room before the condensers, below `power_kw`.
    spout_temperature_c : float
        Spirit leaving the spout, 0 to 60 C; no cooler than the water going in.
    margin : float
        How much more water than just enough, 1 to 5.
    pressure_hpa : float
        600 to 1100 hPa.

    Returns
    -------
    Condensers
        Heat in kW without the margin, water in L/min with it, each condenser by itself.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, a condenser's water would come out no warmer than it went
        in, the spirit is to be cooler than the water, or water is to leave hotter than the vapour.

    Notes
    -----
    Of the vapour R parts in (R + 1) are condensed and returned at their boiling point, one part is
    condensed and cooled down to the spout. Water as in `coolant_flow`, times the margin.

    References
    ----------
    Energy balance; latent heats 846 and 2257 kJ/kg: CRC Handbook of Chemistry and Physics and
    IAPWS R7-97(2012). Margin 1.5: common practice, no source.

    Examples
    --------
    >>> found = condensers(2.0, 90.0, 15.0, 45.0, reflux_ratio=3.0)
    >>> round(found.product_duty_kw, 2), round(found.reflux_duty_kw, 2)
    (0.59, 1.5)
    """
    reflux_out = product_coolant_out_c if reflux_coolant_out_c is None else reflux_coolant_out_c
    y = mole_fraction_from_abv(abv)
    head = dew_point(y, pressure_hpa)
    outlets = {"product_coolant_out_c": product_coolant_out_c, "reflux_coolant_out_c": reflux_out}
    _check_temperatures(coolant_in_c, outlets, spout_temperature_c, head)
    net = net_power(power_kw, heat_loss_kw)
    drawn = 1.0 / (reflux_ratio + 1.0)
    kg_s = net / raw_latent_kj_mol(y) * drawn * raw_g_mol(y) / 1000.0
    held = specific_heat(abw_from_abv(abv), (head + spout_temperature_c) / 2.0)
    product = net * drawn + kg_s * held * (head - spout_temperature_c)
    reflux = net * (1.0 - drawn)
    return Condensers(
        product_duty_kw=product,
        product_flow_l_min=_flow(product, product_coolant_out_c - coolant_in_c) * margin,
        reflux_duty_kw=reflux,
        reflux_flow_l_min=_flow(reflux, reflux_out - coolant_in_c) * margin,
    )


def _flow(duty_kw: float, rise_k: float) -> float:
    """Return `coolant_flow` for any duty, none included."""
    return 60.0 * duty_kw / (WATER_KJ_L_K * rise_k)


def _check_temperatures(
    inlet_c: float, outlets: dict[str, float], spout_c: float, head_c: float
) -> None:
    for name, outlet_c in outlets.items():
        if not inlet_c + RISE.low <= outlet_c <= head_c:
            raise OutOfRangeError(
                f"Coolant leaving ({name}) is {outlet_c:g} °C; it must lie between "
                f"{inlet_c + RISE.low:g} °C, just above what goes in, and the vapour's "
                f"{head_c:.1f} °C.",
                quantity=name,
            )
    if spout_c < inlet_c:
        raise OutOfRangeError(
            f"Spirit at the spout (spout_temperature_c) is {spout_c:g} °C; it cannot be cooler "
            f"than the coolant going in, {inlet_c:g} °C.",
            quantity="spout_temperature_c",
        )


@checked
def tank_warming(
    tank_volume_l: Annotated[float, TANK_VOLUME],
    duty_kw: Annotated[float, DUTY],
    start_temperature_c: Annotated[float, COOLANT_IN.called("Tank at the start")] = 15.0,
    limit_temperature_c: Annotated[float, TANK_LIMIT] = 40.0,
    heat_loss_w_k: Annotated[float, HEAT_LOSS_W_K] = 0.0,
    room_temperature_c: Annotated[float, ROOM_TEMPERATURE] = 20.0,
) -> TankWarming:
    """Return how fast a tank of recirculated cooling water warms, and how long it will do.

    Parameters
    ----------
    tank_volume_l : float
        Water going round, 1 to 1,000,000 L.
    duty_kw : float
        Heat the condensers put into it, 0.01 to 2000 kW.
    start_temperature_c : float
        0 to 60 C.
    limit_temperature_c : float
        Warmest it may get, 1 to 95 C, above the start.
    heat_loss_w_k : float
        Heat the tank loses for each kelvin it is warmer than the room, 0 to 10,000 W/K: about
        10 W/K for each square metre, more through a cooler with a fan.
    room_temperature_c : float
        -20 to 60 C.

    Returns
    -------
    TankWarming
        Kelvin an hour at the start; hours until the limit, None with a reason if it settles below;
        the temperature it settles at, None if it would boil.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the limit is not above the start.

    Notes
    -----
    C dT/dt = duty - UA (T - T_room), well mixed.

    References
    ----------
    Energy balance; IAPWS R7-97(2012) for water at 20 C. Loss per square metre: common practice,
    no source.

    Examples
    --------
    >>> round(tank_warming(200.0, 2.0).warming_k_h, 1)
    8.6
    """
    if limit_temperature_c <= start_temperature_c:
        raise OutOfRangeError(
            f"Warmest the tank may get (limit_temperature_c) is {limit_temperature_c:g} °C; it "
            f"must lie above the start, {start_temperature_c:g} °C.",
            quantity="limit_temperature_c",
        )
    held_kj_k = tank_volume_l * WATER_KJ_L_K
    loss_kw_k = heat_loss_w_k / 1000.0
    net = duty_kw - loss_kw_k * (start_temperature_c - room_temperature_c)
    seconds = warming_s(held_kj_k, net, loss_kw_k, limit_temperature_c - start_temperature_c)
    boils = (SETTLES.high - room_temperature_c) * loss_kw_k <= duty_kw
    return TankWarming(
        warming_k_h=net / held_kj_k * SECONDS_PER_HOUR,
        duration_h=None if seconds == inf else seconds / SECONDS_PER_HOUR,
        settles_at_c=None if boils else room_temperature_c + duty_kw / loss_kw_k,
        why=_NEVER if seconds == inf else None,
    )


def tank_warming_line(
    tank_volume_l: float,
    duty_kw: float,
    start_temperature_c: float = 15.0,
    limit_temperature_c: float = 40.0,
    heat_loss_w_k: float = 0.0,
    room_temperature_c: float = 20.0,
) -> dict[str, FloatArray]:
    """Return the tank's temperature hour by hour, up to the limit or until it has settled."""
    found = tank_warming(
        tank_volume_l,
        duty_kw,
        start_temperature_c,
        limit_temperature_c,
        heat_loss_w_k,
        room_temperature_c,
    )
    rate = heat_loss_w_k / 1000.0 / (tank_volume_l * WATER_KJ_L_K) * SECONDS_PER_HOUR
    end = 5.0 / rate if found.duration_h is None else found.duration_h
    hours = np.linspace(0.0, end, 101)
    slowed = -np.expm1(-rate * hours) / rate if rate else hours
    return {"duration_h": hours, "temperature_c": start_temperature_c + found.warming_k_h * slowed}
