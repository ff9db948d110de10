"""What is stored beside an entry of a stage: it stands and goes with its entry, never alone.

Asked in the transaction that stores: what is beside an entry may change where its entry does.
"""

from collections.abc import Sequence
from typing import Final
from uuid import UUID, uuid5

from sqlmodel import Session, col

from logger.errors import ConflictError
from logger.store.record_tables import Lot, Measure, StageEntry, Transfer
from logger.store.standing import newest
from logger.store.tables import Fact

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


def check_beside(session: Session, new: Sequence[Fact]) -> None:
    """Raise where what belongs to an entry is changed or taken back without it."""
    with_entry = {own for one in new if isinstance(one, StageEntry) for own in _ids(one)}
    for fact in new:
        if fact.about in with_entry or not _is_changed(fact):
            continue
        owner = _owner(session, fact.about)
        if owner is not None:
            raise ConflictError(
                f"This belongs to the {OWNERS[owner.kind]} entered for "
                f"{owner.effective_at.isoformat(' ', 'minutes')} (entry {owner.about}) and goes "
                "with it; take that entry back, or correct it."
            )


def _is_changed(fact: Fact) -> bool:
    """Say whether a fact changes an older one; what bottles are called may be changed alone."""
    if fact.supersedes is None or fact.about.version != 5:
        return False
    return isinstance(fact, Measure | Transfer) or (isinstance(fact, Lot) and fact.withdrawn)


def _owner(session: Session, about: UUID) -> StageEntry | None:
    every = newest(session, StageEntry, col(StageEntry.kind).in_(OWNERS))
    return next((one for one in every if about in _ids(one)), None)


def _ids(one: StageEntry) -> tuple[UUID, ...]:
    ids = (beside_id(one),)
    return (*ids, beside_id(one, BOTTLES)) if one.kind == "bottle_fill" else ids
