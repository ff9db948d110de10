"""Lots: quantities of liquid, what was measured of them, and what they hold now."""

from collections.abc import Iterable
from typing import Annotated, Any
from uuid import UUID

from fastapi import Query
from pydantic import AwareDatetime, Field
from sqlalchemy import Engine
from sqlmodel import Session, col

from api.access import Asking, Role, needs
from api.entries import Entry, NewEntry, Text, entered
from api.errors import declared
from api.house import House, Housed
from api.record.casks import CaskBody, casks
from api.record.entering import (
    Change,
    Entered,
    Note,
    add,
    change,
    moment,
    newest,
)
from api.record.entries import entries
from api.record.lot_book import LotBook
from api.record.measures import MeasureBody, NewMeasureFields, measure_body, measure_columns
from api.record.run_bodies import ContentBody, content_body, entry
from api.record.taking_back import add_ways_back
from api.record.words import LotKind
from api.routing import Router
from logger.store import facts
from logger.store.failures import file_of, told
from logger.store.record_tables import Lot, Measure

router = Router(prefix="/lots", tags=["lots"], dependencies=[needs(Role.WATCH)])
OPERATE = [needs(Role.OPERATE)]


class LotFields(Entry):
    """What is said of a lot."""

    kind: LotKind
    name: Text
    vessel_id: UUID | None = None
    batch: Text | None = None
    origin: Annotated[Note, Field(description="In words, of what was received.")] = ""


class NewLot(LotFields, NewEntry):
    """A lot, and what was measured of it where it was measured at once."""

    at: AwareDatetime | None = None
    measure: NewMeasureFields | None = None


class LotChange(LotFields, Change):
    """A lot as it shall stand; what is left out stays as it is."""


class LotBody(Entered):
    """A lot as it stands."""

    kind: LotKind
    name: str
    vessel_id: UUID | None
    batch: str | None
    origin: str
    at: AwareDatetime
    now: ContentBody


class LotView(LotBody):
    """A lot with all that was measured of it."""

    measures: list[MeasureBody]
    cask: Annotated[CaskBody | None, Field(description="Of one that was weighed.")]


@router.get("")
def listed(
    house: Housed,
    batch: Annotated[str | None, Query(max_length=60)] = None,
    vessel_id: UUID | None = None,
    kind: LotKind | None = None,
) -> list[LotBody]:
    """Return the lots there are, the oldest first."""
    found = facts.all_current(house.reader.engine, Lot)
    return _bodies(
        house.reader.engine,
        [
            one
            for one in found
            if batch in {None, one.batch}
            and vessel_id in {None, one.vessel}
            and kind in {None, one.kind}
        ],
    )


@router.post("", status_code=201, dependencies=OPERATE, responses=declared(404, 409))
def begin(house: Housed, asking: Asking, body: NewLot) -> LotView:
    """Begin a lot."""
    columns = entered(house, asking, moment(house, body.at))
    made = Lot.first(id=body.id, **columns, **_columns(body, set(LotFields.model_fields)))
    beside = []
    if body.measure is not None:
        beside = [Measure.first(lot=made.about, **columns, **measure_columns(body.measure))]
    return _view(house, add(house, made, *beside))


@router.get("/{lot_id}", responses=declared(404))
def one_lot(house: Housed, lot_id: UUID) -> LotView:
    """Return a lot."""
    return _view(house, newest(house, Lot, lot_id))


@router.put("/{lot_id}", dependencies=OPERATE, responses=declared(404, 409))
def correct(house: Housed, asking: Asking, lot_id: UUID, body: LotChange) -> LotView:
    """Correct what is said of a lot."""
    old = newest(house, Lot, lot_id)
    changes = _columns(body, body.model_fields_set) | {"withdrawn": False}
    shown = change(house, asking, old, body, changes, lambda one: _view(house, one))
    return _view(house, shown)


def _columns(body: LotFields, said: set[str]) -> dict[str, Any]:
    found = {name: getattr(body, name) for name in LotFields.model_fields if name in said}
    if "vessel_id" in found:
        found["vessel"] = found.pop("vessel_id")
    return found


def _bodies(engine: Engine, lots: Iterable[Lot]) -> list[LotBody]:
    with told(file_of(engine)), Session(engine) as session:
        book = LotBook(session)
        return [LotBody(**_as_said(one), now=content_body(book.held(one.about))) for one in lots]


def _view(house: House, lot: Lot) -> LotView:
    engine = house.reader.engine
    [body] = _bodies(engine, [lot])
    found = facts.all_current(engine, Measure, col(Measure.lot) == lot.about)
    weighed = casks(house, entries(house, kind="cask_weight", lot_id=lot.about))
    return LotView(
        **dict(body),
        measures=[measure_body(one) for one in found],
        cask=weighed[0] if weighed else None,
    )


def _as_said(lot: Lot) -> dict[str, Any]:
    return entry(lot) | {
        "kind": lot.kind,
        "name": lot.name,
        "vessel_id": lot.vessel,
        "batch": lot.batch,
        "origin": lot.origin,
        "at": lot.effective_at,
    }


add_ways_back(
    router, Lot, "/{lot_id}", LotView, _view,
    back="Take a lot back that never was; nothing may stand on it.",
    undone="Take the last change of a lot back; undoing that brings it back.",
)  # fmt: skip
