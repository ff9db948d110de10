"""What a gas makes of the air of a room: vapour let out of a still, and fermentation's breath.

Every figure here is for planning, with the source beside it. None replaces local codes, a
detector or licensed practice.
"""

from dataclasses import dataclass
from math import log1p
from typing import Annotated, Any

import numpy as np

from calc.alcoholometry import ETHANOL_G_MOL, abw_from_abv
from calc.heat import ETHANOL_LATENT_KJ_KG, WATER_LATENT_KJ_KG
from calc.quantities import ABV, POWER, FloatArray, Quantity, checked

# NIOSH Pocket Guide to Chemical Hazards (2007), ethyl alcohol: lower explosive limit in air.
EXPLOSIVE_LIMIT_PERCENT = 3.3
# A mole of gas at 20 °C and 1013.25 hPa: R T / P.
MOLAR_VOLUME_L = 8.314462618 * 293.15 / 101.325

# Carbon dioxide, ppm by volume. Eight hours: NIOSH (2007) and EH40/2005; short term: EH40/2005
# (United Kingdom) and NIOSH (United States).
CO2_EIGHT_HOURS_PPM, CO2_SHORT_UK_PPM, CO2_SHORT_US_PPM = 5_000.0, 15_000.0, 30_000.0
CO2_OUTDOORS_PPM = 420.0  # about 2023, from memory

ROOM = Quantity("room_m3", "Room", "m³", 1, 100_000)
VENTILATION = Quantity("ventilation_m3_h", "Fresh air", "m³/h", 0, 1e6)
AIR_CHANGES = Quantity("air_changes_per_h", "Air changes an hour", "1/h", 0, 100, 2)
MINUTES = Quantity("duration_min", "Time", "min", 0, 1e9)
HOURS = Quantity("duration_h", "Time", "h", 0, 1e9)
CONCENTRATION = Quantity("ethanol_percent", "Ethanol vapour in the air", "% vol", 0, 100, 3)
VAPOUR_RATE = Quantity("ethanol_vapour_l_min", "Ethanol vapour let out", "L/min", 0, 1e6)
CO2_RATE = Quantity("co2_l_h", "Carbon dioxide given off", "L/h", 0.1, 1e6)
NEVER = "not reached in well mixed air"
CO2 = Quantity("co2_ppm", "Carbon dioxide in the air", "ppm", 0, 1e6, 0)


@dataclass(frozen=True, slots=True)
class Room:
    """A room whose air is well mixed, with so much fresh air coming in; as much air goes out."""

    room_m3: float
    ventilation_m3_h: float

    def share_in_the_end(self, rate_l_s: float) -> float:
        """Return the share of a gas given off at a rate that the air comes to."""
        return rate_l_s / (rate_l_s + self.ventilation_m3_h / 3.6)

    def share(self, minutes: Any, rate_l_s: float) -> Any:
        """Return the share of the gas in the air after a time, or after many."""
        return self.share_in_the_end(rate_l_s) * -np.expm1(-self._renewals_min(rate_l_s) * minutes)

    def minutes_to(self, share: float, rate_l_s: float) -> float | None:
        """Return when the gas reaches a share of the air; None if it never does."""
        end = self.share_in_the_end(rate_l_s)
        if share >= end:
            return None
        return -log1p(-share / end) / self._renewals_min(rate_l_s)

    def _renewals_min(self, rate_l_s: float) -> float:
        """Return how often a minute all that comes in would fill the room."""
        return 60.0 * (rate_l_s + self.ventilation_m3_h / 3.6) / (1000.0 * self.room_m3)


@dataclass(frozen=True, slots=True)
class Escape:
    """How fast uncondensed vapour fills a room."""

    duration_min: (
        Annotated[float, MINUTES.called("To a tenth of the explosive limit").if_absent(NEVER)]
        | None
    )
    limit_duration_min: (
        Annotated[float, MINUTES.called("To the explosive limit").if_absent(NEVER)] | None
    )
    ethanol_vapour_l_min: Annotated[float, VAPOUR_RATE]
    verdict: str


@dataclass(frozen=True, slots=True)
class RoomCo2:
    """What fermentation makes of the air of a room."""

    co2_ppm: Annotated[float, CO2.called("Carbon dioxide in the end")]
    duration_h: Annotated[float, HOURS.called("To the eight-hour limit").if_absent(NEVER)] | None
    ventilation_m3_h: Annotated[float, VENTILATION.called("Fresh air that keeps below the limit")]
    verdict: str


@checked
def vapour_escape(
    power_kw: Annotated[float, POWER.called("Heat that boils the still")],
    abv: Annotated[float, ABV.within(1, 100).called("Strength at the spout")],
    room_m3: Annotated[float, ROOM],
    ventilation_m3_h: Annotated[float, VENTILATION] = 0.0,
) -> Escape:
    """Return how long a room has if the vapour is no longer condensed.

    Parameters
    ----------
    power_kw : float
        Heat that boils the still, 0.05 to 2000 kW.
    abv : float
        Of what comes over, percent by volume at 20 C, 1 to 100.
    room_m3 : float
        1 to 100,000 m3.
    ventilation_m3_h : float
        Fresh air; none unless given.

    Returns
    -------
    Escape
        Minutes to a tenth of the explosive limit and to the limit itself, None where fresh air
        keeps below it; ethanol vapour let out; and a verdict.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    All heat makes vapour: P / (846 w + 2257 (1 - w)) kg/s, w its ethanol by mass, as gas at
    20 C. In air well mixed, with G litres of gas and Q of fresh air coming in, the share is
    G / (G + Q) (1 - exp(-(G + Q) t / V)). Never so well mixed: the vapour is 1.6 times as heavy
    as air and lies on the floor, and at the outlet it is explosive at once.

    References
    ----------
    NIOSH Pocket Guide to Chemical Hazards (2007), ethyl alcohol, 3.3 % vol in air; the mixed-room
    balance is common practice, no source.

    Examples
    --------
    >>> round(vapour_escape(2.0, 40.0, 10.0).duration_min, 1)
    2.8
    """
    rate = _ethanol_l_s(power_kw, abv)
    room = Room(room_m3, ventilation_m3_h)
    tenth = room.minutes_to(EXPLOSIVE_LIMIT_PERCENT / 1000.0, rate)
    whole = room.minutes_to(EXPLOSIVE_LIMIT_PERCENT / 100.0, rate)
    verdict = _escape_verdict(tenth, whole, 100.0 * room.share_in_the_end(rate))
    return Escape(tenth, whole, 60.0 * rate, verdict)


def vapour_escape_curve(
    power_kw: float, abv: float, room_m3: float, ventilation_m3_h: float = 0.0
) -> dict[str, FloatArray]:
    """Return the ethanol in the air of the room, against minutes, to twice the limit or an hour."""
    rate, room = _ethanol_l_s(power_kw, abv), Room(room_m3, ventilation_m3_h)
    limit = room.minutes_to(EXPLOSIVE_LIMIT_PERCENT / 100.0, rate)
    minutes = np.linspace(0.0, min(2.0 * limit, 60.0) if limit else 60.0, 121)
    return {"duration_min": minutes, "ethanol_percent": 100.0 * room.share(minutes, rate)}


@checked
def co2_in_room(
    co2_l_h: Annotated[float, CO2_RATE],
    room_m3: Annotated[float, ROOM],
    air_changes_per_h: Annotated[float, AIR_CHANGES] = 0.0,
) -> RoomCo2:
    """Return what carbon dioxide from fermentation makes of the air of a room.

    Parameters
    ----------
    co2_l_h : float
        Given off by all fermenters together, 0.1 to 1,000,000 L/h.
    room_m3 : float
        1 to 100,000 m3.
    air_changes_per_h : float
        How often an hour the room's air is renewed, 0 to 100; a closed room without a fan has
        0.1 to 0.5.

    Returns
    -------
    RoomCo2
        Concentration in the end, hours to the eight-hour limit (None where it is not reached),
        fresh air that keeps below it, and a verdict.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Well mixed, with G litres of gas and Q of fresh air of 420 ppm coming in: above those 420 ppm
    the share is G / (G + Q) (1 - exp(-(G + Q) t / V)) of the rest. Never so well mixed: the gas
    is 1.5 times as heavy as air and fills vessels, pits and cellars from the floor.

    References
    ----------
    NIOSH Pocket Guide to Chemical Hazards (2007), carbon dioxide, 5,000 ppm over eight hours and
    30,000 ppm short term; EH40/2005, 15,000 ppm short term; the mixed-room balance is common
    practice, no source.

    Examples
    --------
    >>> round(co2_in_room(200.0, 40.0, 0.5).co2_ppm)
    10317
    """
    rate, room = co2_l_h / 3600.0, Room(room_m3, air_changes_per_h * room_m3)
    minutes = room.minutes_to(_given_off_share(CO2_EIGHT_HOURS_PPM), rate)
    end = _co2_ppm(room.share_in_the_end(rate))
    hours = None if minutes is None else minutes / 60.0
    return RoomCo2(
        co2_ppm=end,
        duration_h=hours,
        ventilation_m3_h=fresh_air_m3_h(co2_l_h, CO2_EIGHT_HOURS_PPM),
        verdict=_co2_verdict(end, hours),
    )


def co2_in_room_curve(
    co2_l_h: float, room_m3: float, air_changes_per_h: float = 0.0
) -> dict[str, FloatArray]:
    """Return the carbon dioxide in the air of the room over a day."""
    hours = np.linspace(0.0, 24.0, 145)
    room = Room(room_m3, air_changes_per_h * room_m3)
    return {"duration_h": hours, "co2_ppm": _co2_ppm(room.share(60.0 * hours, co2_l_h / 3600.0))}


def fresh_air_m3_h(co2_l_h: float, limit_ppm: float) -> float:
    """Return the fresh air that keeps carbon dioxide given off at a rate at a limit."""
    share = _given_off_share(limit_ppm)
    return co2_l_h / 1000.0 * (1.0 - share) / share


def _given_off_share(limit_ppm: float) -> float:
    """Return the share of the air that may be fermentation's at a limit; outdoors has some."""
    return (limit_ppm - CO2_OUTDOORS_PPM) / (1e6 - CO2_OUTDOORS_PPM)


def _ethanol_l_s(power_kw: float, abv: float) -> float:
    """Return the ethanol gas, at 20 C, that a power boils off, in litres a second."""
    abw = abw_from_abv(abv)
    latent = abw * ETHANOL_LATENT_KJ_KG + (1.0 - abw) * WATER_LATENT_KJ_KG
    return power_kw / latent * abw * 1000.0 / ETHANOL_G_MOL * MOLAR_VOLUME_L


def _co2_ppm(share: Any) -> Any:
    """Return the concentration where a share of the air is fermentation's and the rest fresh."""
    return CO2_OUTDOORS_PPM + (1e6 - CO2_OUTDOORS_PPM) * share


def _escape_verdict(tenth_min: float | None, whole_min: float | None, end_percent: float) -> str:
    outlet = "At the outlet and on the floor it is explosive at once: stop the heat."
    kept = f"fresh air keeps well mixed air at {end_percent:.2f} % vol"
    if tenth_min is None:
        return f"The {kept}, below a tenth of the explosive limit. {outlet}"
    if whole_min is None:
        return (
            f"A tenth of the explosive limit after {tenth_min:.1f} min; {kept}, below the limit "
            f"itself. {outlet}"
        )
    return (
        f"A tenth of the explosive limit after {tenth_min:.1f} min and the limit itself after "
        f"{whole_min:.1f} min, were the air well mixed. {outlet}"
    )


def _co2_verdict(end_ppm: float, hours: float | None) -> str:
    if hours is None:
        return f"Stays below {CO2_EIGHT_HOURS_PPM:,.0f} ppm, the limit over eight hours."
    passes = f"Passes {CO2_EIGHT_HOURS_PPM:,.0f} ppm, the limit over eight hours, in {hours:.1f} h"
    if end_ppm <= CO2_SHORT_UK_PPM:
        return f"{passes}: more fresh air."
    return (
        f"{passes} and later {CO2_SHORT_UK_PPM:,.0f} ppm, a short-term limit: do not enter without "
        "fresh air and a detector."
    )
