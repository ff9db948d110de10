"""Scans in and out: `ScanWriter` for the logger, `ScanReader` for everybody else."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import compress
from threading import Lock
from typing import Final, NamedTuple

import numpy as np
from sqlalchemy import Connection, Engine, PoolProxiedConnection

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import codec
from logger.store.codec import NO_READING
from logger.store.failures import file_of, told
from logger.store.sealed import BLOCK_S, PERIOD_LIMIT_S, Readings, load_readings
from logger.store.sealing import is_sealed, seal_due
from logger.store.series import SeriesNumbers, all_numbers

ONCE: Final = 600  # scans committed, or held in memory, at once

INSERT: Final = (
    "INSERT INTO recent_scans (slot, period_s, readings) VALUES (?, ?, ?)"
    " ON CONFLICT (slot) DO NOTHING"
)
LAST_RECENT: Final = "SELECT max(slot) FROM recent_scans"
LAST_BLOCK: Final = "SELECT id, periods FROM blocks ORDER BY id DESC LIMIT 1"
AFTER: Final = (
    "SELECT slot, period_s, readings FROM recent_scans"
    " WHERE slot > ? AND slot < ? ORDER BY slot LIMIT ?"
)
NEXT_BLOCK: Final = (
    "SELECT min(id) FROM (SELECT min(id) AS id FROM blocks WHERE id >= ?"
    " UNION ALL SELECT min(slot) / 600 FROM recent_scans WHERE slot >= ?)"
)
BLOCK_BEFORE: Final = "SELECT max(id) FROM blocks WHERE id < ?"
LAST_GOOD: Final = (
    "SELECT id, last_good_slot, last_good_count FROM series WHERE last_good_slot IS NOT NULL"
)
RECENT: Final = "SELECT slot, readings FROM recent_scans"


class LastGood(NamedTuple):
    """The newest good reading of a series."""

    slot: int
    counts: int


BEFORE_ALL: Final = LastGood(-1, 0)


class ScanWriter:
    """Writes scans, one commit each, on one connection that it keeps."""

    def __init__(self, engine: Engine) -> None:
        self._file = file_of(engine)
        self._engine = engine
        self._numbers = SeriesNumbers()
        with told(self._file):  # a statement by itself is a transaction by itself
            self._connection = engine.execution_options(begin=None).connect()

    def append(self, scan: Scan) -> None:
        """Store a scan; where its slot is taken already, what was written first stays."""
        with told(self._file), self._connection.begin():
            self._connection.exec_driver_sql(INSERT, self._row(scan))

    def append_many(self, scans: Iterable[Scan]) -> None:
        """Store several scans in one commit."""
        with told(self._file):
            rows = [self._row(scan) for scan in scans]
            if rows:
                with self._engine.begin() as connection:
                    connection.exec_driver_sql(INSERT, rows)

    def last_slot(self) -> int | None:
        """Find the newest slot in use."""
        with told(self._file), self._connection.begin():
            return newest_slot(self._connection)

    def seal_due(self, now_slot: int) -> int:
        """Seal every block of 600 slots that ended at or before a slot; returns how many."""
        with told(self._file):
            return seal_due(self._engine, now_slot)

    def close(self) -> None:
        """Give the connection back."""
        self._connection.close()

    def _row(self, scan: Scan) -> tuple[int, int, bytes]:
        if not 1 <= scan.period_s <= PERIOD_LIMIT_S:
            raise ValueError(f"A scan's period is 1 to {PERIOD_LIMIT_S} s, not {scan.period_s}.")
        number, engine = self._numbers.number, self._engine
        packed = codec.pack_readings(
            [(number(one.series, engine), one.grade, one.count or 0) for one in scan.readings]
        )
        return scan.slot, scan.period_s, packed


class ScanReader:
    """Reads scans; give it an engine opened read-only. Any thread may call it."""

    def __init__(self, engine: Engine) -> None:
        self._file = file_of(engine)
        self.engine = engine
        self._numbers = SeriesNumbers()
        self._watch: PoolProxiedConnection | None = None
        self._watching = Lock()

    def latest(self) -> Scan | None:
        """Read the newest scan that a logger took."""
        with told(self._file), self.engine.connect() as connection:
            newest = newest_slot(connection)
            if newest is None:
                return None
            found = self._after(connection, newest - 1, 1)
            return found[0] if found else self._before(connection, newest)

    def latest_good(self) -> dict[SeriesKey, LastGood]:
        """Read the newest good reading of every series that ever had one."""
        with told(self._file), self.engine.connect() as connection:
            found = _last_good(connection)
            return {self._numbers.key(number, connection): good for number, good in found.items()}

    def after(self, slot: int, limit: int) -> list[Scan]:
        """Read the scans that follow a slot, oldest first, at most `limit`."""
        with told(self._file), self.engine.connect() as connection:
            return self._after(connection, slot, limit)

    def scans(self, from_slot: int, to_slot: int, *, imported: bool = False) -> Iterator[Scan]:
        """Read the scans of a range in turn, the last excluded, holding few at once.

        What was imported is a past, and only for who asks for it: nobody was there to be called.
        """
        while found := self._some(from_slot - 1, imported=imported):
            for scan in found:
                if scan.slot >= to_slot:
                    return
                yield scan
            from_slot = found[-1].slot + 1

    def _some(self, slot: int, *, imported: bool) -> list[Scan]:
        with told(self._file), self.engine.connect() as connection:
            return self._after(connection, slot, ONCE, imported=imported)

    def change_token(self) -> int:
        """Read a number that changes whenever another connection has committed something."""
        with told(self._file), self._watching:
            if self._watch is None:
                self._watch = self.engine.raw_connection()
            cursor = self._watch.cursor()  # asked many times a second, and outside a transaction
            cursor.execute("PRAGMA data_version")
            [(token,)] = cursor.fetchall()
            return int(token)

    def close(self) -> None:
        """Give the kept connection back."""
        with self._watching:
            if self._watch is not None:
                self._watch.close()
                self._watch = None

    def _before(self, connection: Connection, slot: int) -> Scan | None:
        """Read the newest scan a logger took before a slot, behind what was imported."""
        number: int | None = slot // BLOCK_S
        while number is not None:
            if found := self._of_block(connection, number, number * BLOCK_S - 1, BLOCK_S):
                return found[-1]
            number = connection.exec_driver_sql(BLOCK_BEFORE, (number,)).scalar_one()
        return None

    def _after(
        self, connection: Connection, slot: int, limit: int, *, imported: bool = False
    ) -> list[Scan]:
        found: list[Scan] = []
        number = (slot + 1) // BLOCK_S
        while len(found) < limit and (block := next_block(connection, number)) is not None:
            found += self._of_block(connection, block, slot, limit - len(found), imported=imported)
            number = block + 1
        return found

    def _of_block(
        self,
        connection: Connection,
        number: int,
        slot: int,
        limit: int,
        *,
        imported: bool = False,
    ) -> list[Scan]:
        """Read the scans of one block that follow a slot."""
        if not is_sealed(connection, number):
            begin = number * BLOCK_S
            span = (max(slot, begin - 1), begin + BLOCK_S)
            rows = connection.exec_driver_sql(AFTER, (*span, limit))
            return [self._from_row(connection, *row) for row in rows]
        readings = load_readings(connection, number, number + 1, all_numbers(connection))
        if not imported and readings.own_periods is not None:
            readings = _logged(readings)
        return self._from_block(connection, readings, slot)[:limit]

    def _from_row(self, connection: Connection, slot: int, period_s: int, packed: bytes) -> Scan:
        read = codec.unpack_readings([packed]).tolist()
        return Scan(slot, period_s, tuple(self._reading(connection, *one) for one in read))

    def _from_block(self, connection: Connection, block: Readings, slot: int) -> list[Scan]:
        after = max(slot + 1 - block.first_slot, 0)
        found = []
        for place in (np.flatnonzero(block.periods[after:]) + after).tolist():
            present = np.flatnonzero(block.grades[:, place] != NO_READING).tolist()
            readings = (
                self._reading(
                    connection,
                    block.series[row],
                    int(block.grades[row, place]),
                    int(block.counts[row, place]),
                )
                for row in present
            )
            period_s = int(block.periods[place])
            found.append(Scan(block.first_slot + place, period_s, tuple(readings)))
        return found

    def _reading(self, connection: Connection, number: int, grade: int, count: int) -> Reading:
        key = self._numbers.key(number, connection)
        return Reading(key, Grade(grade), count if grade == Grade.OK else None)


def _logged(readings: Readings) -> Readings:
    """Keep what a logger read: no imported series, and no slot that only they are in."""
    assert readings.own_periods is not None  # noqa: S101 - asked before
    present, theirs = readings.grades != NO_READING, readings.own_periods > 0
    only_theirs = present[theirs].any(axis=0) & ~present[~theirs].any(axis=0)
    return replace(
        readings,
        series=tuple(compress(readings.series, ~theirs)),
        periods=np.where(only_theirs, 0, readings.periods).astype(np.uint16),
        counts=readings.counts[~theirs],
        grades=readings.grades[~theirs],
        own_periods=None,
    )


def newest_slot(connection: Connection) -> int | None:
    """Find the newest slot in use, sealed or not."""
    recent = connection.exec_driver_sql(LAST_RECENT).scalar_one()
    block = connection.exec_driver_sql(LAST_BLOCK).first()
    if block is None or (recent is not None and recent // BLOCK_S > block[0]):
        return None if recent is None else int(recent)
    [periods] = codec.decode_periods([block[1]])
    sealed = int(block[0]) * BLOCK_S + int(np.flatnonzero(periods)[-1])
    return max(sealed, recent or 0)


def next_block(connection: Connection, number: int) -> int | None:
    """Find the first block, from one on, that holds a scan."""
    found = connection.exec_driver_sql(NEXT_BLOCK, (number, number * BLOCK_S)).scalar_one()
    return None if found is None else int(found)


def _last_good(connection: Connection) -> dict[int, LastGood]:
    """Find each series' newest good reading: among the recent scans, else as of its sealing."""
    found = {row[0]: LastGood(*row[1:]) for row in connection.exec_driver_sql(LAST_GOOD)}
    for slot, packed in connection.exec_driver_sql(RECENT):
        for number, grade, count in codec.unpack_readings([packed]).tolist():
            if grade == Grade.OK and slot > found.get(number, BEFORE_ALL).slot:
                found[number] = LastGood(slot, count)
    return found
