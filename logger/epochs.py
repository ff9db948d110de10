"""Watches the wall clock against the slot axis, and says what the store must hear of it."""

from dataclasses import dataclass

from logger.clock import Clock, Instant
from logger.slots import STEP_US, Axis


@dataclass(frozen=True, slots=True)
class Epoch:
    """What the wall clock says of the slots from one on."""

    from_slot: int
    offset_us: int  # true time of slot s, as far as known, is s seconds + this
    boot_id: str
    boottime_of_zero_us: int  # the boot clock at slot 0: ties the restarts of one boot
    synchronised: bool


@dataclass(frozen=True, slots=True)
class Correction:
    """What the unsynchronised epochs of one boot ought to have said."""

    boot_id: str
    utc_of_boot_us: int  # true time when the boot clock stood at 0
    synchronised: bool


class ClockWatch:
    """Compares the wall clock with the axis, once a scan; never waits for the network's time.

    A synchronised clock that steps begins a new epoch: what was right stays right. An
    unsynchronised one that steps, or becomes synchronised, was wrong before: the unsynchronised
    epochs of its own boot are corrected.
    """

    def __init__(self, clock: Clock, axis: Axis, now: Instant) -> None:
        self._clock, self._axis, self._boot_id = clock, axis, clock.boot_id()
        self._began, self.epoch = now, self._read(now, axis.first_slot)

    def at_start(self) -> list[Epoch | Correction]:
        """Open this process's epoch; put right what an earlier one of this boot left behind."""
        begun: list[Epoch | Correction] = [self.epoch]
        return [*begun, self._correction(self._began)] if self.epoch.synchronised else begun

    def check(self, now: Instant, slot: int) -> Epoch | Correction | None:
        """Judge the moment before a scan; None while the clock keeps to what it said."""
        seen = self._read(now, slot)
        stepped = abs(seen.offset_us - self.epoch.offset_us) > STEP_US
        if not stepped and seen.synchronised <= self.epoch.synchronised:
            return None
        was_right, self.epoch = self.epoch.synchronised, seen
        return seen if was_right else self._correction(now)

    def _read(self, now: Instant, slot: int) -> Epoch:
        return Epoch(
            slot,
            self._axis.offset_us(now),
            self._boot_id,
            self._axis.boottime_of_zero_us,
            self._clock.synchronised(),
        )

    def _correction(self, now: Instant) -> Correction:
        return Correction(self._boot_id, now.utc_us - now.boottime_us, self.epoch.synchronised)
