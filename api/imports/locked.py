"""What of a past run would change a locked period of the stock book, and what of it may come in.

A temperature or a mark moves no stock, so an old run may always be imported; what was charged into
it and what was collected from it moved stock then, and a lock says that nothing else did.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from api.house import House
from api.imports.bodies import NewImport
from api.imports.notes import JarNote
from logger.errors import ConflictError
from logger.store import facts
from logger.store.record_tables import StockLock


def check_unlocked(
    house: House, order: NewImport, from_at: datetime, jars: Sequence[JarNote]
) -> None:
    """Raise where the run's stock moved in a locked period, and say what to leave out."""
    locks = facts.all_current(house.engine, StockLock)
    until = max((one.effective_at for one in locks), default=None)
    if until is None:
        return
    found = dict(_moved(until, order, from_at, jars))
    if found:
        what = " and ".join(found.values())
        raise ConflictError(
            f"The stock book is locked up to {until.isoformat(timespec='minutes')}, and {what} of "
            f"this run would change it. Import it without {what}: its temperatures and marks go "
            "in.",
            field=next(iter(found)),
        )


def _moved(
    until: datetime, order: NewImport, from_at: datetime, jars: Sequence[JarNote]
) -> Iterator[tuple[str, str]]:
    """Name what moved before, by its field; a jar that began later is of the open book."""
    if order.charge_volume_l is not None and from_at < until:
        yield "charge_volume_l", "the charge"
    if any(one.began_at < until for one in jars):
        yield "jars", "the jars"
