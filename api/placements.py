"""Placements: which probe sits at which place, from when to when."""

from typing import Annotated
from uuid import UUID

from fastapi import Query
from pydantic import AwareDatetime, Field

from api.access import Asking, Role, needs
from api.entries import (
    Entry,
    NewEntry,
    ProbeId,
    QuantityName,
    Record,
    Version,
    correct,
    entered,
    not_ahead,
    standing,
    store,
)
from api.errors import declared
from api.house import Housed
from api.probes import Known
from api.routing import Router
from logger.errors import RangeError
from logger.store import facts, moving
from logger.store.tables import TEMPERATURE, Place, Placement

router = Router(prefix="/placements", tags=["placements"], dependencies=[needs(Role.WATCH)])


class NewPlacement(NewEntry):
    """A probe put at a place: from now on, unless told since when."""

    place_id: UUID
    probe_id: ProbeId
    quantity: QuantityName = TEMPERATURE
    effective_at: AwareDatetime | None = None
    ended_at: AwareDatetime | None = None


class PlacementChange(Entry):
    """A placement as it shall stand; an end takes the probe away from then on."""

    place_id: UUID
    probe_id: ProbeId
    quantity: QuantityName = TEMPERATURE
    effective_at: AwareDatetime
    ended_at: AwareDatetime | None = None
    version: Version


class Swap(Entry):
    """Two places whose probes were taken for each other, since when."""

    place_a: UUID
    place_b: UUID
    from_at: Annotated[
        AwareDatetime | None, Field(description="Null: ever since either had a probe.")
    ] = None
    quantity: QuantityName = TEMPERATURE


class Move(NewEntry):
    """A probe that sits at a place from then on, and no longer where it sat."""

    place_id: UUID
    probe_id: ProbeId
    quantity: QuantityName = TEMPERATURE
    from_at: Annotated[AwareDatetime | None, Field(description="Null: from now on.")] = None


class PlacementRecord(Record):
    """A placement as it stands."""

    place_id: UUID
    probe_id: str
    quantity: str
    effective_at: AwareDatetime
    ended_at: AwareDatetime | None


@router.get("")
def listed(
    house: Housed,
    at: Annotated[
        AwareDatetime | None, Query(description="Only those that hold at this time.")
    ] = None,
) -> list[PlacementRecord]:
    """Return all placements there ever were, or those of one moment."""
    return [record_of(one) for one in facts.placements(house.reader.engine, at)]


@router.post("", status_code=201, dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def add(house: Housed, asking: Asking, body: NewPlacement) -> PlacementRecord:
    """Put a probe at a place."""
    known = Known.read(house)
    known.check_usable(body.probe_id)
    known.check_reads(body.probe_id, body.quantity)
    not_ahead(body.ended_at, house.now, "ended_at")
    columns = body.model_dump(exclude={"id", "place_id", "effective_at"})
    made = Placement.first(
        id=body.id,
        place=body.place_id,
        **columns,
        **entered(house, asking, body.effective_at, "effective_at"),
    )
    store(house, made)
    return record_of(facts.get(house.engine, Placement, made.about))


@router.post("/swap", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def swap(house: Housed, asking: Asking, body: Swap) -> list[PlacementRecord]:
    """Put two swapped probes right, afterwards: the history is as if they never had been.

    Returns the placements of both places as they stand then.
    """
    pair = body.place_a, body.place_b
    names = {place: facts.get(house.engine, Place, place).name for place in pair}
    base = entered(house, asking)
    if body.from_at is not None and body.from_at > house.now:
        raise RangeError(
            "from_at lies in the future; give the time the probes were swapped at.",
            field="from_at",
        )
    found = [one for one in facts.placements(house.engine) if one.quantity == body.quantity]
    store(house, *moving.swapped(found, names, pair, body.from_at, base))
    return [record_of(one) for one in facts.placements(house.engine) if one.place in pair]


@router.post("/move", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def move(house: Housed, asking: Asking, body: Move) -> PlacementRecord:
    """Put a probe at a place, and end where it sat until then, both or neither."""
    known = Known.read(house)
    known.check_usable(body.probe_id)
    known.check_reads(body.probe_id, body.quantity)
    place = facts.get(house.engine, Place, body.place_id)
    base = entered(house, asking, body.from_at, "from_at") | {"quantity": body.quantity}
    found = [one for one in facts.placements(house.engine) if one.quantity == body.quantity]
    own = base if body.id is None else base | {"id": body.id}
    store(house, *moving.moved(found, body.probe_id, place.about, own))
    here = facts.placements(house.engine, base["effective_at"])
    return next(
        record_of(one)
        for one in here
        if (one.probe_id, one.quantity) == (body.probe_id, body.quantity)
    )


@router.put("/{placement_id}", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def change(
    house: Housed, asking: Asking, placement_id: UUID, body: PlacementChange
) -> PlacementRecord:
    """Correct a placement, or end it."""
    old = facts.get(house.engine, Placement, placement_id)
    known = Known.read(house)
    known.check(body.probe_id)
    if (body.probe_id, body.quantity) != (old.probe_id, old.quantity):
        known.check_reads(body.probe_id, body.quantity)
    not_ahead(body.effective_at, house.now, "effective_at")
    not_ahead(body.ended_at, house.now, "ended_at")
    changes = body.model_dump(exclude={"version", "place_id"}) | {"place": body.place_id}
    return record_of(correct(house, asking, old, body.version, changes))


@router.delete(
    "/{placement_id}",
    status_code=204,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def withdraw(
    house: Housed, asking: Asking, placement_id: UUID, version: Annotated[Version, Query()]
) -> None:
    """Take a placement back that never was; the record keeps it."""
    old = facts.get(house.engine, Placement, placement_id)
    correct(house, asking, old, version, {"withdrawn": True})


def record_of(fact: Placement) -> PlacementRecord:
    """Show a placement as it stands."""
    return PlacementRecord(
        **standing(fact),
        place_id=fact.place,
        probe_id=fact.probe_id,
        quantity=fact.quantity,
        effective_at=fact.effective_at,
        ended_at=fact.ended_at,
    )
