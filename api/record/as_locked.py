"""Jars as they stood when the stock book was locked over them.

A jar that nobody read has the strength between its neighbours: a reading after the lock would give
one to a jar in the locked period, or change what it had. So a jar that was full before the lock
keeps what could be known of it when the lock was made.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from sqlmodel import Session, col, select

from logger.store.record_tables import Jar, StockLock
from logger.store.standing import current


@dataclass(frozen=True, slots=True)
class AsLocked:
    """A run's jars, in the order they were begun, as they stood when a lock was made."""

    until: datetime
    jars: Sequence[Jar]


def as_locked(session: Session, jars: Sequence[Jar]) -> Mapping[UUID, Sequence[AsLocked]]:
    """Read by run what the locks hold of jars, the lock that was made first first."""
    locks = sorted(current(session, StockLock), key=lambda one: one.recorded_at)
    last = max((one.effective_at for one in locks), default=None)
    runs = {one.run for one in jars if last is not None and one.effective_at < last}
    if not runs:
        return {}
    told = session.exec(select(Jar).where(col(Jar.run).in_(runs))).all()
    by_run = {run: [one for one in told if one.run == run] for run in runs}
    return {
        run: [AsLocked(lock.effective_at, _stood(versions, lock.recorded_at)) for lock in locks]
        for run, versions in by_run.items()
    }


def _stood(versions: Sequence[Jar], at: datetime) -> Sequence[Jar]:
    """Return the newest version of each jar that was recorded by then."""
    newest: dict[UUID, Jar] = {}
    for one in sorted(versions, key=lambda one: one.version):
        if one.recorded_at <= at:
            newest[one.about] = one
    kept = [one for one in newest.values() if not one.withdrawn]
    return sorted(kept, key=lambda one: (one.effective_at, one.id))
