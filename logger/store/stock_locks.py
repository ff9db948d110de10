"""A locked period of the stock book: what moved or was measured in it stands as it is.

Whatever is wrong in it is put right by an entry dated after the lock, which names what it corrects.
Checked in the transaction that stores.
"""

from collections.abc import Sequence
from datetime import datetime

from sqlmodel import Session

from logger.errors import ConflictError
from logger.store.record_tables import Gauged, Jar, Lot, Measure, StockLock, Transfer
from logger.store.standing import current
from logger.store.tables import Fact

QUANTITIES = frozenset(Gauged.model_fields) - set(Fact.model_fields) | {"effective_at", "withdrawn"}
ENDS = frozenset({"from_lot", "to_lot", "kind", "lot", "run"})


def locked_until(session: Session) -> datetime | None:
    """Return up to when the stock book is locked; None where it never was."""
    return max((one.effective_at for one in current(session, StockLock)), default=None)


def check_unlocked(session: Session, new: Sequence[Fact]) -> None:
    """Raise where facts would change what a locked period holds."""
    locks = [fact for fact in new if isinstance(fact, StockLock)]
    if any(fact.supersedes is not None for fact in locks):
        raise ConflictError(
            "A lock of the stock book stays; put what is wrong right by an entry after it."
        )
    until = locked_until(session)
    if until is None:
        return
    for fact in new:
        if _touches(session, fact, until):
            raise ConflictError(
                f"The stock book is locked up to {until.isoformat(timespec='minutes')}; enter a "
                "correction dated after it that names what it corrects."
            )


def _touches(session: Session, fact: Fact, until: datetime) -> bool:
    if not isinstance(fact, Measure | Transfer | Jar | Lot):
        return False
    old = None if fact.supersedes is None else session.get(type(fact), fact.supersedes)
    if old is None:
        return fact.effective_at < until and not isinstance(fact, Lot)
    if min(fact.effective_at, old.effective_at) >= until:
        return False
    if isinstance(fact, Lot):  # its name and its batch are words; where it lies is stock
        return _differ(fact, old, {"vessel", "withdrawn"})
    return _differ(fact, old, QUANTITIES | ENDS)  # a jar's cut may be judged next day


def _differ(fact: Fact, old: Fact, names: frozenset[str] | set[str]) -> bool:
    return any(getattr(fact, name, None) != getattr(old, name, None) for name in names)
