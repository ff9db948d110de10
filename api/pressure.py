"""The air pressure now: measured, entered, or worked out from the altitude; and it says which."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, Final, Literal

from pydantic import AwareDatetime, BaseModel, Field
from sqlmodel import col
from starlette.concurrency import run_in_threadpool

from api.access import Asking, Role, needs
from api.entries import Entry, entered, store
from api.estimates.steps import Air, AirPressure
from api.house import House, Housed
from api.routing import Router
from api.site import stored
from calc.pressure import pressure_at_altitude
from calc.quantities import PRESSURE
from logger.store import facts
from logger.store.tables import Setting
from logger.store.types import to_datetime

KEY: Final = "pressure_hpa"
MEASURED_WITHIN: Final = timedelta(minutes=15)  # air pressure changes 1 hPa an hour, seldom 3
OLD: Final = timedelta(hours=6)

router = Router(prefix="/pressure", tags=["pressure"], dependencies=[needs(Role.WATCH)])


class EnteredPressure(Entry):
    """A pressure read off another instrument: absolute at the site, not reduced to sea level."""

    pressure_hpa: Annotated[float, Field(ge=PRESSURE.low, le=PRESSURE.high, allow_inf_nan=False)]


class Pressure(BaseModel):
    """The air pressure, where it comes from, and a sentence that says so."""

    pressure_hpa: float
    source: Literal["barometer", "entered", "altitude"]
    at: Annotated[AwareDatetime | None, Field(description="When it was measured or entered.")]
    says: str


@dataclass(frozen=True, slots=True)
class Known:
    """A pressure and when it was."""

    pressure_hpa: float
    at: datetime


@router.get("")
async def read(house: Housed) -> Pressure:
    """Return the air pressure as well as it is known."""
    return await run_in_threadpool(pressure_now, house, measured(house))


@router.put("", dependencies=[needs(Role.OPERATE)])
async def enter(house: Housed, asking: Asking, body: EnteredPressure) -> Pressure:
    """Enter a pressure read off another instrument; a barometer on the bus goes before it."""
    found = measured(house)
    columns = entered(house, asking)
    made = Setting.first(key=KEY, value=str(body.pressure_hpa), **columns)
    await run_in_threadpool(store, house, made)
    return await run_in_threadpool(pressure_now, house, found)


def pressure_now(house: House, found: Known | None) -> Pressure:
    """Choose the best that is known: measured, then entered, then from the altitude."""
    if found is not None:
        return _from_barometer(found)
    entered_hpa, usual = by_hand(house, house.now), _from_altitude(house)
    if entered_hpa is None:
        return usual
    if as_known(entered_hpa, site_hpa(house), house.now).by == "altitude":
        return usual.model_copy(
            update={"says": f"{usual.says} {_outlived(entered_hpa, house.now)}"}
        )
    return _from_hand(entered_hpa, house.now)


def measured(house: House) -> Known | None:
    """Read the barometer's last good reading, if there is a recent one; on the event loop."""
    for one in house.board.standings():
        if one.line.channel.quantity == PRESSURE.name and one.good_slot is not None:
            at = to_datetime(house.epochs.utc_us(one.good_slot))
            if one.last_good_value is not None and house.now - at <= MEASURED_WITHIN:
                return Known(one.last_good_value, at)
    return None


def by_hand(house: House, at: datetime) -> Known | None:
    """Read the pressure last entered for a moment or before, if one ever was."""
    found = facts.all_current(house.reader.engine, Setting, col(Setting.key) == KEY)
    mine = [Known(float(one.value), one.effective_at) for one in found if one.effective_at <= at]
    return max(mine, key=lambda one: one.at, default=None)


def site_hpa(house: House) -> float | None:
    """Return what is usual at the site's altitude; None where nobody has said it."""
    altitude_m = stored(house.reader.engine)[0].altitude_m
    return None if altitude_m is None else pressure_at_altitude(altitude_m)


def as_known(known: Known | None, usual_hpa: float | None, at: datetime) -> AirPressure:
    """Return the pressure at a moment without a barometer, as the estimates take it.

    What was entered ages with the weather, until what is usual at the altitude is the nearer guess.
    """
    entered = () if known is None else ((0, known.pressure_hpa),)
    age_s = 0 if known is None else int((at - known.at).total_seconds())
    return Air(usual_hpa, entered).at(age_s)


def _from_barometer(known: Known) -> Pressure:
    says = f"{known.pressure_hpa:.1f} hPa, measured by the barometer."
    return Pressure(pressure_hpa=known.pressure_hpa, source="barometer", at=known.at, says=says)


def _from_hand(known: Known, now: datetime) -> Pressure:
    age = now - known.at
    says = f"{known.pressure_hpa:.1f} hPa, entered by hand {_ago(age)}."
    if age > OLD:
        says += " The weather may have changed since; enter it again before relying on it."
    return Pressure(pressure_hpa=known.pressure_hpa, source="entered", at=known.at, says=says)


def _outlived(known: Known, now: datetime) -> str:
    """Say why what was entered counts no more."""
    return (
        f"The {known.pressure_hpa:.1f} hPa entered by hand {_ago(now - known.at)} are of another "
        "day's weather and count no more; enter the pressure again."
    )


def _from_altitude(house: House) -> Pressure:
    altitude_m = stored(house.reader.engine)[0].altitude_m
    pressure_hpa = round(pressure_at_altitude(altitude_m or 0.0), 1)
    where = "sea level, as no altitude is set," if altitude_m is None else f"{altitude_m:g} m"
    says = (
        f"{pressure_hpa:.1f} hPa, the standard atmosphere's at {where} (ISO 2533:1975); the "
        "weather's own may differ by 30 hPa, which moves boiling points by almost 1 °C."
    )
    return Pressure(pressure_hpa=pressure_hpa, source="altitude", at=None, says=says)


def _ago(age: timedelta) -> str:
    hours = age / timedelta(hours=1)
    if hours < 1:
        return "within the last hour"
    return f"{hours:.0f} h ago" if hours < 48 else f"{hours / 24:.0f} days ago"
