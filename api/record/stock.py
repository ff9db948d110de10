"""The stock book of a period, for each vessel and the site: shown, written as CSV, locked."""

import csv
import io
from collections.abc import Iterator
from datetime import datetime
from typing import Annotated, Any
from uuid import UUID

from fastapi import Query
from pydantic import AwareDatetime, BaseModel, Field, StringConstraints
from sqlmodel import col
from starlette.responses import Response

from api.access import Asking, Role, needs
from api.entries import PRINTABLE, NewEntry, entered
from api.errors import declared
from api.house import Housed
from api.record.balance import BulkBody, DoubtBody, plain
from api.record.balancing import short_of
from api.record.beside import beside_id
from api.record.books_read import BooksRead, read_books
from api.record.entering import Note, add, moment
from api.record.entries import EntryBody, body_of
from api.record.ledger import Bulk
from api.record.measures import measure_columns
from api.record.stocking import COLUMNS, Stock, stock
from api.record.words import GaugedFields
from api.routing import Router
from api.site import stored
from logger.errors import NotFoundError, RangeError
from logger.store import facts
from logger.store.record_tables import Jar, Lot, Measure, StageEntry, StockLock, Transfer

router = Router(prefix="/stock", tags=["stock"], dependencies=[needs(Role.WATCH)])
ELSEWHERE = "in no vessel"
SITE = "the site"
Why = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=3, max_length=500, pattern=PRINTABLE),
]
From = Annotated[AwareDatetime | None, Query(alias="from", description="Null: the beginning.")]
To = Annotated[AwareDatetime | None, Query(description="Null: now; itself excluded.")]


class StockRow(BaseModel):
    """One row: opening + received + produced - used - lost - destroyed - sampled + difference.

    `difference` is what gaugings found more than the book said.
    """

    vessel_id: UUID | None
    name: str
    opening: BulkBody
    received: BulkBody
    produced: BulkBody
    used: BulkBody
    lost: BulkBody
    destroyed: BulkBody
    sampled: BulkBody
    difference: BulkBody
    closing: BulkBody


class StockBook(BaseModel):
    """The stock book of a period; what is in a still is used, and comes back as produced."""

    from_at: AwareDatetime
    to_at: AwareDatetime
    locked_until: AwareDatetime | None
    left_out: Annotated[int, Field(description="Entries without a measured volume or strength.")]
    rows: Annotated[list[StockRow], Field(description="Each vessel, then the site.")]
    doubts: Annotated[
        list[DoubtBody], Field(description="Lots and jars that gave more than they had.")
    ]


class NewLock(NewEntry):
    """A period to lock: everything before `until`."""

    until: AwareDatetime
    note: Note = ""


class LockBody(BaseModel):
    """A lock of the stock book."""

    id: UUID
    until: AwareDatetime
    who: str
    recorded_at: AwareDatetime
    note: str


class NewCorrection(GaugedFields):
    """What a lot was found to be, and which entry of a locked period that puts right."""

    id: UUID | None = None
    lot_id: UUID
    corrects: Annotated[UUID, Field(description="The transfer, measure or jar that was wrong.")]
    why: Why
    at: AwareDatetime | None = None


@router.get("", responses=declared(422))
def shown(house: Housed, from_: From = None, to: To = None) -> StockBook:
    """Return the stock book of a period."""
    read = read_books(house.reader.engine)
    from_at, to_at = _period(house.now, from_, to)
    return StockBook(
        from_at=from_at,
        to_at=to_at,
        locked_until=_locked_until(house),
        left_out=len(read.left_out),
        rows=[_row(*one) for one in _rows(read, from_at, to_at)],
        doubts=[
            DoubtBody.of(doubt)
            for node, book in read.books.items()
            if book[0].at < to_at
            for doubt in short_of(read, node)
        ],
    )


@router.get(
    ".csv",
    response_class=Response,
    responses={
        200: {
            "description": "One row a vessel, then the site; each column as litres at 20 °C and "
            "as litres of pure alcohol.",
            "content": {"text/csv": {"schema": {"type": "string"}}},
        }
    },
)
def as_csv(house: Housed, from_: From = None, to: To = None) -> Response:
    """Return the stock book of a period as CSV."""
    from_at, to_at = _period(house.now, from_, to)
    text = io.StringIO()
    out = csv.writer(text)
    parts = [f"{name}_{unit}" for name in COLUMNS for unit in ("volume_l", "pure_alcohol_l")]
    out.writerow(["from", "to", "vessel", *parts])
    for name, _, row in _rows(read_books(house.reader.engine), from_at, to_at):
        numbers = [f"{value:.3f}" for column in COLUMNS for value in _numbers(getattr(row, column))]
        out.writerow([from_at.isoformat(), to_at.isoformat(), _cell(name), *numbers])
    of = "simulated-stock" if stored(house.reader.engine)[0].simulated else "stock"
    file = f"{of}-{from_at.date()}-to-{to_at.date()}.csv"
    return Response(
        text.getvalue(),
        media_type="text/csv; charset=utf-8",
        headers={"content-disposition": f'attachment; filename="{file}"'},
    )


@router.get("/locks")
def locks(house: Housed) -> list[LockBody]:
    """Return the locks there are."""
    return [_lock(one) for one in facts.all_current(house.reader.engine, StockLock)]


@router.post("/locks", status_code=201, dependencies=[needs(Role.OWN)], responses=declared(409))
def lock(house: Housed, asking: Asking, body: NewLock) -> LockBody:
    """Lock a period for good: what is wrong in it is put right by later entries."""
    columns = entered(house, asking, moment(house, body.until, "until"))
    made = StockLock.first(id=body.id, note=body.note, **columns)
    return _lock(add(house, made))


@router.post(
    "/corrections",
    status_code=201,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def correction(house: Housed, asking: Asking, body: NewCorrection) -> EntryBody:
    """Put right what a locked period has wrong: a gauging after it that names what it corrects."""
    found = measure_columns(body)
    _check_touches(house, body.corrects, facts.get(house.reader.engine, Lot, body.lot_id))
    at = moment(house, body.at)
    until = _locked_until(house)
    if until is not None and at < until:
        raise RangeError(
            f"A correction is dated after the lock of {until.isoformat(timespec='minutes')}; "
            "give a later time.",
            field="at",
        )
    columns: dict[str, Any] = entered(house, asking, at)
    entry = StageEntry.first(
        id=body.id, kind="correction", lot=body.lot_id, refers=body.corrects, text=body.why,
        **columns,
    )  # fmt: skip
    measure = Measure.first(id=beside_id(entry), lot=body.lot_id, **columns, **found)
    return body_of(add(house, entry, measure))


def _check_touches(house: Housed, corrects: UUID, lot: Lot) -> None:
    """See that what is corrected is an entry, and one of the lot that was found to be otherwise."""
    engine = house.reader.engine
    moves = facts.all_current(engine, Transfer, col(Transfer.about) == corrects)
    measures = facts.all_current(engine, Measure, col(Measure.about) == corrects)
    jars = facts.all_current(engine, Jar, col(Jar.about) == corrects)
    if not (moves or measures or jars):
        raise NotFoundError(
            f"There is no transfer, measure or jar {corrects}; give the entry that was wrong."
        )
    poured = facts.all_current(engine, Transfer, col(Transfer.from_lot) == corrects) if jars else ()
    touched = {end for one in (*moves, *poured) for end in (one.from_lot, one.to_lot)}
    if lot.about not in touched | {one.lot for one in measures}:
        raise RangeError(
            f"That entry is not of {lot.name}: nothing came into it or left it there, nor was it "
            "measured; give an entry of this lot, or choose the lot that was wrong.",
            field="corrects",
        )


def _locked_until(house: Housed) -> datetime | None:
    found = facts.all_current(house.reader.engine, StockLock)
    return max((one.effective_at for one in found), default=None)


def _period(now: datetime, from_at: datetime | None, to_at: datetime | None) -> tuple[
    datetime, datetime
]:  # fmt: skip
    end = to_at or now
    begin = from_at or datetime(1970, 1, 1, tzinfo=now.tzinfo)
    if begin >= end:
        raise RangeError(
            f"The period would end at {end.isoformat()}, not after its begin at "
            f"{begin.isoformat()}; give a later end.",
            field="to",
        )
    return begin, end


def _rows(
    read: BooksRead, from_at: datetime, to_at: datetime
) -> Iterator[tuple[str, UUID | None, Stock]]:
    """Give the row of each vessel that holds or held a lot, of what is in none, and of the site.

    A run is a still at work: it is no stock, so what goes into it is used, what comes is produced.
    """
    of_run = read.jar_runs
    lots = {node: read.lots[node].vessel for node in read.books if node in read.lots}
    lots |= {node: None for node in read.books if node in of_run}
    held = sorted({one for one in lots.values() if one is not None}, key=str)
    for vessel in held:
        name = read.vessels[vessel].name if vessel in read.vessels else str(vessel)
        ours = {node for node, place in lots.items() if place == vessel}
        yield name, vessel, stock(read.books, ours.__contains__, from_at, to_at)
    loose = {node for node, place in lots.items() if place is None}
    yield ELSEWHERE, None, stock(read.books, loose.__contains__, from_at, to_at)
    yield SITE, None, stock(read.books, lots.__contains__, from_at, to_at)


def _row(name: str, vessel: UUID | None, row: Stock) -> StockRow:
    columns = {column: BulkBody.of(getattr(row, column)) for column in COLUMNS}
    return StockRow(vessel_id=vessel, name=name, **columns)


def _numbers(bulk: Bulk) -> tuple[float, float]:
    """Give litres and pure alcohol; nothing is not written as minus nothing."""
    return plain(bulk.volume_l), plain(bulk.alcohol.pure_alcohol_l)


def _cell(text: str) -> str:
    """Keep a spreadsheet from taking a name for a formula."""
    return f"'{text}" if text[:1] in {"=", "+", "-", "@"} else text


def _lock(one: StockLock) -> LockBody:
    return LockBody(
        id=one.about,
        until=one.effective_at,
        who=one.who,
        recorded_at=one.recorded_at,
        note=one.note,
    )
