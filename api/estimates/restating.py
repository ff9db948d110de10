"""When an estimate is worth saying again: when it moved notably, and from time to time.

Notably is by a quarter of its 95 % band's half, or where the band has become a quarter wider or
narrower, or where it can be told and could not, or the reverse. Common practice, no source: what
moves less cannot be told from its own noise.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from api.estimates.estimate import Estimate

NOTABLE: Final = 0.25
LEAST: Final = 1e-6  # a band of nothing, as of what was measured
WHY_S: Final = 3600  # a reason that stays the same is kept so often


@dataclass(frozen=True, slots=True)
class Pace:
    """How soon at the earliest and at the latest, in seconds."""

    soonest_s: int
    latest_s: int
    why_s: int = WHY_S  # the latest of what cannot be told, where the reason is the same


LIVE: Final = Pace(10, 60, 60)  # what pages are told, and a replay prints
KEPT: Final = Pace(60, 300)  # what the store keeps of a run and of a mash
KEPT_SLOWLY: Final = Pace(600, 3600)  # and of a ferment, which takes days


class Restating:
    """Remembers what was said of each quantity, and when."""

    def __init__(self, pace: Pace) -> None:
        self._pace = pace
        self._said: dict[str, tuple[int, Estimate]] = {}

    def take(self, slot: int, estimates: Iterable[Estimate]) -> list[Estimate]:
        """Return what is to be said now; it counts as said."""
        due = [one for one in estimates if self._is_due(slot, one)]
        self._said |= {one.quantity: (slot, one) for one in due}
        return due

    def _is_due(self, slot: int, now: Estimate) -> bool:
        said = self._said.get(now.quantity)
        if said is None:
            return True
        since_s, before = slot - said[0], said[1]
        if since_s < 0:
            return True  # the clock was put back: a new beginning
        same_why = now.value is None and now.why == before.why
        latest_s = self._pace.why_s if same_why else self._pace.latest_s
        return since_s >= latest_s or (since_s >= self._pace.soonest_s and notably(before, now))


def notably(before: Estimate, now: Estimate) -> bool:
    """Say whether an estimate moved by more than its own band lets it waver."""
    if before.value is None or now.value is None:
        return (before.value is None) != (now.value is None) or before.why != now.why
    old, new = _half(before), _half(now)
    moved = abs(now.value - before.value) > NOTABLE * max(min(old, new), LEAST)
    return moved or abs(new - old) > NOTABLE * max(old, LEAST)


def _half(one: Estimate) -> float:
    if one.low is None or one.high is None:
        return 0.0
    return (one.high - one.low) / 2.0
