"""A locked period of the stock book: what moved or was measured in it stands as it is.

Whatever is wrong in it is put right by an entry dated after the lock, which names what it corrects.
Checked in the transaction that stores.
"""

from collections.abc import Sequence
from datetime import datetime

from sqlmodel import Session, col

from logger.errors import ConflictError
from logger.store.record_tables import (
    Gauged,
    Jar,
    JarVessel,
    Lot,
    Mark,
    Measure,
    StockLock,
    Transfer,
)
from logger.store.standing import current
from logger.store.tables import Fact, Occupancy

QUANTITIES = frozenset(Gauged.model_fields) - set(Fact.model_fields) | {"effective_at", "withdrawn"}
ENDS = frozenset({"from_lot", "to_lot", "kind", "lot", "run", "number", "ended_at"})


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
    old = None if fact.supersedes is None else session.get(type(fact), fact.supersedes)
    if isinstance(fact, JarVessel):
        return _weighs_anew(session, fact, old, until)
    if isinstance(fact, Mark | Occupancy):
        return _ends_anew(session, fact, old, until)
    if isinstance(fact, Measure | Transfer | Jar | Lot):
        return _says_anew(fact, old, until)
    return False


def _says_anew(fact: Fact, old: Fact | None, until: datetime) -> bool:
    if old is None:
        return fact.effective_at < until and not isinstance(fact, Lot)
    if min(fact.effective_at, old.effective_at) >= until:
        return False
    if isinstance(fact, Lot):  # its name and its batch are words; where it lies is stock
        return _differ(fact, old, {"vessel", "withdrawn"})
    return _differ(fact, old, QUANTITIES | ENDS)  # a jar's cut may be judged next day


def _weighs_anew(session: Session, fact: JarVessel, old: Fact | None, until: datetime) -> bool:
    """Say whether a tare would change what was weighed in a jar of that number."""
    if fact.tare_kg == getattr(old, "tare_kg", None):
        return False
    jars = current(session, Jar, col(Jar.number) == fact.number)
    return any(one.mass_kg is not None and one.effective_at < until for one in jars)


def _ends_anew(session: Session, fact: Mark | Occupancy, old: Fact | None, until: datetime) -> bool:
    """Say whether a run's end, or its purpose, would change when its jars were full, or what of."""
    run = fact.run if isinstance(fact, Mark) else fact.about
    if isinstance(fact, Mark):
        ends = [one for one in (fact, old) if getattr(one, "kind", None) == "end"]
        moved = old is None or _differ(fact, old, {"kind", "effective_at", "withdrawn"})
        times = [one.effective_at for one in ends if one is not None] if moved else []
    elif old is None:
        return False
    else:
        moments = [getattr(one, "ended_at", None) for one in (fact, old)]
        times = [one for one in moments if one is not None and moments[0] != moments[1]]
        times += [old.effective_at] if _differ(fact, old, {"stage"}) else []
    return any(one < until for one in times) and bool(current(session, Jar, col(Jar.run) == run))


def _differ(fact: Fact, old: Fact, names: frozenset[str] | set[str]) -> bool:
    return any(getattr(fact, name, None) != getattr(old, name, None) for name in names)
