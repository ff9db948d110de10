"""What a vessel would have in it by the books, against what it holds.

Asked in the transaction that stores, beside `record_rules`, which sees only what was measured: what
"all of it" comes to, and what several lots in one tank hold together, the books alone can tell.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from sqlmodel import Session, col

from api.record.drawn import check_drawn
from api.record.lot_book import EVER, LotBook
from logger.errors import RangeError
from logger.store.gauging import ROUNDING_L
from logger.store.jar_rules import check_jar
from logger.store.record_tables import Gauged, Jar, Lot, Measure, Transfer
from logger.store.standing import current
from logger.store.tables import Fact, Occupancy, Vessel

MOMENT: Final = timedelta(microseconds=1)
OF_A_READING: Final = (Gauged.model_fields.keys() - Fact.model_fields.keys()) | {"number"}


def check_room(session: Session, new: Sequence[Fact]) -> None:
    """Raise where facts just added put more into a vessel than it holds."""
    book = LotBook(session)
    for fact in new:
        if fact.withdrawn:
            continue
        if isinstance(fact, Jar) and _is_read_anew(session, fact):
            _check_jar(session, book, fact.about)
        elif isinstance(fact, Transfer):
            _check_jar(session, book, fact.from_lot)
            check_drawn(session, book, fact)
        if isinstance(fact, Transfer) and fact.to_lot is not None:
            _check_still(session, book, fact)
            _check_tank(session, book, fact.to_lot, fact.effective_at)
        elif isinstance(fact, Measure):
            _check_tank(session, book, fact.lot, fact.effective_at)
        elif isinstance(fact, Lot) and _is_moved(session, fact):
            _check_tank(session, book, fact.about, None)


def _check_jar(session: Session, book: LotBook, about: UUID | None) -> None:
    """See that no more was poured from a jar than the books say it held, nor more than fits."""
    for jar in current(session, Jar, col(Jar.about) == about):
        check_jar(session, jar, book.filled(jar.about))


def _is_read_anew(session: Session, jar: Jar) -> bool:
    """Say whether its own reading changed: one shrunk by another's can be tasted all the same."""
    old = None if jar.supersedes is None else session.get(Jar, jar.supersedes)
    if old is None or old.withdrawn:
        return True
    return any(getattr(old, name) != getattr(jar, name) for name in OF_A_READING)


def _is_moved(session: Session, lot: Lot) -> bool:
    """Say whether a lot was put where it was not: its name may change in any tank."""
    old = None if lot.supersedes is None else session.get(Lot, lot.supersedes)
    return old is None or old.withdrawn or old.vessel != lot.vessel


def _check_still(session: Session, book: LotBook, charge: Transfer) -> None:
    """See that the charges of a run fit in its still, also those of all there was."""
    runs = current(session, Occupancy, col(Occupancy.about) == charge.to_lot)
    still = _vessel(session, runs[0].vessel) if runs else None
    if still is None or still.volume_l is None:
        return
    came = current(session, Transfer, col(Transfer.to_lot) == charge.to_lot)
    whole_l = sum(_volume_l(book, one) for one in came)
    if whole_l > still.volume_l + ROUNDING_L:
        what = f"All that is in {_name(session, charge.from_lot)} comes to "
        own_l = _volume_l(book, charge)
        what = "This charge comes to " if charge.volume_l or charge.mass_kg else what
        with_it = "" if len(came) == 1 else f", and with what went in before to {whole_l:.1f} L"
        raise RangeError(
            f"{what}{own_l:.1f} L{with_it}; {still.name} holds {still.volume_l:g} L. Give the "
            "volume that went in, or choose the vessel it is in.",
            field="volume_l",
        )


def _check_tank(session: Session, book: LotBook, lot_id: UUID, at: datetime | None) -> None:
    """See that a lot fits beside the others in its vessel, at a moment or as it stands now.

    What leaves a cask by its wood is in no book before it is weighed: a cask is not judged so.
    """
    lots = current(session, Lot, col(Lot.about) == lot_id)
    tank = _vessel(session, lots[0].vessel) if lots and lots[0].vessel else None
    if tank is None or tank.volume_l is None or tank.kind == "cask":
        return
    then = EVER if at is None else at + MOMENT
    grown_l = book.held(lot_id, then).volume_l or 0.0
    if grown_l <= (0.0 if at is None else book.held(lot_id, at).volume_l or 0.0):
        return  # what leaves, or is found to be less, is never refused
    inside = [(one.name, book.held(one.about, then).volume_l or 0.0)
              for one in current(session, Lot, col(Lot.vessel) == tank.about)]  # fmt: skip
    whole_l = sum(volume_l for _, volume_l in inside)
    if whole_l > tank.volume_l + ROUNDING_L:
        raise RangeError(
            f"{tank.name} holds {tank.volume_l:g} L, and by the record {whole_l:.1f} L would be "
            f"in it: {_listed(inside)}; correct the volume or the vessel, or enter first what "
            "left it.",
            field="vessel_id" if at is None else "volume_l",
        )


def _volume_l(book: LotBook, move: Transfer) -> float:
    """Return what went as it was measured, hot or cold; what was not measured, by the books."""
    return move.volume_l or book.moved(move).volume_l or 0.0


def _name(session: Session, source: UUID | None) -> str:
    lots = current(session, Lot, col(Lot.about) == source)
    jars = current(session, Jar, col(Jar.about) == source)
    return lots[0].name if lots else f"jar {jars[0].number}" if jars else "it"


def _listed(inside: Iterable[tuple[str, float]]) -> str:
    held = [f"{volume_l:.1f} L of {name}" for name, volume_l in inside if volume_l > 0.0]
    shown = held if len(held) <= 3 else [*held[:3], "and more"]
    return ", ".join(shown)


def _vessel(session: Session, about: UUID) -> Vessel | None:
    found = current(session, Vessel, col(Vessel.about) == about)
    return found[0] if found else None
