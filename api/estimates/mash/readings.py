"""A mash's readings as arrays: what was read, when, and for how long each stands."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from api.estimates.estimator import STEP_S, Step
from calc.quantities import FloatArray

RANGE_C: Final = (-5.0, 105.0)
BRIDGED_S: Final = 120  # a shorter gap is read across
JUMP_S: Final = 2 * 86_400  # a longer one is the clock's
KEPT: Final = 3 * 86_400 // STEP_S
FEWEST: Final = 512  # readings there is room for at first


@dataclass(frozen=True, slots=True)
class Stretch:
    """Readings of a rest: temperatures, and the minutes each stands for; and what is missing."""

    slots: FloatArray
    mash_c: FloatArray
    minutes: FloatArray
    missing_min: FloatArray  # of the gap before each; 0: none
    jumped: bool

    def on_end(self) -> "Stretch":
        """Give what was read since the last gap: what came before says nothing of now."""
        apart = self.missing_min > 0.0
        apart[1:] |= np.diff(self.slots) > JUMP_S
        first = int(np.flatnonzero(apart)[-1]) if apart.any() else 0
        return Stretch(
            self.slots[first:],
            self.mash_c[first:],
            self.minutes[first:],
            self.missing_min[first:],
            jumped=False,
        )


class Readings:
    """Keeps a mash's steps."""

    def __init__(self) -> None:
        self._kept = np.empty((2, FEWEST))  # slots, and what was read
        self._number = 0
        self.newest_slot: int | None = None
        self.room_c: float | None = None
        self.pressure_hpa: float | None = None
        self.impossible_c: float | None = None

    def take(self, step: Step) -> None:
        """Take a step; one that is not newer than the last is none."""
        if self.newest_slot is not None and step.slot <= self.newest_slot:
            return
        self.newest_slot = step.slot
        room_c = step.values.get("room")
        self.room_c = self.room_c if room_c is None else room_c
        self.pressure_hpa = step.pressure_hpa
        mash_c = step.values.get("mash")
        if mash_c is None:
            return
        if not RANGE_C[0] <= mash_c <= RANGE_C[1]:
            self.impossible_c = mash_c
            return
        self.impossible_c = None
        self._keep(step.slot, mash_c)

    def _keep(self, slot: int, mash_c: float) -> None:
        """Keep a reading; of what is full, the older half goes once it is as old as kept."""
        if self._number == self._kept.shape[1]:
            stays = self._kept[:, max(0, self._number - KEPT) :]
            self._kept = np.concatenate((stays, np.empty_like(stays)), axis=1)
            self._number = stays.shape[1]
        self._kept[:, self._number] = slot, mash_c
        self._number += 1

    @property
    def read_slot(self) -> int | None:
        """Give the slot of the newest good reading."""
        return int(self._kept[0, self._number - 1]) if self._number else None

    def since(self, slot: int, until: int | None = None) -> Stretch:
        """Give what was read from a slot on."""
        slots, mash_c = self._kept[:, : self._number]
        first = np.searchsorted(slots, slot, side="right")
        last = slots.size if until is None else np.searchsorted(slots, until, side="right")
        slots, mash_c = slots[first:last], mash_c[first:last]
        before = np.concatenate(([float(slot)], slots[:-1])) if slots.size else slots
        apart = slots - before
        jumped = apart > JUMP_S
        stands = np.where(jumped, float(STEP_S), np.where(apart > BRIDGED_S, 0.0, apart))
        missing = np.where(jumped | (apart <= BRIDGED_S), 0.0, apart)
        return Stretch(slots, mash_c, stands / 60.0, missing / 60.0, bool(jumped.any()))
