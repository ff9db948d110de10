"""Ranges of time as people and programs ask for them, checked at the edge."""

from logger.errors import RangeError
from logger.store.types import to_datetime

EARLIEST_US = 946_684_800_000_000  # 2000-01-01: no reading is older
LATEST_US = 4_102_444_800_000_000  # 2100-01-01
SAYABLE_US = (-62_135_596_800_000_000, 253_402_300_799_000_000)  # the years 1 to 9999


def check_range(from_us: int, to_us: int, now_us: int) -> None:
    """Refuse a range that is reversed, empty, or lies where no reading can be."""
    if to_us <= from_us:
        raise RangeError(
            f"The range ends at {_said(to_us)}, not after its begin at {_said(from_us)}; "
            "give an end later than the begin."
        )
    if from_us > now_us:
        raise RangeError(
            f"The range begins at {_said(from_us)}, which lies in the future; "
            f"give a begin before now, {_said(now_us)}."
        )


def clipped(moment_us: int) -> int:
    """Return a moment as one the record can hold; nothing was kept before 2000."""
    return min(max(moment_us, EARLIEST_US), LATEST_US)


def _said(moment_us: int) -> str:
    first, last = SAYABLE_US
    return to_datetime(min(max(moment_us, first), last)).isoformat(timespec="seconds")
