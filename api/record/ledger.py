"""The books of lots: what came, what went and by which way, what was found at each gauging.

Pure functions over the movements and gaugings of the record. A gauging sets a lot's book value to
what was measured; what the books had said otherwise stands as a difference of its own, so that
came - gone + difference = held, of every lot, every vessel, every batch and the site.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final, Literal
from uuid import UUID

from api.record.amounts import ROUNDING_L, Amount

Way = Literal[
    "receive", "charge", "collect", "merge", "blend", "dilute", "bottle", "move", "sample",
    "discard", "destroy", "loss", "use",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Bulk:
    """A volume at 20 °C and the pure alcohol in it."""

    volume_l: float = 0.0
    alcohol: Amount = field(default_factory=Amount)

    def __add__(self, other: "Bulk") -> "Bulk":
        return Bulk(self.volume_l + other.volume_l, self.alcohol + other.alcohol)

    def __neg__(self) -> "Bulk":
        return Bulk(-self.volume_l, -self.alcohol)

    def __sub__(self, other: "Bulk") -> "Bulk":
        return self + -other


NOTHING: Final = Bulk()
SAME_L: Final = 1e-3  # one volume, brought to 20 °C by the strengths of parts or of the whole


@dataclass(frozen=True, slots=True)
class Movement:
    """Liquid that went from one lot to another; None is outside the books."""

    id: UUID
    at: datetime
    way: Way
    from_lot: UUID | None
    to_lot: UUID | None
    bulk: Bulk
    is_all: bool = False  # all that was there, however much that was


@dataclass(frozen=True, slots=True)
class Gauging:
    """What a lot was found to hold."""

    id: UUID
    at: datetime
    lot: UUID
    bulk: Bulk


@dataclass(frozen=True, slots=True)
class Step:
    """One entry in a lot's book: what changed, why, and what it held then."""

    at: datetime
    source: UUID  # the movement's or the gauging's id
    way: Way | Literal["gauged", "made"]
    other: UUID | None
    change: Bulk
    held: Bulk
    is_out: bool = False


def books(
    movements: Iterable[Movement], gaugings: Iterable[Gauging]
) -> Mapping[UUID, Sequence[Step]]:
    """Return the book of each lot, in order of time.

    Of what happened at one moment, movements stand before gaugings: a lot is gauged as it stands.
    A lot's first gauging with nothing before it says what it was when it was made.
    """
    events = sorted(
        (*_of_movements(movements), *_of_gaugings(gaugings)), key=lambda one: (one.at, one.order)
    )
    made: dict[UUID, list[Step]] = defaultdict(list)
    emptied: dict[UUID, Bulk] = {}  # what went with each movement of all that was there
    for event in events:
        book = made[event.lot]
        held = book[-1].held if book else NOTHING
        if event.gauged is None:
            change = event.change
            if event.is_out and event.is_all and _is_all(-change, held):
                emptied[event.source], change = held, -held
            elif not event.is_out:
                change = emptied.get(event.source, change)
            after = _rest(held + change)
            book.append(
                Step(event.at, event.source, event.way, event.other, change, after, event.is_out)
            )
        else:
            way: Literal["gauged", "made"] = "gauged" if book else "made"
            change = event.gauged - held
            book.append(Step(event.at, event.source, way, None, change, event.gauged))
    return made


def as_booked(
    movements: Iterable[Movement], made: Mapping[UUID, Sequence[Step]]
) -> Sequence[Movement]:
    """Say of each movement what the books say went with it."""
    out = {step.source: -step.change for book in made.values() for step in book if step.is_out}
    return [replace(one, bulk=out.get(one.id, one.bulk)) for one in movements]


def _is_all(said: Bulk, held: Bulk) -> bool:
    """Tell whether the book knows all that was there: then its alcohol goes, and none is left over.

    The movement has the lot's last strength; the book has the alcohol of all that came since.
    """
    same = abs(said.volume_l - held.volume_l) < SAME_L
    return same and held.alcohol.pure_alcohol_l > 0.0


def _rest(held: Bulk) -> Bulk:
    """Leave nothing, and nothing unsure, where all that was there went."""
    nothing = abs(held.volume_l) < ROUNDING_L and abs(held.alcohol.pure_alcohol_l) < ROUNDING_L
    return NOTHING if nothing else held


@dataclass(frozen=True, slots=True)
class _Event:
    at: datetime
    order: int
    lot: UUID
    source: UUID
    way: Way
    other: UUID | None
    change: Bulk
    is_out: bool = False
    is_all: bool = False
    gauged: Bulk | None = None


def _of_movements(movements: Iterable[Movement]) -> Iterable[_Event]:
    for one in movements:
        if one.from_lot is not None:
            yield _Event(
                one.at, 0, one.from_lot, one.id, one.way, one.to_lot, -one.bulk,
                is_out=True, is_all=one.is_all,
            )  # fmt: skip
        if one.to_lot is not None:
            yield _Event(one.at, 0, one.to_lot, one.id, one.way, one.from_lot, one.bulk)


def _of_gaugings(gaugings: Iterable[Gauging]) -> Iterable[_Event]:
    for one in gaugings:
        yield _Event(one.at, 1, one.lot, one.id, "use", None, NOTHING, gauged=one.bulk)


@dataclass(frozen=True, slots=True)
class Account:
    """The sums of some lots' books, what passed between them left out."""

    came: Bulk  # from outside, by receipt or from lots that are not among these
    made: Bulk  # as first gauged
    gone: Mapping[str, Bulk]  # to outside, by the way it went
    difference: Bulk  # found at gaugings
    held: Bulk

    @property
    def residual_l(self) -> float:
        """What does not add up, in pure alcohol: nothing, save for rounding."""
        gone = sum((one.alcohol.pure_alcohol_l for one in self.gone.values()), 0.0)
        came = self.came.alcohol.pure_alcohol_l + self.made.alcohol.pure_alcohol_l
        found = self.difference.alcohol.pure_alcohol_l
        return came - gone + found - self.held.alcohol.pure_alcohol_l


def account(
    made: Mapping[UUID, Sequence[Step]],
    is_ours: Callable[[UUID], bool],
) -> Account:
    """Add up the books of the lots that are ours."""
    came, first, difference, held = NOTHING, NOTHING, NOTHING, NOTHING
    gone: dict[str, Bulk] = defaultdict(Bulk)
    for lot, book in made.items():
        if not is_ours(lot):
            continue
        held += book[-1].held
        for step in book:
            inside = step.other is not None and is_ours(step.other)
            if step.way == "made":
                first += step.change
            elif step.way == "gauged":
                difference += step.change
            elif inside:
                continue
            elif step.is_out:
                gone[step.way] -= step.change
            else:
                came += step.change
    return Account(came, first, dict(gone), difference, held)


def overdrawn(book: Sequence[Step]) -> Step | None:
    """Find where a lot would have given more than it had, its errors allowed for."""
    return next((step for step in book if (-step.held.alcohol).is_above_nothing), None)
