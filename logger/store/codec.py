"""Numbers to bytes and back, without loss: the rows, chunks and pages of the scan history.

Pure: no file, no clock. Everything sealed has 600 places: a chunk's are the slots of a block, a
page's are entries of 10, 60 or 600 s. Counts are written as differences, folded to be small and
positive, low and high bytes apart; zlib then finds runs of zeros and a few short codes. Its own
checksum tells a damaged blob from a good one. Functions take and give many rows at once.
"""

import struct
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

PLACES: Final = 600
NO_READING: Final = 255  # instead of a grade: the series was not in the scan, or there was no scan
NOTHING_LOW: Final = np.int16(32767)  # lowest and highest where there is no reading: low > high,
NOTHING_HIGH: Final = np.int16(-32768)  # and any reading takes their place

Bits = NDArray[np.bool_]
Bytes = NDArray[np.uint8]
Counts = NDArray[np.int16]
Periods = NDArray[np.uint16]

# one reading in a recent scan's row, little-endian like all else here
READING: Final = np.dtype([("series", "<u2"), ("grade", "u1"), ("count", "<i2")])

_PACKED: Final = struct.Struct("<HBh").pack  # the same, of one: quicker than an array of few
_BITS_BYTES: Final = PLACES // 8
_CHUNK_BYTES: Final = 3 * PLACES
_EXTREMES_BYTES: Final = 4 * PLACES + 2 * _BITS_BYTES
_TOTALS_BYTES: Final = 6 * PLACES


class DamagedError(ValueError):
    """A blob is not what was written."""


@dataclass(frozen=True, slots=True)
class Extremes:
    """Lowest and highest count of each entry, and whether a gap ended in it; entries last."""

    low: Counts
    high: Counts
    gap: Bits


@dataclass(frozen=True, slots=True)
class Totals:
    """Number and sum of the good counts of each entry; entries last."""

    number: NDArray[np.int64]
    sum: NDArray[np.int64]


def pack_readings(readings: Iterable[tuple[int, int, int]]) -> bytes:
    """Write (series, grade, count) of one scan; the count is 0 where the grade refuses it."""
    try:
        return b"".join([_PACKED(*one) for one in readings])
    except struct.error as error:
        raise OverflowError(f"A reading does not fit its row: {error}.") from error


def unpack_readings(rows: Sequence[bytes]) -> NDArray[np.void]:
    """Read the readings of many rows, one after another."""
    return np.frombuffer(b"".join(rows), dtype=READING)


def encode_periods(periods: Periods) -> list[bytes]:
    """Write, for each row, the period of the scan in each slot; 0 where there is none."""
    return [_deflate(row.tobytes()) for row in _planes(periods)]


def decode_periods(blobs: Sequence[bytes]) -> Periods:
    """Read the periods of many blocks, one a row."""
    return _joined(_inflate(blobs, 2 * PLACES))


def encode_chunks(counts: Counts, grades: Bytes) -> list[bytes]:
    """Write each row's readings; a count that its grade refuses is not kept."""
    planes = np.concatenate([_planes(_fold(_carried(counts, grades == 0))), grades], axis=1)
    return [_deflate(row.tobytes()) for row in planes]


def decode_chunks(blobs: Sequence[bytes]) -> tuple[Counts, Bytes]:
    """Read counts and grades, one chunk a row; a refused count is the last good one before it."""
    planes = _inflate(blobs, _CHUNK_BYTES)
    return _unfold(_joined(planes[:, : 2 * PLACES])), planes[:, 2 * PLACES :]


def encode_extremes(extremes: Extremes) -> list[bytes]:
    """Write each row's lowest, highest and gaps."""
    filled = extremes.low <= extremes.high
    spread = np.where(filled, extremes.high - extremes.low, 0).astype(np.uint16)
    parts = (
        _planes(_fold(_carried(extremes.low, filled))),
        _planes(spread),
        np.packbits(filled, axis=1),
        np.packbits(extremes.gap, axis=1),
    )
    return [_deflate(row.tobytes()) for row in np.concatenate(parts, axis=1)]


def decode_extremes(blobs: Sequence[bytes]) -> Extremes:
    """Read them back, one page a row."""
    planes = _inflate(blobs, _EXTREMES_BYTES)
    low = _unfold(_joined(planes[:, : 2 * PLACES]))
    high = low + _joined(planes[:, 2 * PLACES : 4 * PLACES]).view(np.int16)
    filled = _bits(planes[:, 4 * PLACES : 4 * PLACES + _BITS_BYTES])
    low[~filled], high[~filled] = NOTHING_LOW, NOTHING_HIGH
    return Extremes(low, high, _bits(planes[:, 4 * PLACES + _BITS_BYTES :]))


def encode_totals(totals: Totals, low: Counts) -> list[bytes]:
    """Write each row's numbers, and sums as what they exceed number x lowest by."""
    excess = np.where(totals.number > 0, totals.sum - totals.number * low, 0).astype(np.uint32)
    parts = (
        _planes(totals.number.astype(np.uint16)),
        _planes((excess & 0xFFFF).astype(np.uint16)),
        _planes((excess >> 16).astype(np.uint16)),
    )
    return [_deflate(row.tobytes()) for row in np.concatenate(parts, axis=1)]


def decode_totals(blobs: Sequence[bytes], low: Counts) -> Totals:
    """Read them back, given the lowest counts of the same rows."""
    planes = _inflate(blobs, _TOTALS_BYTES)
    number, excess, more = (
        _joined(planes[:, part * PLACES : (part + 2) * PLACES]).astype(np.int64)
        for part in (0, 2, 4)
    )
    return Totals(number, np.where(number > 0, (more << 16) + excess + number * low, 0))


def _deflate(raw: bytes) -> bytes:
    """Compress; run lengths and Huffman codes beat string matching on noise, and are faster."""
    packer = zlib.compressobj(level=6, memLevel=9, strategy=zlib.Z_RLE)
    return packer.compress(raw) + packer.flush()


def _inflate(blobs: Sequence[bytes], row_bytes: int) -> Bytes:
    try:
        raw = b"".join([zlib.decompress(blob, bufsize=row_bytes) for blob in blobs])
        return np.frombuffer(raw, np.uint8).reshape(len(blobs), row_bytes)
    except (zlib.error, ValueError) as error:
        raise DamagedError(str(error)) from error


def _carried(values: Counts, good: Bits) -> Counts:
    """Put the last good value, or the first, where there is none: differences stay dull."""
    at = np.where(good, np.arange(values.shape[1]), good.argmax(axis=1, keepdims=True))
    carried = np.take_along_axis(values, np.maximum.accumulate(at, axis=1), axis=1)
    return np.where(good.any(axis=1, keepdims=True), carried, np.int16(0))


def _fold(values: Counts) -> NDArray[np.uint16]:
    """Take differences (they may wrap), and fold them: 0, -1, 1, -2, 2 become 0, 1, 2, 3, 4."""
    steps = np.diff(values, axis=1, prepend=np.int16(0))
    return ((steps << 1) ^ (steps >> 15)).view(np.uint16)


def _unfold(folded: NDArray[np.uint16]) -> Counts:
    steps = (folded >> 1).view(np.int16) ^ -(folded & 1).view(np.int16)
    return np.cumsum(steps, axis=1, dtype=np.int16)


def _planes(values: NDArray[np.uint16]) -> Bytes:
    """Put the low bytes of each row before its high bytes."""
    return np.concatenate([values & 0xFF, values >> 8], axis=1).astype(np.uint8)


def _joined(planes: Bytes) -> NDArray[np.uint16]:
    half = planes.shape[1] // 2
    joined = planes[:, half:].astype(np.uint16)
    joined <<= 8
    joined |= planes[:, :half]
    return joined


def _bits(packed: Bytes) -> Bits:
    return np.unpackbits(packed, axis=1).view(np.bool_)
