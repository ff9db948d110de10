"""Jars from which more was poured than the books now say they held.

When it was poured it fitted: a pouring of more than a jar holds is refused. But what a jar holds
may follow from readings of others. One that was weighed and not read has a strength between its
neighbours', and its volume with it; an empty jar weighed again moves every jar of its number. Such
a later entry is never refused for it, as it may well be the true one: the jar is doubted, and the
doubt names what moved it.
"""

from collections.abc import Iterator, Sequence
from itertools import islice
from uuid import UUID

from api.record.books_read import BooksRead
from api.record.claims import Doubt
from api.record.collected import Collected
from api.record.ledger import SAME_L, Step
from logger.store.record_tables import Transfer


def overpoured(read: BooksRead, jar: UUID) -> Doubt | None:
    """Point out a jar whose book falls below nothing."""
    book = read.books.get(jar, ())
    row = next((jars for jars in read.jars.values() if any(_is(one, jar) for one in jars)), ())
    here = next((place for place, one in enumerate(row) if _is(one, jar)), None)
    if here is None or not book or book[-1].held.volume_l >= -SAME_L:
        return None
    one = row[here]
    name = f"jar {one.jar.number} of {read.name_of(one.jar.run)}"
    under = -book[-1].held.alcohol
    sentence = f"{_told(name, book)} {_why(read, row, here)}"
    return Doubt(name, sentence, under.pure_alcohol_l, under.error_l)


def _is(one: Collected, jar: UUID) -> bool:
    return one.jar.about == jar


def _told(name: str, book: Sequence[Step]) -> str:
    held_l = sum(step.change.volume_l for step in book if not step.is_out)
    return (
        f"{name}: {held_l - book[-1].held.volume_l:.3f} L were poured from it, and by what stands "
        f"now it held {held_l:.3f} L."
    )


def _why(read: BooksRead, row: Sequence[Collected], here: int) -> str:
    """Say what its volume stands on, what of that is younger than the pouring, and what to do."""
    one = row[here]
    if one.basis != "between":
        return "Correct its reading, what its empty jar weighs, or the volume that was poured."
    by = list(_neighbours(row, here))
    poured = [move for move in read.transfers if move.from_lot == one.jar.about]
    moved = [each for each in by if _is_younger(each, poured)]
    stands_on = f"Its strength lies between the readings of {_named(by)}, its volume with it"
    after = f"; {_named(moved)} was changed after the pouring" if len(moved) == 1 else ""
    after = f"; {_named(moved)} were changed after the pouring" if len(moved) > 1 else after
    return (
        f"{stands_on}{after}. See whether the reading of {_named(moved or by)} is right; if it is, "
        "enter this jar's own strength, or correct the volume that was poured."
    )


def _neighbours(row: Sequence[Collected], here: int) -> Iterator[Collected]:
    """Give the nearest jars before and after that were read."""
    for side in (reversed(row[:here]), row[here + 1 :]):
        yield from islice((one for one in side if one.basis == "read"), 1)


def _is_younger(one: Collected, poured: Sequence[Transfer]) -> bool:
    return any(one.jar.recorded_at > move.recorded_at for move in poured)


def _named(jars: Sequence[Collected]) -> str:
    return " and ".join(f"jar {one.jar.number}" for one in jars)
