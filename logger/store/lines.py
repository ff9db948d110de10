"""From series to lines: placement and calibration applied to what is stored, as it is read."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection

from logger.store.codec import Bits, Counts, Extremes
from logger.store.grid import Grid
from logger.store.sealed import BLOCK_S, load_blocks, load_entries, load_readings
from logger.store.summary import extremes_of, gaps_s, gathered
from logger.store.tracks import Piece

FINE_COUNTS_PER_UNIT: Final = 10_000  # where a calibration makes values that are no whole counts
NOTHING_LOW: Final = np.iinfo(np.int32).max
NOTHING_HIGH: Final = np.iinfo(np.int32).min

Values = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Lines:
    """Extremes of several lines, a line a row; low > high where there is nothing."""

    low: Values
    high: Values
    gap: Bits


@dataclass(frozen=True, slots=True)
class _Cut:
    """Part of an entry: a piece begins or ends within it, so that its readings are needed."""

    row: int  # of its line
    piece: Piece
    scale: int
    from_slot: int
    to_slot: int

    @property
    def key(self) -> tuple[int, int]:
        """Say which chunk it lies in, by block and series; an entry never reaches over two."""
        return self.from_slot // BLOCK_S, self.piece.series

    @property
    def within(self) -> slice:
        """Say where in the chunk it lies."""
        begin = self.from_slot % BLOCK_S
        return slice(begin, begin + self.to_slot - self.from_slot)


def counts_per_unit(pieces: Sequence[Piece]) -> int:
    """Choose a line's scale: the series' own where it serves all pieces, else a finer one."""
    own = {piece.counts_per_unit for piece in pieces}
    plain = len(own) == 1 and not any(piece.calibrated for piece in pieces)
    return own.pop() if plain else FINE_COUNTS_PER_UNIT


def scaled(counts: Counts, piece: Piece, per_unit: int) -> Values:
    """Calibrate counts. Rising, so that the extremes stay the extremes."""
    if not piece.calibrated and per_unit == piece.counts_per_unit:
        return counts.astype(np.int32)
    values = counts * (piece.slope / piece.counts_per_unit) + piece.offset
    fine: Values = np.rint(values * per_unit).astype(np.int32)
    return fine


def load_lines(
    connection: Connection, grid: Grid, lines: Sequence[Sequence[Piece]], scales: Sequence[int]
) -> Lines:
    """Read lines over a grid, bucket by bucket; each line is given as the pieces it is made of."""
    shape = (len(lines), grid.entries)
    made = Lines(
        np.full(shape, NOTHING_LOW, np.int32),
        np.full(shape, NOTHING_HIGH, np.int32),
        np.zeros(shape, np.bool_),
    )
    series = sorted({piece.series for pieces in lines for piece in pieces})
    stored = _load(connection, grid, series)
    cuts: list[_Cut] = []
    for row, (pieces, scale) in enumerate(zip(lines, scales, strict=True)):
        line = Lines(made.low[row], made.high[row], made.gap[row])
        for piece in pieces:
            at = series.index(piece.series)
            entries = Extremes(stored.low[at], stored.high[at], stored.gap[at])
            cuts += (
                _Cut(row, piece, scale, *part) for part in _lay(grid, line, entries, piece, scale)
            )
        _break_between(grid, pieces, made.gap[row])
    _lay_cuts(connection, grid, made, cuts)
    times = grid.bucket_s // grid.step_s
    return Lines(
        gathered(np.minimum, made.low, times),
        gathered(np.maximum, made.high, times),
        gathered(np.logical_or, made.gap, times),
    )


def _load(connection: Connection, grid: Grid, series: list[int]) -> Extremes:
    if grid.step_s == 1:
        return _readings_as_entries(connection, grid, series)
    first = grid.first_slot // grid.step_s
    return load_entries(connection, grid.step_s, first, first + grid.entries, series)


def _readings_as_entries(connection: Connection, grid: Grid, series: list[int]) -> Extremes:
    first_block, end_block = grid.first_slot // BLOCK_S, -(-grid.end_slot // BLOCK_S)
    read = load_readings(connection, first_block, end_block, series)
    cut = slice(grid.first_slot - read.first_slot, grid.end_slot - read.first_slot)
    gaps = gaps_s(read.good, read.periods, read.own_periods)[:, cut]
    return extremes_of(read.counts[:, cut], read.good[:, cut], gaps)


def _lay(
    grid: Grid, line: Lines, entries: Extremes, piece: Piece, scale: int
) -> list[tuple[int, int]]:
    """Lay the entries that a piece covers into its line; returns the slots it covers beside."""
    whole, parts = _split(grid, piece)
    low, high = entries.low[whole], entries.high[whole]
    filled = low <= high
    line.low[whole] = np.where(filled, scaled(low, piece, scale), NOTHING_LOW)
    line.high[whole] = np.where(filled, scaled(high, piece, scale), NOTHING_HIGH)
    line.gap[whole] |= entries.gap[whole]
    for from_slot, _ in parts:
        line.gap[grid.entry(from_slot)] |= entries.gap[grid.entry(from_slot)]
    return parts


def _split(grid: Grid, piece: Piece) -> tuple[slice, list[tuple[int, int]]]:
    """Split a piece into whole entries, and the slots it covers of entries it is not alone in."""
    begin, end = max(piece.from_slot, grid.first_slot), min(piece.to_slot, grid.end_slot)
    first, last = grid.entry(begin + grid.step_s - 1), grid.entry(end)
    if first > last:  # it begins and ends in one entry
        return slice(0, 0), [(begin, end)]
    parts = [(begin, grid.slot(first)), (grid.slot(last), end)]
    return slice(first, last), [(a, b) for a, b in parts if a < b]


def _lay_cuts(connection: Connection, grid: Grid, made: Lines, cuts: list[_Cut]) -> None:
    """Lay what pieces cover of entries they are not alone in, decoded from the chunks."""
    stored = load_blocks(connection, {cut.key for cut in cuts})
    for cut in cuts:
        if cut.key in stored:
            counts, good = stored[cut.key]
            values = scaled(counts[cut.within][good[cut.within]], cut.piece, cut.scale)
            place = cut.row, grid.entry(cut.from_slot)
            made.low[place] = values.min(initial=made.low[place])
            made.high[place] = values.max(initial=made.high[place])


def _break_between(grid: Grid, pieces: Sequence[Piece], gap: Bits) -> None:
    """Break a line where nothing was at its place for longer than an entry."""
    spans = sorted((piece.from_slot, piece.to_slot) for piece in pieces)
    for (_, left), (from_slot, _) in pairwise(spans):
        if from_slot - left > grid.step_s and from_slot >= grid.first_slot:
            gap[grid.entry(from_slot)] = True
