"""The phases of a run, between its moments, and what came over in each. Pure.

A jar that stood under the spout in two phases is shared between them by time.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Final

from api.record.collected import Collected
from api.reviews.collecting import Amounts, together
from api.reviews.moments import Moment, by_key
from api.reviews.words import MomentKey, PhaseKey

CUTS: Final[tuple[tuple[MomentKey, PhaseKey], ...]] = (
    ("foreshots_end", "heads"),
    ("hearts", "hearts"),
    ("tails", "tails"),
)
EVEN_S: Final = 1.0  # a phase shorter than this is none


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of a run with a name, and what came over in it."""

    key: PhaseKey
    from_at: datetime
    to_at: datetime
    is_open: bool  # the run is still in it
    collected: Amounts | None
    splits_jar: bool  # a jar is shared between this phase and a neighbour

    @property
    def minutes(self) -> float:
        """How long it lasted."""
        return (self.to_at - self.from_at).total_seconds() / 60.0


@dataclass(frozen=True, slots=True)
class Collecting:
    """From the first drop to the end, as far as they are known."""

    from_at: datetime | None
    to_at: datetime | None

    @classmethod
    def between(cls, at: dict[MomentKey, Moment]) -> "Collecting":
        """Find the stretch in which something came over."""
        drop, end = at.get("first_drop"), at.get("end")
        return cls(drop.at if drop else None, end.at if end else None)

    def within(self, at: datetime) -> datetime:
        """Bring a moment into the stretch."""
        if self.from_at is not None and at < self.from_at:
            return self.from_at
        return self.to_at if self.to_at is not None and at > self.to_at else at


def phases(found: Sequence[Moment], jars: Sequence[Collected], until: datetime) -> list[Phase]:
    """Cut a run into its phases; `until` is where an unfinished one stands."""
    at_key = by_key(found)
    starts = _starts(at_key)
    over = Collecting.between(at_key)
    is_over = any(one.key == "over" for one in found)
    ends = [*(at for at, _ in starts[1:]), max(until, starts[-1][0])] if starts else []
    if is_over and starts and starts[0][1] == "heat_up":
        ends[0] = min(ends[0], _heated(at_key) or ends[0])
    made = []
    for place, ((at, key), end) in enumerate(zip(starts, ends, strict=True)):
        if (end - at).total_seconds() < EVEN_S:
            continue
        parts = [(one, _share(one, at, end, over)) for one in jars]
        made.append(
            Phase(
                key, at, end,
                is_open=place == len(starts) - 1 and not is_over,
                collected=together(parts),
                splits_jar=any(0.0 < share < 1.0 for _, share in parts),
            )
        )  # fmt: skip
    return made


def _heated(at: dict[MomentKey, Moment]) -> datetime | None:
    """Say until when it heated up: where no first drop is known, at least it boiled."""
    boil = at.get("boil")
    return boil.at if boil and "first_drop" not in at else None


def _starts(at: dict[MomentKey, Moment]) -> list[tuple[datetime, PhaseKey]]:
    """Say when each phase began, in order."""
    starts: list[tuple[datetime, PhaseKey]] = []
    begin = at.get("heat_on") or at.get("begin")
    drop = at.get("first_drop")
    if begin is not None:
        starts.append((begin.at, "heat_up"))
    if drop is not None:
        has_foreshots = "foreshots_end" in at
        is_cut = has_foreshots or "hearts" in at or "tails" in at
        first: PhaseKey = "foreshots" if has_foreshots else "heads" if is_cut else "collecting"
        if first == "heads" and "hearts" not in at:
            first = "collecting"  # only the tails were marked: what lies before has no one name
        starts.append((drop.at, first))
        starts += [(at[key].at, name) for key, name in CUTS if key in at]
    end = at.get("end")
    if end is not None:
        starts.append((end.at, "cooling"))
    return _in_order(starts)


def _in_order(starts: list[tuple[datetime, PhaseKey]]) -> list[tuple[datetime, PhaseKey]]:
    """Leave out what was marked before what comes before it."""
    kept: list[tuple[datetime, PhaseKey]] = []
    for one in starts:
        while kept and kept[-1][0] > one[0]:
            kept.pop()
        kept.append(one)
    assert all(first[0] <= second[0] for first, second in pairwise(kept))  # noqa: S101
    return kept


def _share(one: Collected, from_at: datetime, to_at: datetime, over: Collecting) -> float:
    """Say which share of a jar's time lies in a stretch; before the first drop nothing runs."""
    began, ended = over.within(one.jar.effective_at), one.ended_at
    ended = None if ended is None else over.within(ended)
    if ended is None or ended <= began:
        return 1.0 if from_at <= began < to_at else 0.0
    inside = min(ended, to_at) - max(began, from_at)
    return max(inside.total_seconds(), 0.0) / (ended - began).total_seconds()
