"""The air pressure now: measured, entered, or worked out from the altitude; and it says which."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, Final, Literal

from pydantic import AwareDatetime, BaseModel, Field
from starlette.concurrency import run_in_threadpool

from api.access import Asking, Role, needs
from api.entries import Entry, entered, store
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
    entered_hpa = by_hand(house)
    return _from_hand(entered_hpa, house.now) if entered_hpa else _from_altitude(house)


def measured(house: House) -> Known | None:
    """Read the barometer's last good reading, if there is a recent one; on the event loop."""
    for one in house.board.standings():
        if one.line.channel.quantity == PRESSURE.name and one.good_slot is not None:
            at = to_datetime(house.epochs.utc_us(one.good_slot))
            if one.last_good_value is not None and house.now - at <= MEASURED_WITHIN:
                return Known(one.last_good_value, at)
    return None


def by_hand(house: House) -> Known | None:
    """Read the pressure last entered, if one ever was."""
    found = [one for one in facts.all_current(house.reader.engine, Setting) if one.key == KEY]
    return Known(float(found[-1].value), found[-1].effective_at) if found else None


def _from_barometer(known: Known) -> Pressure:
    says = f"{known.pressure_hpa:.1f} hPa, measured by the barometer."
    return Pressure(pressure_hpa=known.pressure_hpa, source="barometer", at=known.at, says=says)


def _from_hand(known: Known, now: datetime) -> Pressure:
    age = now - known.at
    says = f"{known.pressure_hpa:.1f} hPa, entered by hand {_ago(age)}."
    if age > OLD:
        says += " The weather may have changed since; enter it again before relying on it."
    return Pressure(pressure_hpa=known.pressure_hpa, source="entered", at=known.at, says=says)


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
