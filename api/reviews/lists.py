"""Runs in a list: searched, filtered, sorted, with their key numbers. Pure but for reading."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal, get_args
from uuid import UUID

from api.reviews.figures import Figures
from api.reviews.keys import KEYS
from api.reviews.ordering import has_words, in_order_of
from api.reviews.words import PURPOSES
from logger.store.tables import Occupancy

Order = Literal[
    "started_at", "batch", "vessel", "purpose", "duration_min", "charge_volume_l",
    "collected_pure_alcohol_l", "recovered", "hearts_volume_l", "hearts_abv", "energy_kwh_per_l",
    "alarms",
]  # fmt: skip
BY_FACT: Final = frozenset({"started_at", "batch", "vessel", "purpose"})
assert set(get_args(Order)) - BY_FACT <= set(KEYS)  # noqa: S101 - said in two places


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which runs; None is all."""

    text: str | None
    vessel: UUID | None
    purpose: str | None
    batch: str | None
    from_at: datetime | None
    to_at: datetime | None

    def takes(self, run: Occupancy) -> bool:
        """Say whether a run is one of them, but for the text."""
        return (
            self.vessel in {None, run.vessel}
            and self.purpose in {None, run.stage}
            and self.batch in {None, run.batch}
            and (self.from_at is None or run.effective_at >= self.from_at)
            and (self.to_at is None or run.effective_at < self.to_at)
        )

    def says(self, run: Figures) -> bool:
        """Say whether a run has every word of the text: in its names, notes and jars' notes."""
        return has_words(_parts(run), self.text)


def in_order(runs: Iterable[Figures], by: Order, *, falling: bool) -> list[Figures]:
    """Sort runs by a fact or a key number."""
    return in_order_of(runs, _key(by), falling=falling)


def _key(by: Order) -> Callable[[Figures], float | str | None]:
    if by not in BY_FACT:
        return KEYS[by].of
    return {
        "started_at": lambda one: one.ground.run.effective_at.timestamp(),
        "batch": lambda one: one.ground.run.batch,
        "vessel": _still,
        "purpose": lambda one: one.ground.run.stage,
    }[by]


def _still(run: Figures) -> str:
    still = run.ground.read.still
    return still.name if still else ""


def _parts(run: Figures) -> Sequence[str]:
    read = run.ground.read
    return (
        read.run.batch, _still(run), PURPOSES.get(read.run.stage, read.run.stage),
        *(one.text for one in read.marks), *(one.jar.text for one in read.jars),
    )  # fmt: skip
