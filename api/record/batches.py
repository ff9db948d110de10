"""Batches: a name from the mash on; what goes by it is found, not kept."""

from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Final
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field
from sqlmodel import col

from api.access import Asking, Role, Visitor, needs
from api.entries import Entry, NewEntry, Text, entered
from api.errors import declared
from api.house import House, Housed
from api.record.entering import (
    Change,
    Entered,
    Note,
    add,
    change,
    newest,
)
from api.record.run_bodies import entry
from api.record.taking_back import add_ways_back
from api.record.words import Wash
from api.routing import Router
from logger.store import facts
from logger.store.record_rules import RUNS
from logger.store.record_tables import Batch, Lot
from logger.store.tables import Fact, Occupancy

router = Router(prefix="/batches", tags=["batches"], dependencies=[needs(Role.WATCH)])
OPERATE = [needs(Role.OPERATE)]


OnGrain: Final = Field(
    description="Distilled with grain or pulp in it; null: not said, so judged by kind_of_wash."
)


class BatchFields(Entry):
    """What is said of a batch."""

    name: Text
    kind_of_wash: Wash = "other"
    on_grain: Annotated[bool | None, OnGrain] = None
    note: Note = ""


class NewBatch(BatchFields, NewEntry):
    """A batch to begin."""


class BatchChange(BatchFields, Change):
    """A batch as it shall stand; a new name goes to all that went by the old one."""


class BatchBody(Entered):
    """A batch as it stands."""

    name: str
    kind_of_wash: Wash
    on_grain: Annotated[bool | None, OnGrain]
    note: str
    began_at: AwareDatetime


class HeldBody(BaseModel):
    """A vessel that held a batch; a run where it is a still's."""

    id: UUID
    vessel_id: UUID
    vessel: str | None
    stage: str
    is_run: bool
    started_at: AwareDatetime
    ended_at: AwareDatetime | None


class BatchView(BatchBody):
    """A batch with the vessels it was in and the lots that go by its name."""

    occupancies: list[HeldBody]
    lot_ids: Annotated[list[UUID], Field(description="Of this name; see /api/lots.")]


@router.get("")
def listed(house: Housed) -> list[BatchBody]:
    """Return all batches, the newest first."""
    began = _begun(house)
    found = facts.all_current(house.reader.engine, Batch)
    return sorted((_body(one, began) for one in found), key=lambda one: one.began_at, reverse=True)


@router.post("", status_code=201, dependencies=OPERATE, responses=declared(409))
def begin(house: Housed, asking: Asking, body: NewBatch) -> BatchBody:
    """Begin a batch; taking a vessel for a new name begins one too."""
    made = Batch.first(**body.model_dump(), **entered(house, asking))
    return _body(add(house, made), _begun(house))


@router.get("/{batch_id}", responses=declared(404))
def one_batch(house: Housed, batch_id: UUID) -> BatchView:
    """Return a batch with where it was and what came of it."""
    batch = newest(house, Batch, batch_id)
    engine = house.reader.engine
    names = {one.about: one.name for one in facts.vessels(engine)}
    held = facts.all_current(engine, Occupancy, col(Occupancy.batch) == batch.name)
    lots = facts.all_current(engine, Lot, col(Lot.batch) == batch.name)
    return BatchView(
        **_body(batch, _begun(house)).model_dump(),
        occupancies=[_held(one, names) for one in held],
        lot_ids=[one.about for one in lots],
    )


@router.put("/{batch_id}", dependencies=OPERATE, responses=declared(404, 409))
def correct(house: Housed, asking: Asking, batch_id: UUID, body: BatchChange) -> BatchBody:
    """Correct what is said of a batch, or rename it."""
    old = newest(house, Batch, batch_id)
    changes = body.model_dump(include=set(BatchFields.model_fields) & body.model_fields_set)
    renamed = _renamed(house, asking.name, old.name, body.name) if body.name != old.name else ()
    changed = change(house, asking, old, body, changes, _shown, renamed)
    return _body(changed, _begun(house))


def of_name(house: House, name: str, columns: dict[str, Any]) -> Sequence[Batch]:
    """Make the batch of a name that is new; none where there is one already."""
    if facts.all_current(house.engine, Batch, col(Batch.name) == name):
        return ()
    return (Batch.first(name=name, **columns),)


def _begun(house: House) -> dict[str, AwareDatetime]:
    """Say since when each name held a vessel."""
    began: dict[str, AwareDatetime] = {}
    for one in facts.occupancies(house.reader.engine):
        began.setdefault(one.batch, one.effective_at)
    return began


def _shown(batch: Batch) -> BatchBody:
    return _body(batch, {})


def _body(batch: Batch, began: dict[str, AwareDatetime]) -> BatchBody:
    return BatchBody(
        **entry(batch),
        name=batch.name,
        kind_of_wash=batch.kind_of_wash,
        on_grain=batch.on_grain,
        note=batch.note,
        began_at=began.get(batch.name, batch.effective_at),
    )


def _held(one: Occupancy, names: dict[UUID, str]) -> HeldBody:
    return HeldBody(
        id=one.about,
        vessel_id=one.vessel,
        vessel=names.get(one.vessel),
        stage=one.stage,
        is_run=one.stage in RUNS,
        started_at=one.effective_at,
        ended_at=one.ended_at,
    )


def _renamed(house: House, who: str, old: str, new: str) -> Sequence[Fact]:
    """Correct everything that goes by a batch's name."""
    held = facts.all_current(house.engine, Occupancy, col(Occupancy.batch) == old)
    lots = facts.all_current(house.engine, Lot, col(Lot.batch) == old)
    return [one.correction(who=who, batch=new) for one in (*held, *lots)]


def _beside(
    house: House, asking: Visitor, old: Batch, changes: Mapping[str, Any]
) -> Sequence[Fact]:
    """Take all that goes by a batch's name along when that goes back."""
    name = changes.get("name", old.name)
    return () if name == old.name else _renamed(house, asking.name, old.name, name)


add_ways_back(
    router, Batch, "/{batch_id}", BatchBody, lambda _, one: _shown(one), beside=_beside,
    back="Take a batch back that never was.",
    undone="Take the last change of a batch back; a name goes back with all that goes by it.",
)  # fmt: skip
