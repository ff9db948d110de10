"""History as an envelope: for each bucket of a chart, the lowest and highest there truly was."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection

from calc.arrays import distinct
from logger.store.codec import Bits
from logger.store.failures import file_of, told
from logger.store.grid import Grid
from logger.store.lines import Lines, Values, counts_per_unit, load_lines
from logger.store.scans import ScanReader, newest_slot
from logger.store.timeline import SECOND_US, EpochTable, SlotPiece
from logger.store.tracks import Piece, Track

SAME_CLOCK_US: Final = 50_000  # epochs that agree this closely are drawn as one
MANY_ENTRIES: Final = 20_000  # more are cut to what is stored, before room is made for them
OLDEST: Final = (
    "SELECT min(slot) FROM (SELECT min(id) * 600 AS slot FROM blocks"
    " UNION ALL SELECT min(slot) FROM recent_scans)"
)


@dataclass(frozen=True, slots=True)
class Segment:
    """Part of a line: buckets side by side, from the first to the last that has a reading.

    A bucket without one does not part its neighbours (the cadence may be slow); the line is to be
    broken before each bucket in `breaks`, where a gap ended.
    """

    first_slot: int
    first_us: int  # the moment bucket 0 begins, microseconds UTC
    bucket_s: int
    counts_per_unit: int
    low: Values  # counts; value = low / counts_per_unit
    high: Values
    filled: Bits
    breaks: tuple[int, ...]

    def lists(self) -> tuple[list[int | None], list[int | None]]:
        """Give lowest and highest as lists, None where there is no reading."""
        return _masked(self.low, self.filled), _masked(self.high, self.filled)


@dataclass(frozen=True, slots=True)
class Trace:
    """A line of the chart; no segments where it has no reading in the range."""

    track: Track
    segments: tuple[Segment, ...]


def envelope(
    reader: ScanReader, wanted: Sequence[Track], from_slot: int, to_slot: int, buckets: int
) -> list[Trace]:
    """Read lines over a range of slots in at most `buckets` buckets.

    Buckets are whole and aligned to their width, so the first and the last reach beyond the range.
    Raises RangeError where the range is reversed or the number of buckets out of reason.
    """
    grid = Grid.over(from_slot, to_slot, buckets)
    with told(file_of(reader.engine)), reader.engine.connect() as connection:
        return _traces(connection, wanted, grid, 0)


def history(
    reader: ScanReader,
    wanted: Sequence[Track],
    epochs: EpochTable,
    from_us: int,
    to_us: int,
    buckets: int,
) -> list[Trace]:
    """Read lines over a range of true time; they have a segment for each clock epoch in it.

    Buckets and errors as for `envelope`.
    """
    width = Grid.over(from_us // SECOND_US, -(-to_us // SECOND_US), buckets)
    found: list[tuple[Segment, ...]] = [()] * len(wanted)
    with told(file_of(reader.engine)), reader.engine.connect() as connection:
        for epoch in _joined(epochs.pieces):
            for cut in EpochTable((epoch,)).slots(from_us, to_us):
                grid = Grid.of_width(width.step_s, width.bucket_s, cut.from_slot, cut.to_slot)
                parts = [_cut(track, epoch) for track in wanted]
                traces = _traces(connection, parts, grid, epoch.offset_us)
                found = [old + new.segments for old, new in zip(found, traces, strict=True)]
    return [Trace(track, segments) for track, segments in zip(wanted, found, strict=True)]


def _joined(pieces: Sequence[SlotPiece]) -> list[SlotPiece]:
    """Join neighbouring epochs whose clocks agree, as those of a restarted logger do."""
    made = [pieces[0]]
    for piece in pieces[1:]:
        if abs(piece.offset_us - made[-1].offset_us) <= SAME_CLOCK_US:
            made[-1] = made[-1]._replace(to_slot=piece.to_slot)
        else:
            made.append(piece)
    return made


def _cut(track: Track, epoch: SlotPiece) -> Track:
    """Keep of a track what lies within an epoch."""
    cut = (
        replace(
            piece,
            from_slot=max(piece.from_slot, epoch.from_slot),
            to_slot=min(piece.to_slot, epoch.to_slot),
        )
        for piece in track.pieces
    )
    return replace(track, pieces=tuple(one for one in cut if one.from_slot < one.to_slot))


def _traces(
    connection: Connection, wanted: Sequence[Track], grid: Grid, offset_us: int
) -> list[Trace]:
    if grid.entries > MANY_ENTRIES:
        grid = grid.within(*_stored(connection))
    if grid.buckets == 0:
        return [Trace(track, ()) for track in wanted]
    pieces = [_on(track, grid) for track in wanted]
    scales = [counts_per_unit(of_line) for of_line in pieces]
    lines = load_lines(connection, grid, pieces, scales)
    return [
        Trace(track, _segments(lines, row, scales[row], grid, offset_us))
        for row, track in enumerate(wanted)
    ]


def _stored(connection: Connection) -> tuple[int, int]:
    """Find the range of slots there is anything in."""
    oldest, newest = connection.exec_driver_sql(OLDEST).scalar_one(), newest_slot(connection)
    return (0, 0) if oldest is None or newest is None else (int(oldest), newest + 1)


def _on(track: Track, grid: Grid) -> list[Piece]:
    """Choose the pieces that touch a grid."""
    return [
        piece
        for piece in track.pieces
        if piece.from_slot < grid.end_slot and piece.to_slot > grid.first_slot
    ]


def _segments(
    lines: Lines, row: int, scale: int, grid: Grid, offset_us: int
) -> tuple[Segment, ...]:
    filled = lines.low[row] <= lines.high[row]
    at = np.flatnonzero(filled)
    if at.size == 0:
        return ()
    cut = slice(int(at[0]), int(at[-1]) + 1)
    first_slot = grid.first_slot + cut.start * grid.bucket_s
    return (
        Segment(
            first_slot,
            first_slot * SECOND_US + offset_us,
            grid.bucket_s,
            scale,
            lines.low[row, cut],
            lines.high[row, cut],
            filled[cut],
            _breaks(np.flatnonzero(lines.gap[row]), at),
        ),
    )


def _breaks(gaps: NDArray[np.intp], filled: NDArray[np.intp]) -> tuple[int, ...]:
    """Put each break before the next bucket that has a reading; the first needs none."""
    if gaps.size == 0:
        return ()
    following = np.searchsorted(filled, gaps)
    at = distinct(filled[following[following < filled.size]]) - filled[0]
    return tuple(at[at > 0].tolist())


def _masked(values: Values, filled: Bits) -> list[int | None]:
    masked = values.astype(object)
    masked[~filled] = None
    made: list[int | None] = masked.tolist()
    return made
