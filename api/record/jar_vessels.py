"""Empty jars, by the number on them: what each weighs and holds, entered once."""

from typing import Annotated
from uuid import UUID

from fastapi import Path
from pydantic import Field
from sqlmodel import col

from api.access import Asking, Role, needs
from api.entries import Entry, Record, entered, standing
from api.errors import declared
from api.house import House, Housed
from api.record.entering import Change, add, change
from api.record.words import MOST_NUMBER, JarNumber
from api.routing import Router
from logger.errors import NotFoundError
from logger.store import facts
from logger.store.record_tables import JarVessel

Tare = Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)]
Holds = Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)]
Number = Annotated[int, Path(ge=1, le=MOST_NUMBER)]

router = Router(prefix="/jar-vessels", tags=["jars"], dependencies=[needs(Role.WATCH)])


class JarVesselFields(Entry):
    """What is said of an empty jar."""

    tare_kg: Tare | None = None
    volume_l: Annotated[Holds | None, Field(description="What it holds.")] = None


class JarVesselChange(JarVesselFields):
    """An empty jar as it shall stand; version 0 where nothing is known of it yet."""

    id: UUID | None = None
    version: Annotated[int, Field(ge=0, le=2**31)] = 0


class JarVesselBody(Record):
    """An empty jar."""

    number: JarNumber
    tare_kg: float | None
    volume_l: float | None


@router.get("")
def vessels_listed(house: Housed) -> list[JarVesselBody]:
    """Return all empty jars that are known, by their number."""
    found = facts.all_current(house.reader.engine, JarVessel)
    return sorted((_body(one) for one in found), key=lambda one: one.number)


@router.get("/{number}", responses=declared(404))
def one_vessel(house: Housed, number: Number) -> JarVesselBody:
    """Return an empty jar."""
    found = _known(house, number)
    if found is None:
        raise NotFoundError(f"Nothing is stored of jar {number}; weigh it empty and enter that.")
    return _body(found)


@router.put("/{number}", dependencies=[needs(Role.OPERATE)], responses=declared(409))
def store_vessel(
    house: Housed, asking: Asking, number: Number, body: JarVesselChange
) -> JarVesselBody:
    """Store what an empty jar weighs and holds."""
    old = _known(house, number)
    fields = body.model_dump(include=set(JarVesselFields.model_fields))
    if old is None:
        made = JarVessel.first(id=body.id, number=number, **fields, **entered(house, asking))
        return _body(add(house, made))
    wanted = Change(id=body.id, version=body.version)
    return _body(change(house, asking, old, wanted, fields, _body))


def _known(house: House, number: int) -> JarVessel | None:
    found = facts.all_current(house.reader.engine, JarVessel, col(JarVessel.number) == number)
    return found[-1] if found else None


def _body(one: JarVessel) -> JarVesselBody:
    own = {"number": one.number, "tare_kg": one.tare_kg, "volume_l": one.volume_l}
    return JarVesselBody(**standing(one), **own)
