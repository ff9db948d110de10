"""The heat of a ferment, how warm it makes its vessel, and how warm it may start."""

from dataclasses import dataclass
from typing import Annotated

from calc.errors import OutOfRangeError
from calc.ferment_heat import (
    FASTEST_SHARE_PER_H,
    HEAT_KJ_KG_SUGAR,
    Pace,
    Vessel,
    Wall,
    hours,
    rise_above_room,
    vessel_of,
)
from calc.quantities import PERCENT, TEMPERATURE, FloatArray, Quantity, checked
from calc.solve import root
from calc.sugar_wash import WashVolumeL, check_wash_strength
from calc.sugars import LITRES_PER_SUCROSE, SugarFermentedKg
from calc.yeast import YEAST_MAXIMUM_C, Yeast

# Stay so far below what the yeast stands.
MARGIN_K = 2.0
COLDEST_START_C = 10.0

FERMENTED_SHARE = PERCENT.called("Share of it that ferments")
START_TEMPERATURE = TEMPERATURE.within(5, 45).called("Temperature at pitching")
ROOM_TEMPERATURE = TEMPERATURE.within(-10, 45).called("Temperature of the room")
HEAT_LOSS = Quantity("heat_loss_w_k", "Heat loss, if measured", "W/K", 0.1, 5000)
HEAT = Quantity("heat_mj", "Heat, all together", "MJ", 0, 1e9, 2)
RISE = Quantity("rise_k", "Rise", "K", 0, 100)
POWER = Quantity("power_w", "Power", "W", 0, 1e9, 0)
TIME = Quantity("time_h", "Time from pitching", "h", 0, 1000)
TIME_CONSTANT = Quantity("time_constant_h", "Time constant of the vessel", "h", 0, 1e5)
PEAK = TEMPERATURE.within(-20, 400)

FermentedPercent = Annotated[float, FERMENTED_SHARE]
StartTemperatureC = Annotated[float, START_TEMPERATURE]
RoomTemperatureC = Annotated[float, ROOM_TEMPERATURE]
HeatLossWK = Annotated[float, HEAT_LOSS]


@dataclass(frozen=True, slots=True)
class FermentHeat:
    """The heat of a ferment, and how warm it makes its vessel."""

    heat_mj: Annotated[float, HEAT]
    adiabatic_rise_k: Annotated[float, RISE.called("Rise if none were lost")]
    peak_power_low_w: Annotated[float, POWER.called("Power at its fastest, quiet")]
    peak_power_high_w: Annotated[float, POWER.called("Power at its fastest, lively")]
    rise_low_k: Annotated[float, RISE.called("Rise above the start, quiet")]
    rise_high_k: Annotated[float, RISE.called("Rise above the start, lively")]
    peak_temperature_c: Annotated[float, PEAK.called("Highest temperature, lively")]
    peak_after_h: Annotated[float, TIME.called("Highest after, lively")]
    time_constant_h: Annotated[float, TIME_CONSTANT]


@dataclass(frozen=True, slots=True)
class Start:
    """How warm a ferment may start."""

    start_temperature_c: Annotated[float, START_TEMPERATURE.called("Start no warmer than")]
    highest_temperature_c: Annotated[float, TEMPERATURE.called("It then comes to")]
    peak_after_h: Annotated[float, TIME.called("Highest after")]


@checked
def fermentation_heat(
    sugar_mass_kg: SugarFermentedKg,
    volume_l: WashVolumeL,
    fermented_percent: FermentedPercent = 95.0,
    start_temperature_c: StartTemperatureC = 25.0,
    room_temperature_c: RoomTemperatureC = 22.0,
    wall: Wall = "bare",
    heat_loss_w_k: HeatLossWK | None = None,
) -> FermentHeat:
    """Return the heat of a ferment and how far it warms the vessel.

    Parameters
    ----------
    sugar_mass_kg : float
        Sucrose, or the fermentable extract of a wort.
    volume_l : float
        Of the wash.
    fermented_percent : float
        Of that sugar, 0 to 100.
    start_temperature_c : float
        Of the wash at pitching, 5 to 45 C.
    room_temperature_c : float
        Taken as steady, -10 to 45 C.
    wall : {"bare", "insulated"}
        Bare plastic or steel, or wrapped; one vessel, as wide as high, in still air.
    heat_loss_w_k : float, optional
        Where it is known better: what the vessel loses for each kelvin above the room.

    Returns
    -------
    FermentHeat
        Heat, rise if none were lost, peak power, rise above the start for a quiet and a lively
        ferment, highest temperature and when, time constant.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the wash would be stronger than any yeast stands.

    Notes
    -----
    561 kJ/kg of hexose (590 kJ/kg of sucrose); 4.18 kJ/K for a litre of wash; C dT/dt = P - UA
    (T - T_room). At its fastest a ferment turns over 1/24 (quiet) to 1/16 (lively) of its sugar
    in an hour. Escaping gas takes some 5 % of the heat with it, which is left out.

    References
    ----------
    Heat: formation enthalpies and wine literature, 557 to 565 kJ/kg hexose (100 kJ/mol). Course
    and heat loss: common practice, no source.

    Examples
    --------
    >>> heat = fermentation_heat(15.0, 80.0)
    >>> round(heat.adiabatic_rise_k), round(heat.rise_low_k, 1), round(heat.rise_high_k, 1)
    (25, 4.5, 6.9)
    """
    heat = _heat_kj(sugar_mass_kg, fermented_percent, volume_l)
    vessel = vessel_of(volume_l, wall, heat_loss_w_k)
    above = start_temperature_c - room_temperature_c
    quiet, _ = _peak(heat, vessel, "quiet", above)
    lively, after = _peak(heat, vessel, "lively", above)
    return FermentHeat(
        heat_mj=heat / 1000.0,
        adiabatic_rise_k=heat / vessel.capacity_kj_k,
        peak_power_low_w=heat / 3.6 * FASTEST_SHARE_PER_H["quiet"],
        peak_power_high_w=heat / 3.6 * FASTEST_SHARE_PER_H["lively"],
        rise_low_k=quiet - above,
        rise_high_k=lively - above,
        peak_temperature_c=room_temperature_c + lively,
        peak_after_h=after,
        time_constant_h=vessel.time_constant_h,
    )


def fermentation_curve(
    sugar_mass_kg: float,
    volume_l: float,
    fermented_percent: float = 95.0,
    start_temperature_c: float = 25.0,
    room_temperature_c: float = 22.0,
    wall: Wall = "bare",
    heat_loss_w_k: float | None = None,
) -> dict[str, FloatArray]:
    """Return the temperature of a ferment over a week, lively and quiet."""
    heat = _heat_kj(sugar_mass_kg, fermented_percent, volume_l)
    vessel = vessel_of(volume_l, wall, heat_loss_w_k)
    above = start_temperature_c - room_temperature_c
    return {
        "time_h": hours(),
        "lively_c": room_temperature_c + rise_above_room(heat, vessel, "lively", above),
        "quiet_c": room_temperature_c + rise_above_room(heat, vessel, "quiet", above),
    }


@checked
def safe_start(
    sugar_mass_kg: SugarFermentedKg,
    volume_l: WashVolumeL,
    room_temperature_c: RoomTemperatureC = 22.0,
    yeast: Yeast = "ordinary",
    fermented_percent: FermentedPercent = 95.0,
    wall: Wall = "bare",
    heat_loss_w_k: HeatLossWK | None = None,
) -> Start:
    """Return how warm a ferment may be pitched so that it does not grow too hot for its yeast.

    Parameters
    ----------
    sugar_mass_kg : float
        Sucrose, or the fermentable extract of a wort.
    volume_l : float
        Of the wash.
    room_temperature_c : float
        Taken as steady, -10 to 45 C; the warmest of the coming days.
    yeast : {"ordinary", "spirit", "heat-tolerant"}
        Stands up to 35, 38 or 42 C.
    fermented_percent : float
        Of that sugar, 0 to 100.
    wall : {"bare", "insulated"}
        Bare plastic or steel, or wrapped.
    heat_loss_w_k : float, optional
        Where it is known better.

    Returns
    -------
    Start
        The warmest safe temperature at pitching, the highest it then comes to, and after how
        many hours.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the wash would be stronger than any yeast stands, or no
        start from 10 C up keeps it cool enough.

    Notes
    -----
    The start at which a lively ferment comes to 2 K below the yeast's maximum at its warmest.

    References
    ----------
    Yeast's maxima, course and heat loss: common practice, no source. Heat: 557 to 565 kJ/kg
    hexose (formation enthalpies, wine literature).

    Examples
    --------
    >>> round(safe_start(15.0, 80.0).start_temperature_c, 1)
    28.2
    """
    heat = _heat_kj(sugar_mass_kg, fermented_percent, volume_l)
    vessel = vessel_of(volume_l, wall, heat_loss_w_k)
    highest = YEAST_MAXIMUM_C[yeast] - MARGIN_K

    def excess(start_c: float) -> float:
        warmest, _ = _peak(heat, vessel, "lively", start_c - room_temperature_c)
        return room_temperature_c + warmest - highest

    coldest = excess(COLDEST_START_C)
    if coldest > 0:
        raise OutOfRangeError(
            f"Fermentable sugar (sugar_mass_kg) {sugar_mass_kg:.4g} kg in {volume_l:.4g} L comes "
            f"to {coldest + highest:.0f} °C even from {COLDEST_START_C:g} °C; cool it, split it "
            "or ferment it in a colder room.",
            quantity="sugar_mass_kg",
        )
    start: float = root(excess, COLDEST_START_C, highest + 1.0, tolerance=1e-9)
    _, after = _peak(heat, vessel, "lively", start - room_temperature_c)
    return Start(start_temperature_c=start, highest_temperature_c=highest, peak_after_h=after)


def _heat_kj(sugar_mass_kg: float, fermented_percent: float, volume_l: float) -> float:
    fermented_kg = sugar_mass_kg * fermented_percent / 100.0
    check_wash_strength(100.0 * LITRES_PER_SUCROSE * fermented_kg / volume_l, "sugar_mass_kg")
    return HEAT_KJ_KG_SUGAR * fermented_kg


def _peak(heat_kj: float, vessel: Vessel, pace: Pace, above_k: float) -> tuple[float, float]:
    """Return how far above the room a ferment comes at its warmest, and after how many hours."""
    course = rise_above_room(heat_kj, vessel, pace, above_k)
    at = int(course.argmax())
    return float(course[at]), float(hours()[at])
