"""Two clocks side by side: the wall's, which may be wrong and may step, and the boot's."""

import ctypes
import time
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event
from typing import Final, Protocol

MICRO: Final = 1_000_000
BOOT_ID: Final = Path("/proc/sys/kernel/random/boot_id")
TIMESYNCD_MARK: Final = Path("/run/systemd/timesync/synchronized")  # systemd-timesyncd(8)
TIME_ERROR: Final = 5  # adjtimex(2): the clock is not synchronised
PAIRED_WITHIN_US: Final = 2_000  # the two clocks are read together, or read again


@dataclass(frozen=True, slots=True)
class Instant:
    """Both clocks at one moment."""

    utc_us: int  # the wall clock: microseconds since 1970 UTC, as far as the machine knows
    boottime_us: int  # CLOCK_BOOTTIME: never steps, counts through suspend, starts at boot


class Clock(Protocol):
    """What the logger asks about time, and how it waits."""

    def now(self) -> Instant:
        """Read both clocks at once."""
        ...

    def boot_id(self) -> str:
        """Name the boot that CLOCK_BOOTTIME counts from."""
        ...

    def synchronised(self) -> bool:
        """Say whether a time source outside the machine disciplines the wall clock."""
        ...

    def wait(self, stop: Event, timeout_us: int) -> bool:
        """Wait until told to stop (True) or until the time has passed (False)."""
        ...


class SystemClock:
    """The machine's clocks; asks for no privilege."""

    def now(self) -> Instant:
        """Read both clocks; a pair torn apart by another process is read again."""
        for _ in range(10):
            before_us = _boottime_us()
            utc_us = time.time_ns() // 1000
            after_us = _boottime_us()
            if after_us - before_us <= PAIRED_WITHIN_US:
                break
        return Instant(utc_us, (before_us + after_us) // 2)

    def boot_id(self) -> str:
        """Read the kernel's random id of this boot."""
        return BOOT_ID.read_text().strip()

    def synchronised(self) -> bool:
        """Ask the kernel; where a sandbox forbids the question, look for timesyncd's mark."""
        state = _adjtimex()
        return TIMESYNCD_MARK.exists() if state is None else state != TIME_ERROR

    def wait(self, stop: Event, timeout_us: int) -> bool:
        """Wait on the monotonic clock."""
        return stop.wait(max(timeout_us, 0) / MICRO)


@dataclass(slots=True)
class FakeClock:
    """A clock that moves when told to, and when somebody waits."""

    utc_us: int
    boottime_us: int = 20 * MICRO
    boot: str = "00000000-0000-4000-8000-000000000001"
    is_synchronised: bool = True
    waits: list[int] = field(default_factory=list)

    def now(self) -> Instant:
        """Read both clocks."""
        return Instant(self.utc_us, self.boottime_us)

    def boot_id(self) -> str:
        """Name the boot."""
        return self.boot

    def synchronised(self) -> bool:
        """Say what was set."""
        return self.is_synchronised

    def wait(self, stop: Event, timeout_us: int) -> bool:
        """Let the time pass at once."""
        self.waits.append(timeout_us)
        self.pass_time(max(timeout_us, 0))
        return stop.is_set()

    def pass_time(self, duration_us: int) -> None:
        """Move both clocks on."""
        self.utc_us += duration_us
        self.boottime_us += duration_us

    def step_wall(self, step_us: int) -> None:
        """Set the wall clock forward or back; the boot clock does not notice."""
        self.utc_us += step_us

    def reboot(self, *, boot: str, utc_us: int) -> None:
        """Start anew with whatever the wall clock says now; not synchronised yet."""
        self.boot, self.utc_us, self.boottime_us = boot, utc_us, 20 * MICRO
        self.is_synchronised = False


def _boottime_us() -> int:
    return time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1000


def _adjtimex() -> int | None:
    """Ask adjtimex(2) to change nothing; None where it may not be asked."""
    try:
        ask = ctypes.CDLL(None).adjtimex
    except (OSError, AttributeError):
        return None
    state = int(ask(ctypes.byref((ctypes.c_long * 64)())))  # modes = 0; larger than struct timex
    return None if state < 0 else state
