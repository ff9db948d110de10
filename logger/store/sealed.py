"""Reads of the scan history on an open connection: readings by block, summaries by page.

Both come as arrays over a whole range, a series a row, in the order asked for. What is not sealed
yet is found among the recent scans.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection

from logger.store import codec
from logger.store.codec import (
    NO_READING,
    NOTHING_HIGH,
    NOTHING_LOW,
    PLACES,
    Bits,
    Bytes,
    Counts,
    Extremes,
    Periods,
)
from logger.store.scan_tables import SERIES_LIMIT
from logger.store.series import cadence_s, imported_numbers
from logger.store.summary import Summary, gaps_s, summarise

BLOCK_S: Final = PLACES  # a block is 600 slots, as a page is 600 entries
PERIOD_LIMIT_S: Final = 600
BLOCKS_BEFORE: Final = 3  # in which to look for the begin of a gap: 2.5 periods of 600 s

RECENT: Final = (
    "SELECT slot, period_s, readings FROM recent_scans WHERE slot >= ? AND slot < ? ORDER BY slot"
)
RECENT_BLOCKS: Final = (
    "SELECT DISTINCT slot / 600 FROM recent_scans WHERE slot >= ? AND slot < ? ORDER BY 1"
)
BLOCKS: Final = "SELECT id, periods FROM blocks WHERE id >= ? AND id < ?"
CHUNKS: Final = "SELECT id, readings FROM chunks WHERE id >= ? AND id < ?"
CHUNKS_OF: Final = "SELECT id, readings FROM chunks WHERE id IN ({})"
AT_ONCE: Final = 500  # parameters of a statement; SQLite allowed 999 for long
PAGES: Final = {
    10: "SELECT id, extremes FROM pages_10_s WHERE id >= ? AND id < ?",
    60: "SELECT id, extremes FROM pages_60_s WHERE id >= ? AND id < ?",
    600: "SELECT id, extremes FROM pages_600_s WHERE id >= ? AND id < ?",
}


@dataclass(frozen=True, slots=True)
class Readings:
    """Every reading of some series over whole blocks, a slot a column."""

    first_slot: int
    series: tuple[int, ...]
    periods: Periods  # of the scan in each slot; 0 where there is none
    counts: Counts
    grades: Bytes  # NO_READING where the series is not in the scan
    own_periods: Periods | None = None  # a series a row: of what was imported; None: of none

    @property
    def good(self) -> Bits:
        """Say where there is a number."""
        good: Bits = self.grades == 0
        return good


@dataclass(frozen=True, slots=True)
class _Found:
    """Blobs of one kind, and where they belong: row (series) and column (block or page)."""

    rows: list[int]
    columns: list[int]
    blobs: list[bytes]


def load_readings(
    connection: Connection, first_block: int, end_block: int, series: Sequence[int]
) -> Readings:
    """Read whole blocks, the last excluded."""
    shape = (len(series), (end_block - first_block) * BLOCK_S)
    made = Readings(
        first_block * BLOCK_S,
        tuple(series),
        np.zeros(shape[1], np.uint16),
        np.zeros(shape, np.int16),
        np.full(shape, NO_READING, np.uint8),
        _own_periods(connection, series),
    )
    _place_sealed(connection, made, first_block, end_block)
    _place_recent(connection, made)
    return made


def _own_periods(connection: Connection, series: Sequence[int]) -> Periods | None:
    cadences = {number: cadence_s(probe) for number, probe in imported_numbers(connection)}
    if not cadences:
        return None
    return np.array([cadences.get(number, 0) for number in series], np.uint16)


def load_blocks(
    connection: Connection, wanted: Collection[tuple[int, int]]
) -> dict[tuple[int, int], tuple[Counts, Bits]]:
    """Read counts, and where they are good, of single (block, series) pairs scattered about."""
    numbers = [number for number, _ in wanted]
    span = (min(numbers) * BLOCK_S, (max(numbers) + 1) * BLOCK_S) if numbers else (0, 0)
    fresh = set(connection.exec_driver_sql(RECENT_BLOCKS, span).scalars())
    sealed = [number * SERIES_LIMIT + series for number, series in wanted if number not in fresh]
    found: dict[tuple[int, int], tuple[Counts, Bits]] = {}
    for at in range(0, len(sealed), AT_ONCE):
        keys = sealed[at : at + AT_ONCE]
        places = ", ".join("?" * len(keys))
        rows = connection.exec_driver_sql(CHUNKS_OF.format(places), tuple(keys)).all()
        decoded = zip(rows, *codec.decode_chunks([blob for _, blob in rows]), strict=True)
        for (key, _), counts, grades in decoded:
            found[divmod(key, SERIES_LIMIT)] = counts, grades == 0
    for number, series in wanted:
        if number in fresh:
            read = load_readings(connection, number, number + 1, [series])
            found[number, series] = read.counts[0], read.good[0]
    return found


def block_summary(readings: Readings) -> dict[int, Summary]:
    """Summarise the last block of several; those before tell whether a gap ended in it."""
    gaps = gaps_s(readings.good, readings.periods, readings.own_periods)[:, -BLOCK_S:]
    return summarise(readings.counts[:, -BLOCK_S:], readings.good[:, -BLOCK_S:], gaps)


def load_entries(
    connection: Connection, step_s: int, first: int, end: int, series: Sequence[int]
) -> Extremes:
    """Read the summaries of a step, from one entry to another excluded."""
    pages = (first // PLACES, -(-end // PLACES))
    made = empty(len(series), (pages[1] - pages[0]) * PLACES)
    if (found := _find(connection, PAGES[step_s], pages, series)).blobs:
        read = codec.decode_extremes(found.blobs)
        _place(made.low, found, read.low)
        _place(made.high, found, read.high)
        _place(made.gap, found, read.gap)
    cut = slice(first - pages[0] * PLACES, end - pages[0] * PLACES)
    made = Extremes(made.low[:, cut], made.high[:, cut], made.gap[:, cut])
    _add_recent(connection, made, step_s, first, series)
    return made


def empty(rows: int, entries: int) -> Extremes:
    """Make entries without any reading."""
    shape = (rows, entries)
    low, high = np.full(shape, NOTHING_LOW), np.full(shape, NOTHING_HIGH)
    return Extremes(low, high, np.zeros(shape, np.bool_))


def _find(
    connection: Connection, select: str, numbers: tuple[int, int], series: Sequence[int]
) -> _Found:
    row_of = {number: row for row, number in enumerate(series)}
    keys = (numbers[0] * SERIES_LIMIT, numbers[1] * SERIES_LIMIT)
    found = _Found([], [], [])
    for key, blob in connection.exec_driver_sql(select, keys):
        column, number = divmod(key, SERIES_LIMIT)
        if (row := row_of.get(number)) is not None:
            found.rows.append(row)
            found.columns.append(column - numbers[0])
            found.blobs.append(blob)
    return found


def _place(into: Counts | Bytes | Bits, found: _Found, decoded: Counts | Bytes | Bits) -> None:
    in_places = into.reshape(len(into), -1, PLACES)
    in_places[found.rows, found.columns] = decoded


def _place_sealed(connection: Connection, made: Readings, first_block: int, end_block: int) -> None:
    blocks = connection.exec_driver_sql(BLOCKS, (first_block, end_block)).all()
    found = _find(connection, CHUNKS, (first_block, end_block), made.series)
    if blocks:
        periods = codec.decode_periods([blob for _, blob in blocks])
        made.periods.reshape(-1, PLACES)[[number - first_block for number, _ in blocks]] = periods
    if found.blobs:
        counts, grades = codec.decode_chunks(found.blobs)
        _place(made.counts, found, counts)
        _place(made.grades, found, grades)


def _place_recent(connection: Connection, made: Readings) -> None:
    """Put in what is not sealed yet; where a slot is sealed already, that was written first."""
    span = (made.first_slot, made.first_slot + made.periods.size)
    rows = connection.exec_driver_sql(RECENT, span).all()
    fresh = [row for row in rows if made.periods[row[0] - made.first_slot] == 0]
    if not fresh:
        return
    slots = np.array([slot for slot, _, _ in fresh]) - made.first_slot
    made.periods[slots] = [period for _, period, _ in fresh]
    packed = [readings for _, _, readings in fresh]
    _place_readings(made, slots, packed)


def _place_readings(made: Readings, slots: NDArray[np.int64], packed: list[bytes]) -> None:
    each = [len(readings) // codec.READING.itemsize for readings in packed]
    found, at = codec.unpack_readings(packed), np.repeat(slots, each)
    row_of = np.full(max(*made.series, int(found["series"].max(initial=0)), 0) + 1, -1)
    row_of[list(made.series)] = range(len(made.series))
    rows = row_of[found["series"]]
    wanted = rows >= 0
    made.counts[rows[wanted], at[wanted]] = found["count"][wanted]
    made.grades[rows[wanted], at[wanted]] = found["grade"][wanted]


def _add_recent(
    connection: Connection, made: Extremes, step_s: int, first: int, series: Sequence[int]
) -> None:
    """Summarise the recent scans of the range."""
    span = (first * step_s, (first + made.low.shape[1]) * step_s)
    for (block,) in connection.exec_driver_sql(RECENT_BLOCKS, span).all():
        readings = load_readings(connection, block - BLOCKS_BEFORE, block + 1, series)
        extremes = block_summary(readings)[step_s].extremes
        begin = block * BLOCK_S // step_s - first
        from_, to = max(begin, 0), min(begin + extremes.low.shape[1], made.low.shape[1])
        into, cut = slice(from_, to), slice(from_ - begin, to - begin)
        np.minimum(made.low[:, into], extremes.low[:, cut], out=made.low[:, into])
        np.maximum(made.high[:, into], extremes.high[:, cut], out=made.high[:, into])
        made.gap[:, into] |= extremes.gap[:, cut]
