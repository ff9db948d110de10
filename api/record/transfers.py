"""Transfers: liquid that went from one lot, jar or run to another, or out of the books."""

from typing import Annotated, Any
from uuid import UUID

from fastapi import Query
from pydantic import AwareDatetime, Field
from sqlalchemy import ColumnElement, Engine
from sqlmodel import Session, col, or_

from api.access import Asking, Role, needs
from api.entries import NewEntry, entered
from api.errors import declared
from api.house import House, Housed
from api.record.entering import (
    Change,
    Entered,
    Note,
    add,
    change,
    moment,
    newest,
)
from api.record.lot_book import LotBook
from api.record.run_bodies import ContentBody, content_body, entry
from api.record.silent import without_strength
from api.record.taking_back import add_ways_back
from api.record.words import GAUGED, GaugedFields, InstrumentName, Way
from api.routing import Router
from logger.store import facts
from logger.store.failures import file_of, told
from logger.store.record_tables import Transfer

router = Router(prefix="/transfers", tags=["transfers"], dependencies=[needs(Role.WATCH)])
OPERATE = [needs(Role.OPERATE)]

End = Annotated[UUID | None, Field(description="A lot, a jar or a run; null: outside the books.")]


class TransferFields(GaugedFields):
    """What went where. Without a volume and a mass all that was there went.

    Without a reading it is as strong as what it was taken from.
    """

    kind: Way
    from_lot: End = None
    to_lot: End = None
    text: Note = ""


class NewTransfer(TransferFields, NewEntry):
    """A transfer to enter."""

    at: AwareDatetime | None = None


class TransferChange(TransferFields, Change):
    """A transfer as it shall stand; what is left out stays as it is."""

    at: AwareDatetime | None = None


class TransferBody(Entered):
    """A transfer: as it was read, and what went at 20 °C."""

    kind: Way
    from_lot: UUID | None
    to_lot: UUID | None
    at: AwareDatetime
    text: str
    volume_l: float | None
    volume_temperature_c: float | None
    volume_error_l: float | None
    mass_kg: float | None
    reading_abv: float | None
    temperature_c: float | None
    instrument: InstrumentName | None
    reading_error_abv: float | None
    at_20_c: ContentBody


@router.get("")
def listed(
    house: Housed,
    lot_id: Annotated[UUID | None, Query(description="Only those to or from it.")] = None,
    limit: Annotated[int, Query(ge=1, le=1000)] = 200,
) -> list[TransferBody]:
    """Return the transfers there were, the newest first."""
    where = () if lot_id is None else (_at(lot_id),)
    found = facts.all_current(house.reader.engine, Transfer, *where)
    return bodies(house.reader.engine, *found[: -limit - 1 : -1])


@router.post("", status_code=201, dependencies=OPERATE, responses=declared(404, 409))
def enter(house: Housed, asking: Asking, body: NewTransfer) -> TransferBody:
    """Enter what went where."""
    columns = entered(house, asking, moment(house, body.at))
    made = Transfer.first(id=body.id, **columns, **_columns(body, set(_SAID)))
    return _body(house, add(house, made))


@router.put("/{transfer_id}", dependencies=OPERATE, responses=declared(404, 409))
def correct(house: Housed, asking: Asking, transfer_id: UUID, body: TransferChange) -> TransferBody:
    """Correct a transfer."""
    old = newest(house, Transfer, transfer_id)
    changes = _columns(body, body.model_fields_set) | {"withdrawn": False}
    if body.at is not None:
        changes["effective_at"] = moment(house, body.at)
    now = change(house, asking, old, body, changes, lambda one: _body(house, one))
    return _body(house, now)


def bodies(engine: Engine, *moves: Transfer) -> list[TransferBody]:
    """Show transfers."""
    with told(file_of(engine)), Session(engine) as session:
        book = LotBook(session)
        return [_shown(book, one) for one in moves]


_SAID = ("kind", "from_lot", "to_lot", "text", *GAUGED)


def _body(house: House, move: Transfer) -> TransferBody:
    return bodies(house.reader.engine, move)[0]


def _shown(book: LotBook, move: Transfer) -> TransferBody:
    """Show a transfer; one to or from a cleaning run without its strength."""
    said, went = _as_said(move), book.moved(move)
    if {move.from_lot, move.to_lot} & book.silent:
        went = without_strength(went)
        said |= dict.fromkeys(("reading_abv", "reading_error_abv", "instrument"))
    return TransferBody(**said, at_20_c=content_body(went))


def _columns(body: TransferFields, said: set[str]) -> dict[str, Any]:
    return {name: getattr(body, name) for name in _SAID if name in said}


def _as_said(move: Transfer) -> dict[str, Any]:
    own = {name: getattr(move, name) for name in _SAID}
    return entry(move) | own | {"at": move.effective_at}


def _at(lot_id: UUID) -> ColumnElement[bool]:
    return or_(col(Transfer.from_lot) == lot_id, col(Transfer.to_lot) == lot_id)


add_ways_back(
    router, Transfer, "/{transfer_id}", TransferBody, _body,
    back="Take a transfer back that never was.",
    undone="Take the last change of a transfer back; undoing that brings it back.",
)  # fmt: skip
