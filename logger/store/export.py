"""Every scan of a range as a row of values by column, holding an hour of them at once."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logger.store.failures import file_of, told
from logger.store.scans import ScanReader, next_block
from logger.store.sealed import BLOCK_S, Readings, load_readings
from logger.store.timeline import SECOND_US, EpochTable, SlotPiece
from logger.store.tracks import Piece, Track

BLOCKS_AT_ONCE: Final = 6
DECIMALS: Final = 4  # 1/16 is written exactly


@dataclass(frozen=True, slots=True)
class Row:
    """One scan as people name things: calibrated values by column, None where none is good."""

    slot: int
    utc_us: int
    values: Mapping[str, float | None]


def columns(wanted: Sequence[Track]) -> tuple[str, ...]:
    """Name the columns, in the order rows have them."""
    return tuple(track.column for track in wanted)


def rows(
    reader: ScanReader, wanted: Sequence[Track], epochs: EpochTable, from_us: int, to_us: int
) -> Iterator[Row]:
    """Read the scans of a range of true time, oldest slot first."""
    series = sorted({piece.series for track in wanted for piece in track.pieces})
    for cut in epochs.slots(from_us, to_us):
        for readings in _stretches(reader, cut, series):
            yield from _rows(readings, wanted, cut)


def _stretches(reader: ScanReader, cut: SlotPiece, series: list[int]) -> Iterator[Readings]:
    """Read a few blocks at a time; a download that takes long holds nothing up."""
    block = cut.from_slot // BLOCK_S
    while block * BLOCK_S < cut.to_slot:
        with told(file_of(reader.engine)), reader.engine.connect() as connection:
            first = next_block(connection, block)
            if first is None:
                return
            readings = load_readings(connection, first, first + BLOCKS_AT_ONCE, series)
        yield readings
        block = first + BLOCKS_AT_ONCE


def _rows(readings: Readings, wanted: Sequence[Track], cut: SlotPiece) -> Iterator[Row]:
    names = columns(wanted)
    scanned = np.flatnonzero(readings.periods)
    slots = scanned + readings.first_slot
    chosen = scanned[(slots >= cut.from_slot) & (slots < cut.to_slot)]
    lines = [_values(readings, track.pieces)[chosen].tolist() for track in wanted]
    for place, *values in zip(chosen.tolist(), *lines, strict=True):
        slot = readings.first_slot + place
        utc_us = slot * SECOND_US + cut.offset_us
        yield Row(slot, utc_us, dict(zip(names, values, strict=True)))


def _values(readings: Readings, pieces: Sequence[Piece]) -> NDArray[np.object_]:
    """Calibrate one column over all slots."""
    values = np.full(readings.periods.size, np.nan)
    for piece in pieces:
        begin = max(piece.from_slot - readings.first_slot, 0)
        cut = slice(begin, max(piece.to_slot - readings.first_slot, begin))
        row = readings.series.index(piece.series)
        measured = readings.counts[row, cut] / piece.counts_per_unit
        calibrated = np.round(piece.slope * measured + piece.offset, DECIMALS)
        good = readings.good[row, cut]
        values[cut][good] = (calibrated if piece.calibrated else measured)[good]
    found = values.astype(object)
    found[np.isnan(values)] = None
    return found
