"""What a cask holds by weight, and what it has lost by itself since it was weighed first."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Final
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field
from sqlmodel import Session, col, or_

from api.house import House
from api.record.entries import strength_in_entry
from api.record.lot_book import LotBook
from calc.ageing import cask_by_weight, cask_loss
from calc.errors import OutOfRangeError
from logger.store.failures import file_of, told
from logger.store.record_tables import Lot, StageEntry, Transfer
from logger.store.standing import current

YEAR_S: Final = 365.25 * 86_400.0
# New wood drinks at first, and a scale's error is much of what goes in weeks: a year cannot be
# told from less. Common practice, no source.
LEAST_YEARS: Final = 0.25


class CaskBody(BaseModel):
    """A cask as it was weighed last."""

    lot_id: UUID
    name: str
    weighed_at: AwareDatetime
    volume_l: float
    abv: float
    pure_alcohol_l: float
    lost_pure_alcohol_l: Annotated[
        float | None,
        Field(description="Since the first weighing, beside what was topped up and drawn."),
    ]
    loss_percent_per_year: float | None
    loss_why: Annotated[str | None, Field(description="Why no loss in a year can be told.")]


@dataclass(frozen=True, slots=True)
class _Weighed:
    at: datetime
    abv: float
    volume_l: float
    pure_alcohol_l: float


@dataclass(frozen=True, slots=True)
class _Loss:
    lost_pure_alcohol_l: float | None = None
    percent_per_year: float | None = None
    why: str | None = None


def casks(house: House, said: Sequence[StageEntry]) -> list[CaskBody]:
    """Give the casks among entries that were weighed, and of known strength."""
    by_lot: dict[UUID, list[StageEntry]] = {}
    for one in said:
        if one.kind == "cask_weight" and one.lot is not None:
            by_lot.setdefault(one.lot, []).append(one)
    engine = house.reader.engine
    with told(file_of(engine)), Session(engine) as session:
        book = LotBook(session)
        shown = [_cask(session, book, lot, rows) for lot, rows in by_lot.items()]
    return [one for one in shown if one is not None]


def _cask(
    session: Session, book: LotBook, lot_id: UUID, rows: Sequence[StageEntry]
) -> CaskBody | None:
    lots = current(session, Lot, col(Lot.about) == lot_id)
    weighed = [found for one in rows if (found := _weighed(book, lot_id, one)) is not None]
    if not weighed or not lots:
        return None
    first, last = weighed[0], weighed[-1]
    loss = _loss(first, last, _came_l(session, book, lot_id, first.at, last.at))
    return CaskBody(
        lot_id=lot_id,
        name=lots[0].name,
        weighed_at=last.at,
        volume_l=last.volume_l,
        abv=last.abv,
        pure_alcohol_l=last.pure_alcohol_l,
        lost_pure_alcohol_l=loss.lost_pure_alcohol_l,
        loss_percent_per_year=loss.percent_per_year,
        loss_why=loss.why,
    )


def _weighed(book: LotBook, lot_id: UUID, one: StageEntry) -> _Weighed | None:
    abv = strength_in_entry(one)
    if abv is None:
        strength = book.held(lot_id, one.effective_at).strength or book.held(lot_id).strength
        abv = None if strength is None else strength.abv
    if abv is None or one.mass_kg is None or one.tare_kg is None:
        return None
    held = cask_by_weight(one.mass_kg, one.tare_kg, abv)
    return _Weighed(one.effective_at, abv, held.volume_at_20_c_l, held.pure_alcohol_l)


def _came_l(
    session: Session, book: LotBook, lot_id: UUID, after: datetime, until: datetime
) -> float | None:
    """Add up the pure alcohol that came, less what was drawn; None where a part is not known."""
    touching = or_(col(Transfer.from_lot) == lot_id, col(Transfer.to_lot) == lot_id)
    between = (col(Transfer.effective_at) > after, col(Transfer.effective_at) <= until)
    came_l = 0.0
    for one in current(session, Transfer, touching, *between):
        went_l = book.moved(one).pure_alcohol_l
        if went_l is None:
            return None
        came_l += went_l if one.to_lot == lot_id else -went_l
    return came_l


def _loss(first: _Weighed, last: _Weighed, came_l: float | None) -> _Loss:
    """Hold the last weighing against the first and what came and was drawn between them."""
    if first is last:
        return _Loss(why="The cask was weighed once; weigh it again after three months or more.")
    if came_l is None:
        return _Loss(why="What came or was drawn between the weighings has no strength; enter it.")
    had_l = first.pure_alcohol_l + came_l
    lost_l = had_l - last.pure_alcohol_l
    years = (last.at - first.at).total_seconds() / YEAR_S
    if years < LEAST_YEARS:
        return _Loss(lost_l, why="Less than three months lie between the weighings.")
    try:
        whole_l = 100.0 * had_l / first.abv
        found = cask_loss(whole_l, first.abv, last.volume_l, last.abv, years)
    except (OutOfRangeError, ZeroDivisionError):
        return _Loss(
            lost_l,
            why="The weighings do not fit what came and was drawn between them; check them.",
        )
    return _Loss(lost_l, found.loss_percent_per_year)
