"""Places: the spots where probes sit, on a vessel or in the room."""

from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Query
from pydantic import StringConstraints

from api.access import Asking, Role, needs
from api.entries import Entry, NewEntry, Record, Version, correct, entered, standing, store
from api.errors import declared
from api.house import House, Housed
from logger.errors import ConflictError
from logger.store import facts
from logger.store.tables import Place, Vessel

# A plain name: an export's columns are vessel.place, so a place's name has no dot.
PlaceName = Annotated[
    str,
    StringConstraints(
        strip_whitespace=True, min_length=1, max_length=60, pattern=r"^[^\x00-\x1f\x7f.,]*$"
    ),
]

router = APIRouter(prefix="/places", tags=["places"], dependencies=[needs(Role.WATCH)])


class PlaceFields(Entry):
    """What is said of a place; without a vessel it is in the room."""

    name: PlaceName
    vessel_id: UUID | None = None


class NewPlace(PlaceFields, NewEntry):
    """A place to add."""


class PlaceChange(PlaceFields):
    """A place as it shall stand."""

    version: Version


class PlaceRecord(Record):
    """A place as it stands."""

    name: str
    vessel_id: UUID | None


@router.get("")
def listed(house: Housed) -> list[PlaceRecord]:
    """Return all places."""
    return [_record(one) for one in facts.places(house.reader.engine)]


@router.post("", status_code=201, dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def add(house: Housed, asking: Asking, body: NewPlace) -> PlaceRecord:
    """Add a place."""
    columns = _columns(house, body) | entered(house, asking)
    made = Place.first(id=body.id, **columns)
    store(house, made)
    return _record(facts.get(house.engine, Place, made.about))


@router.put("/{place_id}", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def change(house: Housed, asking: Asking, place_id: UUID, body: PlaceChange) -> PlaceRecord:
    """Correct what is said of a place."""
    old = facts.get(house.engine, Place, place_id)
    return _record(correct(house, asking, old, body.version, _columns(house, body)))


@router.delete(
    "/{place_id}",
    status_code=204,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def withdraw(
    house: Housed, asking: Asking, place_id: UUID, version: Annotated[Version, Query()]
) -> None:
    """Take a place back that was entered by mistake; the record keeps it."""
    old = facts.get(house.engine, Place, place_id)
    if any(one.place == place_id for one in facts.placements(house.engine)):
        raise ConflictError(
            f"Probes have been placed at {old.name}, and its history hangs on that; "
            "take those placements back first, or rename the place."
        )
    correct(house, asking, old, version, {"withdrawn": True})


def _columns(house: House, body: PlaceFields) -> dict[str, object]:
    if body.vessel_id is not None:
        facts.get(house.engine, Vessel, body.vessel_id)
    return {"name": body.name, "vessel": body.vessel_id}


def _record(fact: Place) -> PlaceRecord:
    return PlaceRecord(**standing(fact), name=fact.name, vessel_id=fact.vessel)
