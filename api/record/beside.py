"""What is stored beside an entry of a stage: it stands and goes with its entry, never alone.

Asked in the transaction that stores: what is beside an entry may change where its entry does.
"""

from collections.abc import Collection, Sequence
from typing import Final, TypeVar
from uuid import UUID, uuid5

from sqlmodel import Session, col, select

from logger.errors import ConflictError
from logger.store.record_tables import Lot, Measure, StageEntry, Transfer
from logger.store.standing import Clause, newest
from logger.store.tables import Fact

F = TypeVar("F", bound=Fact)

OF_AN_ENTRY: Final = 5  # the version of ids that are made of an entry's
BESIDE: Final = UUID("8f1c6f0e-8f56-4f5e-9d6e-3f6a1b0c7d21")  # makes their ids of their entry's
BOTTLES: Final = " bottles"
OWNERS: Final = {
    "cask_weight": "weighing of the cask",
    "sample": "sample",
    "top_up": "topping up",
    "water_added": "adding of water",
    "bottle_fill": "bottling",
    "correction": "correction",
}


def beside_id(one: StageEntry, what: str = "") -> UUID:
    """Give the id of what is stored beside an entry: the same whenever it is sent."""
    return uuid5(BESIDE, f"{one.about}{what}")


def found_by(session: Session, correction: StageEntry) -> UUID:
    """Give the id of what a correction found.

    That of an older one was made by itself: it is of the same lot and moment, and was stored with
    its correction.
    """
    own = beside_id(correction)
    there = (col(Measure.lot) == correction.lot,
             col(Measure.effective_at) == correction.effective_at)  # fmt: skip
    abouts = set(session.exec(select(Measure.about).where(*there)).all())
    if own in abouts or not abouts:
        return own
    at = _first(session, StageEntry, [correction.about])[0].recorded_at
    firsts = [one for one in _first(session, Measure, abouts) if one.about.version != OF_AN_ENTRY]
    return min(firsts, key=lambda one: abs(one.recorded_at - at)).about if firsts else own


def _first(session: Session, kind: type[F], abouts: Collection[UUID]) -> Sequence[F]:
    """Read the first records about things."""
    mine = col(kind.about).in_(abouts)
    return session.exec(select(kind).where(mine, col(kind.supersedes).is_(None))).all()


def check_beside(session: Session, new: Sequence[Fact]) -> None:
    """Raise where what belongs to an entry is changed or taken back without it."""
    with_entry = {own for one in new if isinstance(one, StageEntry) for own in _ids(session, one)}
    for fact in new:
        if fact.about in with_entry or not _is_changed(fact):
            continue
        owner = _owner(session, fact)
        if owner is not None:
            raise ConflictError(
                f"This belongs to the {OWNERS[owner.kind]} entered for "
                f"{owner.effective_at.isoformat(' ', 'minutes')} (entry {owner.about}) and goes "
                "with it; take that entry back, or correct it."
            )


def _is_changed(fact: Fact) -> bool:
    """Say whether a fact changes an older one; what bottles are called may be changed alone."""
    if fact.supersedes is None:
        return False
    if fact.about.version != OF_AN_ENTRY:
        return isinstance(fact, Measure)  # it may be an older correction's
    return isinstance(fact, Measure | Transfer) or (isinstance(fact, Lot) and fact.withdrawn)


def _owner(session: Session, fact: Fact) -> StageEntry | None:
    where: list[Clause] = [col(StageEntry.kind).in_(OWNERS)]
    if fact.about.version != OF_AN_ENTRY:
        old = session.get_one(Measure, fact.supersedes)
        where = [col(StageEntry.kind) == "correction", col(StageEntry.lot) == old.lot,
                 col(StageEntry.effective_at) == old.effective_at]  # fmt: skip
    every = newest(session, StageEntry, *where)
    return next((one for one in every if fact.about in _ids(session, one)), None)


def _ids(session: Session, one: StageEntry) -> tuple[UUID, ...]:
    if one.kind == "correction":
        return (found_by(session, one),)
    ids = (beside_id(one),)
    return (*ids, beside_id(one, BOTTLES)) if one.kind == "bottle_fill" else ids
