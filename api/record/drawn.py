"""What is taken from a lot, against what its book says was there.

A shortage beyond the errors of both measurements is refused where it is entered: nobody pours what
is not there, so a volume is wrong or something is missing from the book, and the hand that holds
the jug knows which. Within the errors it is taken as it was read. A lot of which nothing was
entered is not judged, nor one that a later correction shrinks: that is kept, and doubted.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from sqlmodel import Session, col

from api.record.amounts import COVERAGE
from api.record.ledger import SAME_L
from api.record.lot_book import LotBook
from logger.errors import RangeError
from logger.store.gauging import Content
from logger.store.record_tables import Lot, Measure, Transfer
from logger.store.standing import current

MOMENT: Final = timedelta(microseconds=1)
TWO_DECIMALS_BELOW_L: Final = 10.0


def check_drawn(session: Session, book: LotBook, move: Transfer) -> None:
    """Raise where more would be taken from a lot than its book and both errors allow."""
    lots = current(session, Lot, col(Lot.about) == move.from_lot)
    if not lots or not (move.volume_l or move.mass_kg) or _is_no_more(session, book, move):
        return
    for at, left in _lefts(session, book, lots[0].about, move.effective_at):
        if left.volume_l is None:
            return
        sure_l = COVERAGE * (left.volume_error_l or 0.0)
        if -left.volume_l > sure_l + SAME_L:
            raise RangeError(
                _sentence(lots[0].name, left.volume_l, book.moved(move).volume_l or 0.0, sure_l,
                          later=None if at == move.effective_at else at),
                field="volume_l" if move.mass_kg is None else "mass_kg",
            )  # fmt: skip


def _lefts(
    session: Session, book: LotBook, lot: UUID, since: datetime
) -> Iterator[tuple[datetime, Content]]:
    """Give what is left after a moment and after each later taking, until it was gauged again."""
    came = [one.effective_at for one in current(session, Transfer, col(Transfer.to_lot) == lot)]
    gauged = [one.effective_at for one in current(session, Measure, col(Measure.lot) == lot)
              if one.volume_l is not None or one.mass_kg is not None]  # fmt: skip
    if not any(at <= since for at in came) and not any(at < since for at in gauged):
        return  # nothing is known of it then
    went = current(session, Transfer, col(Transfer.from_lot) == lot)
    end = min((at for at in gauged if at >= since), default=None)
    for at in sorted({one.effective_at for one in went if one.effective_at >= since}):
        if end is not None and at >= end:
            return
        yield at, book.held(lot, at + MOMENT)


def _is_no_more(session: Session, book: LotBook, move: Transfer) -> bool:
    """Say whether a correction takes no more than what stood, and from the same at the same time.

    It is never refused: it may be what puts a book right that fell below nothing.
    """
    old = None if move.supersedes is None else session.get(Transfer, move.supersedes)
    if old is None or old.withdrawn or not (old.volume_l or old.mass_kg):
        return False
    same = (old.from_lot, old.effective_at) == (move.from_lot, move.effective_at)
    return same and (book.moved(move).volume_l or 0.0) <= (book.moved(old).volume_l or 0.0)


def _sentence(
    name: str, left_l: float, taken_l: float, sure_l: float, *, later: datetime | None
) -> str:
    if later is not None:
        return (
            f"{_told(taken_l)} from {name} would leave its book {_told(-left_l)} short by "
            f"{later.isoformat(' ', 'minutes')}, with what was taken from it after, and the "
            f"measurements are good to {_told(sure_l)}; correct the volume or the time, or enter "
            "first what came into it or what was found in it."
        )
    there_l = max(taken_l + left_l, 0.0)
    # An error worked out of a slip of the fingers says nothing.
    sure = f" (the measurements are good to {_told(sure_l)})" if sure_l < there_l else ""
    return (
        f"{name} held {_told(there_l)} by its book and {_told(taken_l)} would be taken from it"
        f"{sure}: correct the amount, or enter first what came into it or what was found in it."
    )


def _told(litres: float) -> str:
    return f"{litres:.2f} L" if litres < TWO_DECIMALS_BELOW_L else f"{litres:.1f} L"
