"""Ten minutes at a time: a ferment lasts a week, and its temperature moves slowly."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from api.estimates.estimator import Step

SPELL_S: Final = 600
SPELL_H: Final = SPELL_S / 3600.0
WASH_RANGE_C: Final = (-5.0, 60.0)
ROOM_RANGE_C: Final = (-40.0, 60.0)


@dataclass(frozen=True, slots=True)
class Spell:
    """Means over ten minutes of the time axis; None where there was no good reading."""

    index: int  # of the ten minutes, from the axis' beginning
    wash_c: float | None
    room_c: float | None
    impossible_c: float | None = None  # the last reading that no wash can have

    @property
    def end_slot(self) -> int:
        """Give the slot it ends at."""
        return (self.index + 1) * SPELL_S


class Gatherer:
    """Gathers steps into spells."""

    def __init__(self) -> None:
        self._index: int | None = None
        self._wash: list[float] = []
        self._room: list[float] = []
        self._impossible_c: float | None = None

    def take(self, step: Step) -> Iterator[Spell]:
        """Take a step; gives the spell that it ends."""
        index = step.slot // SPELL_S
        if self._index is not None and index > self._index:
            yield self._spell(self._index)
            self._wash, self._room, self._impossible_c = [], [], None
        self._index = index if self._index is None else max(index, self._index)
        wash_c, room_c = step.values.get("ferment"), step.values.get("room")
        if wash_c is not None and WASH_RANGE_C[0] <= wash_c <= WASH_RANGE_C[1]:
            self._wash.append(wash_c)
        elif wash_c is not None:
            self._impossible_c = wash_c
        if room_c is not None and ROOM_RANGE_C[0] <= room_c <= ROOM_RANGE_C[1]:
            self._room.append(room_c)

    def _spell(self, index: int) -> Spell:
        return Spell(index, _mean(self._wash), _mean(self._room), self._impossible_c)


def _mean(values: list[float]) -> float | None:
    return sum(values) / len(values) if values else None
