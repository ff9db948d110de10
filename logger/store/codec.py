"""Numbers to bytes and back, without loss: the rows, chunks and pages of the scan history.

Pure: no file, no clock. Everything sealed has 600 places: a chunk's are the slots of a block, a
page's are entries of 10, 60 or 600 s. Integers are written as differences, folded to be small and
positive (zigzag), low and high bytes apart, so that zlib finds them dull. zlib's own checksum
tells a damaged blob from a good one.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

PLACES: Final = 600
NO_READING: Final = 255  # instead of a grade: the series was not in the scan, or there was no scan
ZLIB_LEVEL: Final = 6

Bits = NDArray[np.bool_]
Bytes = NDArray[np.uint8]
Counts = NDArray[np.int16]

# one reading in a recent scan's row, little-endian like all else here
READING: Final = np.dtype([("series", "<u2"), ("grade", "u1"), ("count", "<i2")])


@dataclass(frozen=True, slots=True)
class Extremes:
    """Lowest and highest count of each entry, where it has any, and where a gap ended in it.

    The last axis runs over entries; where nothing is filled, low > high.
    """

    low: Counts
    high: Counts
    gap: Bits

    @property
    def filled(self) -> Bits:
        """Say which entries have a reading."""
        filled: Bits = self.low <= self.high
        return filled


NOTHING_LOW: Final = np.int16(32767)
NOTHING_HIGH: Final = np.int16(-32768)


def pack_readings(readings: Iterable[tuple[int, int, int]]) -> bytes:
    """Write (series, grade, count) of one scan; the count is 0 where the grade refuses it."""
    return np.array(list(readings), dtype=READING).tobytes()


def unpack_readings(rows: Sequence[bytes]) -> NDArray[np.void]:
    """Read the readings of many rows, one after another."""
    return np.frombuffer(b"".join(rows), dtype=READING)
