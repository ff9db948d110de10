"""Seals blocks that are over: 600 slots of recent scans become chunks and entries in summaries.

Encoding happens outside the transaction, which only writes what is ready: chunks and pages in, the
block's recent rows out. A scan that comes late for a sealed block waits among the recent rows and
is joined to its block at the next sealing; where a slot was taken, what was written first stays.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import compress, groupby
from operator import attrgetter
from typing import Any, Final

import numpy as np
from sqlalchemy import Connection, Engine

from logger.store import codec
from logger.store.codec import NO_READING, PLACES, Extremes, Totals
from logger.store.scan_tables import SERIES_LIMIT
from logger.store.sealed import (
    BLOCK_S,
    BLOCKS_BEFORE,
    Readings,
    block_summary,
    empty,
    load_readings,
)
from logger.store.series import all_numbers
from logger.store.summary import STEPS_S, Summary

SHARING: Final = PLACES * STEPS_S[0] // BLOCK_S  # blocks that share all their pages

DUE: Final = "SELECT DISTINCT slot / 600 FROM recent_scans WHERE slot < ? ORDER BY 1"
IS_SEALED: Final = "SELECT 1 FROM blocks WHERE id = ?"
COUNT: Final = "SELECT count(*) FROM recent_scans WHERE slot >= ? AND slot < ?"
PERIODS: Final = "SELECT id, periods FROM blocks WHERE id >= ? AND id <= ? ORDER BY id"
DELETE: Final = "DELETE FROM recent_scans WHERE slot >= ? AND slot < ?"
WRITE_BLOCK: Final = (
    "INSERT INTO blocks (id, periods) VALUES (?, ?)"
    " ON CONFLICT (id) DO UPDATE SET periods = excluded.periods"
)
WRITE_CHUNK: Final = (
    "INSERT INTO chunks (id, readings) VALUES (?, ?)"
    " ON CONFLICT (id) DO UPDATE SET readings = excluded.readings"
)
READ_PAGES: Final = "SELECT id, extremes, totals FROM {} WHERE id >= ? AND id < ?"
WRITE_PAGE: Final = (
    "INSERT INTO {} (id, extremes, totals) VALUES (?, ?, ?)"
    " ON CONFLICT (id) DO UPDATE SET extremes = excluded.extremes, totals = excluded.totals"
)
LAST_GOOD: Final = (
    "UPDATE series SET last_good_slot = ?, last_good_count = ?"
    " WHERE id = ? AND (last_good_slot IS NULL OR last_good_slot < ?)"
)


@dataclass(frozen=True, slots=True)
class _Write:
    """A statement and its rows, ready to be run."""

    statement: str
    rows: list[tuple[Any, ...]]


def seal_due(engine: Engine, now_slot: int) -> int:
    """Seal every block that ended at or before a slot; returns how many."""
    reading = engine.execution_options(begin="BEGIN")
    with reading.connect() as connection:
        due = connection.exec_driver_sql(DUE, (now_slot // BLOCK_S * BLOCK_S,)).scalars().all()
        later = {number + more for number in due for more in range(1, BLOCKS_BEFORE + 1)}
        after = [number for number in later if is_sealed(connection, number)]
    # a late scan may close a gap that ended in a later block
    for numbers in _together(sorted({*due, *after})):
        while not _seal(engine, reading, numbers):
            pass  # a scan came in between
    return len(due)


def _together(numbers: list[int]) -> Iterator[list[int]]:
    """Put neighbours together that share their pages: many at once cost each page one writing."""
    for _, group in groupby(enumerate(numbers), lambda one: (one[1] - one[0], one[1] // SHARING)):
        yield [number for _, number in group]


def _seal(engine: Engine, reading: Engine, numbers: list[int]) -> bool:
    """Seal blocks that follow one another, unless something came into them meanwhile."""
    span = (numbers[0] * BLOCK_S, (numbers[-1] + 1) * BLOCK_S)
    with reading.connect() as connection:
        stood = _stand(connection, numbers, span)
        writes = _encode(connection, numbers)
    with engine.begin() as connection:
        if _stand(connection, numbers, span) != stood:
            return False
        for write in filter(attrgetter("rows"), writes):
            connection.exec_driver_sql(write.statement, write.rows)
        connection.exec_driver_sql(DELETE, span)
    return True


def _stand(
    connection: Connection, numbers: list[int], span: tuple[int, int]
) -> tuple[int, list[tuple[int, bytes]]]:
    """Say what blocks hold: a trace may be imported into them while they are encoded."""
    rows: int = connection.exec_driver_sql(COUNT, span).scalar_one()
    sealed = connection.exec_driver_sql(PERIODS, (numbers[0], numbers[-1])).all()
    return rows, [(int(number), bytes(periods)) for number, periods in sealed]


def is_sealed(connection: Connection, number: int) -> bool:
    """Say whether a block has been sealed."""
    return connection.exec_driver_sql(IS_SEALED, (number,)).first() is not None


def _encode(connection: Connection, numbers: list[int]) -> list[_Write]:
    """Make everything that sealing blocks writes."""
    loaded = {number: _load(connection, number) for number in numbers}
    summaries = {number: block_summary(readings) for number, readings in loaded.items()}
    return [
        _Write(WRITE_BLOCK, [_periods(number, readings) for number, readings in loaded.items()]),
        _Write(WRITE_CHUNK, [row for one in loaded.items() for row in _chunks(*one)]),
        *(
            _pages(
                connection,
                step_s,
                {
                    number: (readings.series, summaries[number][step_s])
                    for number, readings in loaded.items()
                },
            )
            for step_s in STEPS_S
        ),
        _Write(LAST_GOOD, [row for readings in loaded.values() for row in _last_good(readings)]),
    ]


def _periods(number: int, readings: Readings) -> tuple[int, bytes]:
    [periods] = codec.encode_periods(readings.periods[None, -BLOCK_S:])
    return number, periods


def _chunks(number: int, readings: Readings) -> Iterator[tuple[int, bytes]]:
    now = slice(-BLOCK_S, None)
    chunks = codec.encode_chunks(readings.counts[:, now], readings.grades[:, now])
    keys = (number * SERIES_LIMIT + series for series in readings.series)
    return zip(keys, chunks, strict=True)


def _load(connection: Connection, number: int) -> Readings:
    """Read a block and those before, of the series that are in the block."""
    read = load_readings(connection, number - BLOCKS_BEFORE, number + 1, all_numbers(connection))
    present = (read.grades[:, -BLOCK_S:] != NO_READING).any(axis=1)
    series = tuple(compress(read.series, present))
    counts, grades = read.counts[present], read.grades[present]
    own = None if read.own_periods is None else read.own_periods[present]
    return Readings(read.first_slot, series, read.periods, counts, grades, own)


def _pages(
    connection: Connection, step_s: int, blocks: dict[int, tuple[tuple[int, ...], Summary]]
) -> _Write:
    """Put the entries of blocks into the pages they share."""
    name = f"pages_{step_s}_s"
    entries = BLOCK_S // step_s
    page = min(blocks) * entries // PLACES
    series = tuple(sorted({one for own, _ in blocks.values() for one in own}))
    old = _read_pages(connection, name, page, series)
    for number, (own, new) in blocks.items():
        first = number * entries - page * PLACES
        into = [series.index(one) for one in own], slice(first, first + entries)
        old.extremes.low[into] = new.extremes.low
        old.extremes.high[into] = new.extremes.high
        old.extremes.gap[into] = new.extremes.gap
        old.totals.number[into] = new.totals.number
        old.totals.sum[into] = new.totals.sum
    keys = [page * SERIES_LIMIT + one for one in series]
    extremes = codec.encode_extremes(old.extremes)
    totals = codec.encode_totals(old.totals, old.extremes.low)
    return _Write(WRITE_PAGE.format(name), list(zip(keys, extremes, totals, strict=True)))


def _read_pages(connection: Connection, name: str, page: int, series: tuple[int, ...]) -> Summary:
    """Read the pages of some series as they stand, empty where there is none yet."""
    made = Summary(
        empty(len(series), PLACES),
        Totals(
            np.zeros((len(series), PLACES), np.int64), np.zeros((len(series), PLACES), np.int64)
        ),
    )
    keys = (page * SERIES_LIMIT, (page + 1) * SERIES_LIMIT)
    found = connection.exec_driver_sql(READ_PAGES.format(name), keys).all()
    row_of = {key: row for row, key in enumerate(page * SERIES_LIMIT + one for one in series)}
    mine = [(row_of[key], extremes, totals) for key, extremes, totals in found if key in row_of]
    if mine:
        rows, extremes, totals = zip(*mine, strict=True)
        _fill(made, list(rows), codec.decode_extremes(extremes), totals)
    return made


def _fill(into: Summary, rows: list[int], extremes: Extremes, totals: tuple[bytes, ...]) -> None:
    read = codec.decode_totals(totals, extremes.low)
    into.extremes.low[rows], into.extremes.high[rows] = extremes.low, extremes.high
    into.extremes.gap[rows] = extremes.gap
    into.totals.number[rows], into.totals.sum[rows] = read.number, read.sum


def _last_good(readings: Readings) -> list[tuple[int, int, int, int]]:
    """Find each series' newest good reading of the last block."""
    found = []
    for series, good, counts in zip(readings.series, readings.good, readings.counts, strict=True):
        at = np.flatnonzero(good[-BLOCK_S:])
        if at.size:
            place = int(at[-1]) + good.size - BLOCK_S
            slot = readings.first_slot + place
            found.append((slot, int(counts[place]), series, slot))
    return found
