"""Places: the spots where probes sit, on a vessel or in the room."""

from typing import Annotated, Final, Literal
from uuid import UUID

from fastapi import Query
from pydantic import BaseModel, Field, StringConstraints

from api.access import Asking, Role, needs
from api.entries import Entry, NewEntry, Record, Version, columns_of, correct, entered, store
from api.errors import declared
from api.house import House, Housed
from api.routing import Router
from calc.errors import OutOfRangeError
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

HeadProbe = Literal["before_reflux", "after_reflux"]

router = Router(prefix="/places", tags=["places"], dependencies=[needs(Role.WATCH)])


class KnownPlace(BaseModel):
    """A place the trade has a name for, and what it is on."""

    name: str
    label: str
    kinds: Annotated[list[str], Field(description="Of vessels; none: the room.")]
    on_condenser: bool = False


POT: Final = ["still"]
TUNS: Final = ["mash_tun", "still"]
KNOWN: Final = (
    KnownPlace(name="mash", label="In the mash", kinds=TUNS),
    KnownPlace(name="ferment", label="In the ferment", kinds=["fermenter"]),
    KnownPlace(name="pot", label="In the pot", kinds=POT),
    KnownPlace(name="column", label="In the column", kinds=POT),
    KnownPlace(name="head", label="In the head's vapour", kinds=POT),
    KnownPlace(name="spout", label="At the spout", kinds=POT),
    KnownPlace(name="coolant_in", label="Cooling water in", kinds=POT, on_condenser=True),
    KnownPlace(name="coolant_out", label="Cooling water out", kinds=POT, on_condenser=True),
    KnownPlace(name="reflux_out", label="Reflux water out", kinds=POT, on_condenser=True),
    KnownPlace(name="tank", label="In the tank", kinds=["tank", "cask", "other"]),
    KnownPlace(name="room", label="In the room", kinds=[]),
)


class PlaceFields(Entry):
    """What is said of a place; without a vessel it is in the room."""

    name: PlaceName
    vessel_id: UUID | None = None
    condenser_id: Annotated[
        UUID | None, Field(description="Where it is on one of the vessel's condensers.")
    ] = None
    head_probe: Annotated[
        HeadProbe | None, Field(description="Of a head: on which side of the reflux condenser.")
    ] = None


class NewPlace(PlaceFields, NewEntry):
    """A place to add."""


class PlaceChange(PlaceFields):
    """A place as it shall stand."""

    version: Version


class PlaceRecord(Record):
    """A place as it stands."""

    name: str
    vessel_id: UUID | None
    condenser_id: UUID | None
    head_probe: HeadProbe | None


@router.get("/names")
def names() -> list[KnownPlace]:
    """Return the names the trade has for places; others may be given too."""
    return list(KNOWN)


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
    if body.head_probe is not None and not body.name.startswith("head"):
        raise OutOfRangeError(
            f"{body.name} is no head, so it is neither before nor after the reflux condenser; "
            "leave head_probe out, or call the place head.",
            quantity="head_probe",
        )
    return {
        "name": body.name,
        "vessel": body.vessel_id,
        "condenser": body.condenser_id,
        "head_probe": body.head_probe,
    }


def _record(fact: Place) -> PlaceRecord:
    return PlaceRecord.model_validate(
        columns_of(fact, PlaceRecord) | {"vessel_id": fact.vessel, "condenser_id": fact.condenser}
    )
