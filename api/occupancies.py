"""Occupancies: which batch and stage holds a vessel, from when to when."""

from typing import Annotated, Any, Literal
from uuid import UUID

from fastapi import Query
from pydantic import AwareDatetime, Field
from sqlmodel import col

from api.access import Asking, Role, needs
from api.entries import (
    Entry,
    NewEntry,
    Record,
    Text,
    Version,
    columns_of,
    correct,
    entered,
    not_ahead,
    store,
)
from api.errors import declared
from api.house import Housed
from api.record.batches import of_name
from api.routing import Router
from logger.store import facts
from logger.store.tables import Occupancy

Stage = Literal[
    "mash", "ferment", "strip", "spirit", "single", "botanical", "feints", "cleaning",
    "sacrificial", "proof", "age",
]  # fmt: skip

router = Router(prefix="/occupancies", tags=["occupancies"], dependencies=[needs(Role.WATCH)])


class OccupancyFields(Entry):
    """What is said of an occupancy; a mash in the pot is one like any other."""

    vessel_id: UUID
    batch: Text
    stage: Stage
    ended_at: Annotated[AwareDatetime | None, Field(description="Null: it still holds.")] = None


class NewOccupancy(OccupancyFields, NewEntry):
    """A vessel taken: from now on, unless told since when."""

    started_at: AwareDatetime | None = None


class OccupancyChange(OccupancyFields):
    """An occupancy as it shall stand; an end frees the vessel from then on."""

    started_at: AwareDatetime
    version: Version


class OccupancyRecord(Record):
    """An occupancy as it stands."""

    vessel_id: UUID
    batch: str
    stage: Stage
    started_at: AwareDatetime
    ended_at: AwareDatetime | None


@router.get("")
def listed(
    house: Housed,
    at: Annotated[
        AwareDatetime | None, Query(description="Only those that hold at this time.")
    ] = None,
    vessel_id: UUID | None = None,
) -> list[OccupancyRecord]:
    """Return all occupancies there ever were, or those of one moment, or of one vessel."""
    found = facts.occupancies(house.reader.engine, at)
    return [_record(one) for one in found if vessel_id in {None, one.vessel}]


@router.post("", status_code=201, dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def add(house: Housed, asking: Asking, body: NewOccupancy) -> OccupancyRecord:
    """Say which batch and stage holds a vessel."""
    base = entered(house, asking, body.started_at, "started_at")
    not_ahead(body.ended_at, house.now, "ended_at")
    made = Occupancy.first(id=body.id, **_columns(body), **base)
    if not facts.with_withdrawn(house.engine, Occupancy, col(Occupancy.about) == made.about):
        store(house, made, *of_name(house, body.batch, base))
    return _record(facts.get(house.engine, Occupancy, made.about))


@router.put("/{occupancy_id}", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def change(
    house: Housed, asking: Asking, occupancy_id: UUID, body: OccupancyChange
) -> OccupancyRecord:
    """Correct an occupancy, or end it."""
    old = facts.get(house.engine, Occupancy, occupancy_id)
    not_ahead(body.started_at, house.now, "started_at")
    not_ahead(body.ended_at, house.now, "ended_at")
    changes = _columns(body) | {"effective_at": body.started_at}
    named = of_name(house, body.batch, entered(house, asking, body.started_at, "started_at"))
    changed = correct(house, asking, old, body.version, changes)
    if named:
        store(house, *named)
    return _record(changed)


@router.delete(
    "/{occupancy_id}",
    status_code=204,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def withdraw(
    house: Housed, asking: Asking, occupancy_id: UUID, version: Annotated[Version, Query()]
) -> None:
    """Take an occupancy back that never was; the record keeps it."""
    old = facts.get(house.engine, Occupancy, occupancy_id)
    correct(house, asking, old, version, {"withdrawn": True})


def _columns(body: OccupancyFields) -> dict[str, Any]:
    return {
        "vessel": body.vessel_id,
        "batch": body.batch,
        "stage": body.stage,
        "ended_at": body.ended_at,
    }


def _record(fact: Occupancy) -> OccupancyRecord:
    own = columns_of(fact, OccupancyRecord)
    renamed = {"vessel_id": fact.vessel, "started_at": fact.effective_at}
    return OccupancyRecord.model_validate(own | renamed)
