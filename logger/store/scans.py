"""Scans in and out: `ScanWriter` for the logger, `ScanReader` for everybody else."""

from collections.abc import Iterable, Iterator
from dataclasses import asdict
from threading import Lock
from typing import Final

from sqlalchemy import Connection, Engine, select

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import codec
from logger.store.failures import file_of, told
from logger.store.tables import Series, table

INSERT: Final = (
    "INSERT INTO recent_scans (slot, period_s, readings) VALUES (?, ?, ?)"
    " ON CONFLICT (slot) DO NOTHING"
)
LAST: Final = "SELECT slot, period_s, readings FROM recent_scans ORDER BY slot DESC LIMIT 1"
AFTER: Final = (
    "SELECT slot, period_s, readings FROM recent_scans WHERE slot > ? ORDER BY slot LIMIT ?"
)


class SeriesNumbers:
    """The numbers series are stored under, and back; read once, added to when a probe is new."""

    def __init__(self) -> None:
        self._number: dict[SeriesKey, int] = {}
        self._key: dict[int, SeriesKey] = {}

    def key(self, number: int, connection: Connection) -> SeriesKey:
        """Find the series of a number."""
        if number not in self._key:
            self.load(connection)
        return self._key[number]

    def number(self, key: SeriesKey, connection: Connection) -> int:
        """Find a series' number, giving it one where it is new."""
        if key not in self._number:
            self.load(connection)
        if key not in self._number:
            self._add(key, connection)
        return self._number[key]

    def load(self, connection: Connection) -> None:
        """Read them all."""
        series = table(Series).c
        columns = (series.id, series.probe_id, series.quantity, series.counts_per_unit)
        for number, *key in connection.execute(select(*columns)):
            self._key[number] = SeriesKey(*key)
            self._number[self._key[number]] = number

    def _add(self, key: SeriesKey, connection: Connection) -> None:
        connection.execute(table(Series).insert().values(**asdict(key)))
        self.load(connection)


class ScanWriter:
    """Writes scans, one commit each; on one connection, kept."""

    def __init__(self, engine: Engine) -> None:
        self._file = file_of(engine)
        self._engine = engine
        self._numbers = SeriesNumbers()
        with told(self._file):
            self._connection = engine.connect()

    def append(self, scan: Scan) -> None:
        """Store a scan; where its slot is taken already, what was written first stays."""
        self.append_many((scan,))

    def append_many(self, scans: Iterable[Scan]) -> None:
        """Store several scans in one commit."""
        with told(self._file), self._connection.begin():
            for scan in scans:
                row = codec.pack_readings(self._numbered(reading) for reading in scan.readings)
                self._connection.exec_driver_sql(INSERT, (scan.slot, scan.period_s, row))

    def last_slot(self) -> int | None:
        """Find the newest slot in use."""
        with told(self._file), self._connection.begin():
            row = self._connection.exec_driver_sql(LAST).first()
            return None if row is None else int(row[0])

    def seal_due(self, now_slot: int) -> int:
        """Seal every block that is over; returns how many."""
        del now_slot
        return 0

    def close(self) -> None:
        """Give the connection back."""
        self._connection.close()

    def _numbered(self, reading: Reading) -> tuple[int, int, int]:
        number = self._numbers.number(reading.series, self._connection)
        return number, reading.grade, reading.count or 0


class ScanReader:
    """Reads scans; give it an engine opened read-only."""

    def __init__(self, engine: Engine) -> None:
        self._file = file_of(engine)
        self.engine = engine
        self._numbers = SeriesNumbers()
        self._watch: Connection | None = None
        self._watching = Lock()

    def latest(self) -> Scan | None:
        """Read the newest scan."""
        with told(self._file), self.engine.connect() as connection:
            row = connection.exec_driver_sql(LAST).first()
            return None if row is None else self._scan(row, connection)

    def after(self, slot: int, limit: int) -> list[Scan]:
        """Read the scans that follow a slot, oldest first, at most `limit`."""
        with told(self._file), self.engine.connect() as connection:
            rows = connection.exec_driver_sql(AFTER, (slot, limit)).all()
            return [self._scan(row, connection) for row in rows]

    def scans(self, from_slot: int, to_slot: int) -> Iterator[Scan]:
        """Read the scans of a range in turn, holding few at once."""
        while found := self.after(from_slot - 1, codec.PLACES):
            for scan in found:
                if scan.slot >= to_slot:
                    return
                yield scan
            from_slot = found[-1].slot + 1

    def change_token(self) -> int:
        """Read a number that changes whenever another process has committed something."""
        with told(self._file), self._watching:
            if self._watch is None:
                self._watch = self.engine.connect()
            token = self._watch.exec_driver_sql("PRAGMA data_version").scalar_one()
            self._watch.rollback()
            return int(token)

    def _scan(self, row: tuple[int, int, bytes], connection: Connection) -> Scan:
        slot, period_s, packed = row
        read = codec.unpack_readings([packed]).tolist()
        readings = tuple(self._reading(*found, connection=connection) for found in read)
        return Scan(slot, period_s, readings)

    def _reading(self, number: int, grade: int, count: int, *, connection: Connection) -> Reading:
        good = grade == Grade.OK
        key = self._numbers.key(number, connection)
        return Reading(key, Grade(grade), count if good else None)
