"""The stock book of a period: opening, what came and went and how, closing; it always adds up."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Final, Literal
from uuid import UUID

from api.record.ledger import NOTHING, Bulk, Step

Column = Literal[
    "received", "produced", "used", "lost", "destroyed", "sampled", "difference"
]  # fmt: skip

CAME_BY: Final[Mapping[str, Column]] = {"collect": "produced", "made": "produced"}
WENT_BY: Final[Mapping[str, Column]] = {
    "loss": "lost",
    "discard": "destroyed",
    "destroy": "destroyed",
    "sample": "sampled",
}


@dataclass(frozen=True, slots=True)
class Stock:
    """One row: opening + received + produced - used - lost - destroyed - sampled + difference.

    `difference` is what gaugings found more (or less) than the book said.
    """

    opening: Bulk = NOTHING
    received: Bulk = NOTHING
    produced: Bulk = NOTHING
    used: Bulk = NOTHING
    lost: Bulk = NOTHING
    destroyed: Bulk = NOTHING
    sampled: Bulk = NOTHING
    difference: Bulk = NOTHING
    closing: Bulk = NOTHING


COLUMNS: Final = tuple(one.name for one in fields(Stock))


def stock(
    books: Mapping[UUID, Sequence[Step]],
    is_ours: Callable[[UUID], bool],
    from_at: datetime,
    to_at: datetime,
) -> Stock:
    """Work out the row of the lots that are ours, from a moment to another (that excluded)."""
    sums: dict[str, Bulk] = dict.fromkeys(COLUMNS, NOTHING)
    for lot, book in books.items():
        if is_ours(lot):
            _add(sums, book, is_ours, from_at, to_at)
    return Stock(**sums)


def _add(
    sums: dict[str, Bulk],
    book: Sequence[Step],
    is_ours: Callable[[UUID], bool],
    from_at: datetime,
    to_at: datetime,
) -> None:
    sums["opening"] += _held(book, from_at)
    sums["closing"] += _held(book, to_at)
    for step in book:
        inside = step.other is not None and is_ours(step.other)
        if from_at <= step.at < to_at and not inside:
            column = column_of(step)
            outward = column in {"used", "lost", "destroyed", "sampled"}
            sums[column] += -step.change if outward else step.change


def column_of(step: Step) -> Column:
    """Say which column a step belongs to."""
    if step.way == "gauged":
        return "difference"
    if step.is_out:
        return WENT_BY.get(step.way, "used")
    return CAME_BY.get(step.way, "received")


def _held(book: Sequence[Step], at: datetime) -> Bulk:
    before = [step.held for step in book if step.at < at]
    return before[-1] if before else NOTHING
