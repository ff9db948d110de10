"""Readings of a past that no logger saw, put beside the history as series of their own.

They go where logged readings lie, at the slots of their own true time, sealed at once: so history,
reviews, exports and the alarms' back-test read them as they read everything, and an older store, or
one whose logger was scanning at the same time, takes them alike. Nothing logged is touched: chunks
and pages are kept by series, and of a block they share only the table of periods gains the slots
that held nothing.

What tells them apart is the probe's name: `imported-DIGEST-PLACE-60s`. The digest is the trace's,
so that one imported twice is known; the seconds are its cadence, by which gaps are judged where the
logger's own scans lie closer. They are never live: `ScanReader` hands them only to who asks for the
past (see `scans`).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection

from logger.errors import ConflictError
from logger.reading import Grade, SeriesKey
from logger.store import codec
from logger.store.codec import NO_READING, PLACES, Bytes, Counts, Extremes, Periods, Totals
from logger.store.scan_tables import SERIES_LIMIT
from logger.store.sealed import BLOCK_S, empty
from logger.store.series import IMPORTED, imported_numbers
from logger.store.summary import STEPS_S, Summary, gaps_s, summarise
from logger.store.tables import Series, table

Slots = NDArray[np.int64]

BLOCKS_TOGETHER: Final = PLACES * STEPS_S[0] // BLOCK_S  # as sealed: they share their pages
READ_PERIODS: Final = "SELECT periods FROM blocks WHERE id = ?"
WRITE_PERIODS: Final = (
    "INSERT INTO blocks (id, periods) VALUES (?, ?)"
    " ON CONFLICT (id) DO UPDATE SET periods = excluded.periods"
)
WRITE_CHUNK: Final = "INSERT INTO chunks (id, readings) VALUES (?, ?)"
WRITE_PAGE: Final = "INSERT INTO {} (id, extremes, totals) VALUES (?, ?, ?)"
UNSEALED: Final = "SELECT 1 FROM recent_scans WHERE slot >= ? AND slot < ? LIMIT 1"
TOO_FRESH: Final = (
    "The trace reaches into a time whose readings the logger has not put away yet; import it "
    "again when the logger has run for ten minutes more."
)


def probe_of(digest: str, place: str, period_s: int) -> str:
    """Name the probe that stands for a column of a trace."""
    return f"{IMPORTED}{digest}-{place}-{period_s}s"


@dataclass(frozen=True, slots=True)
class Past:
    """A trace: at which slots it was read, how often, and each series' counts (a series a row)."""

    slots: Slots  # rising, none twice
    period_s: int
    keys: Sequence[SeriesKey]
    counts: Counts
    good: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Packed:
    """A trace ready to be written: everything is encoded before a transaction begins."""

    keys: Sequence[SeriesKey]
    first_block: int
    periods: Periods  # a block a row
    chunks: Sequence[tuple[int, int, bytes]]  # block, row of the series, readings
    pages: Sequence[tuple[int, int, int, bytes, bytes]]  # step, page, row, extremes, totals


def packed(past: Past) -> Packed:
    """Encode a trace a few blocks at a time, so that little of it is in memory twice."""
    first, end = int(past.slots[0]) // BLOCK_S, int(past.slots[-1]) // BLOCK_S + 1
    periods = np.zeros((end - first) * BLOCK_S, np.uint16)
    periods[past.slots - first * BLOCK_S] = past.period_s
    chunks: list[tuple[int, int, bytes]] = []
    pages = {step_s: _Pages(step_s, len(past.keys)) for step_s in STEPS_S}
    for begin in range(first, end, BLOCKS_TOGETHER):
        stop = min(begin + BLOCKS_TOGETHER, end)
        counts, grades, gaps = _stretch(past, begin, stop)
        chunks += _chunks(begin, counts, grades)
        for step_s, summary in summarise(counts, grades == Grade.OK, gaps).items():
            pages[step_s].add(begin * BLOCK_S // step_s, summary)
    written = [row for one in pages.values() for row in one.encoded()]
    return Packed(past.keys, first, periods.reshape(-1, BLOCK_S), chunks, written)


def _stretch(past: Past, begin: int, stop: int) -> tuple[Counts, Bytes, NDArray[np.int32]]:
    """Lay out some blocks, with those before them by which a gap is known."""
    before = begin - 3
    rows, slots = len(past.keys), (stop - before) * BLOCK_S
    counts = np.zeros((rows, slots), np.int16)
    grades = np.full((rows, slots), NO_READING, np.uint8)
    inside = slice(*np.searchsorted(past.slots, (before * BLOCK_S, stop * BLOCK_S)))
    at = past.slots[inside] - before * BLOCK_S
    good = past.good[:, inside]
    counts[:, at] = np.where(good, past.counts[:, inside], 0)
    grades[:, at] = np.where(good, Grade.OK, NO_READING)
    periods = np.full(slots, past.period_s, np.uint16)
    gaps = gaps_s(grades == Grade.OK, periods)
    cut = slice((begin - before) * BLOCK_S, None)
    return counts[:, cut], grades[:, cut], gaps[:, cut]


def _chunks(begin: int, counts: Counts, grades: Bytes) -> Iterable[tuple[int, int, bytes]]:
    blocks = counts.shape[1] // BLOCK_S
    for nth in range(blocks):
        cut = slice(nth * BLOCK_S, (nth + 1) * BLOCK_S)
        present = np.flatnonzero((grades[:, cut] != NO_READING).any(axis=1))
        if present.size:
            encoded = codec.encode_chunks(counts[present, cut], grades[present, cut])
            yield from (
                (begin + nth, int(row), blob) for row, blob in zip(present, encoded, strict=True)
            )


class _Pages:
    """The pages of one step, filled from the front."""

    def __init__(self, step_s: int, rows: int) -> None:
        self.step_s, self._rows = step_s, rows
        self._pages: dict[int, Summary] = {}

    def add(self, first: int, made: Summary) -> None:
        """Put entries in, the first of them being number `first` on the whole axis."""
        for at in range(made.extremes.low.shape[1]):
            page, place = divmod(first + at, PLACES)
            into = self._pages.setdefault(page, self._blank())
            into.extremes.low[:, place] = made.extremes.low[:, at]
            into.extremes.high[:, place] = made.extremes.high[:, at]
            into.extremes.gap[:, place] = made.extremes.gap[:, at]
            into.totals.number[:, place] = made.totals.number[:, at]
            into.totals.sum[:, place] = made.totals.sum[:, at]

    def _blank(self) -> Summary:
        shape = (self._rows, PLACES)
        extremes: Extremes = empty(*shape)
        return Summary(extremes, Totals(np.zeros(shape, np.int64), np.zeros(shape, np.int64)))

    def encoded(self) -> Iterable[tuple[int, int, int, bytes, bytes]]:
        """Write every page of every series that has something in it."""
        for page, summary in self._pages.items():
            extremes = codec.encode_extremes(summary.extremes)
            totals = codec.encode_totals(summary.totals, summary.extremes.low)
            for row in np.flatnonzero(summary.totals.number.any(axis=1)).tolist():
                yield self.step_s, page, row, extremes[row], totals[row]


def write(connection: Connection, made: Packed) -> None:
    """Write a trace in the transaction that is open; one that is stored already stays as it is.

    Raises ConflictError where a block of it still waits for its sealing: a scan that comes into a
    slot of a sealed block is taken for one that was written before.
    """
    first = made.first_block
    span = (first * BLOCK_S, (first + len(made.periods)) * BLOCK_S)
    if connection.exec_driver_sql(UNSEALED, span).first() is not None:
        raise ConflictError(TOO_FRESH)
    if {one.probe_id for one in made.keys} & _stored(connection):
        return
    ids = [_number(connection, key) for key in made.keys]
    _write_periods(connection, made)
    _many(
        connection,
        WRITE_CHUNK,
        [(block * SERIES_LIMIT + ids[row], blob) for block, row, blob in made.chunks],
    )
    for step_s in STEPS_S:
        rows = [
            (page * SERIES_LIMIT + ids[row], extremes, totals)
            for step, page, row, extremes, totals in made.pages
            if step == step_s
        ]
        _many(connection, WRITE_PAGE.format(f"pages_{step_s}_s"), rows)


def _stored(connection: Connection) -> set[str]:
    return {probe_id for _, probe_id in imported_numbers(connection)}


def _number(connection: Connection, key: SeriesKey) -> int:
    values = {
        "probe_id": key.probe_id,
        "quantity": key.quantity,
        "counts_per_unit": key.counts_per_unit,
    }
    made = connection.execute(table(Series).insert().values(**values)).inserted_primary_key
    assert made is not None  # noqa: S101 - of one row
    return int(made[0])


def _write_periods(connection: Connection, made: Packed) -> None:
    """Note the slots that now hold something; those that held a scan keep its period."""
    for number, mine in enumerate(made.periods, made.first_block):
        if not mine.any():
            continue
        row = connection.exec_driver_sql(READ_PERIODS, (number,)).first()
        held = np.zeros_like(mine) if row is None else codec.decode_periods([row[0]])[0]
        [blob] = codec.encode_periods(np.where(held > 0, held, mine)[None])
        connection.exec_driver_sql(WRITE_PERIODS, (number, blob))


def _many(connection: Connection, statement: str, rows: list[tuple[Any, ...]]) -> None:
    if rows:
        connection.exec_driver_sql(statement, rows)
