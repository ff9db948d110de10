"""The slot axis: whole seconds that are never reused, and what the wall clock said of them."""

from dataclasses import dataclass
from typing import Final

from logger.clock import MICRO, Instant

STEP_US: Final = MICRO // 2  # a wall clock further from the axis than this has stepped

WAIT_US: Final = 2 * MICRO


@dataclass(frozen=True, slots=True)
class Axis:
    """Slots counted off CLOCK_BOOTTIME from where they started."""

    first_slot: int  # the first that may still be used
    boottime_of_zero_us: int  # what the boot clock would have said at slot 0

    @classmethod
    def start(cls, now: Instant, last_slot: int | None) -> "Axis":
        """Start at the wall clock, or behind the last slot where that is later.

        Where it is later by a moment only, as after a quick restart, the moment is waited for:
        slots stay whole seconds of the wall clock.
        """
        free_us = 0 if last_slot is None else (last_slot + 1) * MICRO
        position_us = now.utc_us if free_us - now.utc_us <= WAIT_US else free_us
        first_us = max(position_us, free_us)
        return cls(-(-first_us // MICRO), now.boottime_us - position_us)

    def position_us(self, now: Instant) -> int:
        """Say where on the axis the moment lies, in microseconds from slot 0."""
        return now.boottime_us - self.boottime_of_zero_us

    def offset_us(self, now: Instant) -> int:
        """Say how far the wall clock is ahead of the axis."""
        return now.utc_us - self.position_us(now)


def on_grid(slot: int, period_s: int) -> int:
    """Find the first slot from here on that a cadence of this period uses."""
    return -(-slot // period_s) * period_s
