"""Every scan as one compressed CSV, out and in: part of a carried store (see `carrying`)."""

import csv
import gzip
from collections.abc import Iterator, Sequence
from contextlib import closing
from itertools import islice
from pathlib import Path
from typing import Final

from sqlalchemy import Engine, select

from logger.errors import StoreError
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store.scans import ScanReader, ScanWriter
from logger.store.tables import Series, table
from logger.store.timeline import EpochTable
from logger.store.types import to_datetime

NAME: Final = "scans.csv.gz"
FIXED: Final = ("slot", "time", "period_s")
PERIODS: Final = range(1, 601)  # what a scan's period may be, in seconds
COUNTS: Final = range(-(1 << 15), 1 << 15)
TOGETHER: Final = 600
GRADES: Final = {grade.name.lower(): grade for grade in Grade if grade is not Grade.OK}


def _series(engine: Engine) -> Sequence[SeriesKey]:
    with engine.connect() as connection:
        found = connection.execute(select(table(Series)).order_by(table(Series).c.id)).mappings()
        return [
            SeriesKey(one["probe_id"], one["quantity"], one["counts_per_unit"]) for one in found
        ]


def write(engine: Engine, file: Path) -> int:
    """Write every scan; returns how many."""
    epochs, keys, number = EpochTable.load(engine), _series(engine), 0
    with closing(ScanReader(engine)) as reader, gzip.open(file, "wt", newline="") as out:
        rows = csv.writer(out)
        rows.writerow([*FIXED, *map(_column, keys)])
        for scan in reader.scans(0, 1 << 40, imported=True):
            number += 1
            cells = {one.series: _cell(one) for one in scan.readings}
            at = to_datetime(epochs.utc_us(scan.slot)).isoformat()
            rows.writerow([scan.slot, at, scan.period_s, *(cells.get(key, "") for key in keys)])
    return number


def _column(key: SeriesKey) -> str:
    return f"{key.probe_id}/{key.quantity}/{key.counts_per_unit}"


def _cell(reading: Reading) -> int | str:
    return reading.grade.name.lower() if reading.count is None else reading.count


def read(engine: Engine, file: Path) -> int:
    """Store every scan of a file; returns how many, or raises StoreError naming the line."""
    writer, number = ScanWriter(engine), 0
    try:
        scans = _scans(file)
        while some := list(islice(scans, TOGETHER)):
            writer.append_many(some)
            number += len(some)
            writer.seal_due(some[-1].slot)
    finally:
        writer.close()
    return number


def _scans(file: Path) -> Iterator[Scan]:
    try:
        with gzip.open(file, "rt", newline="") as lines:
            rows = csv.reader(lines)
            keys = _keys(next(rows, []), file)
            for number, row in enumerate(rows, 2):
                yield _scan(keys, row, file, number)
    except (OSError, EOFError, UnicodeDecodeError, csv.Error) as error:
        raise StoreError(f"{file} cannot be read: {error}.") from None


def _keys(header: Sequence[str], file: Path) -> Sequence[SeriesKey]:
    fixed, columns = tuple(header[: len(FIXED)]), header[len(FIXED) :]
    try:
        keys = [_key(column) for column in columns]
    except ValueError:
        keys = None
    if keys is None or fixed != FIXED:
        raise StoreError(
            f"{file}, line 1: the columns are slot, time, period_s and then "
            "probe/quantity/counts_per_unit for each series."
        )
    return keys


def _key(column: str) -> SeriesKey:
    probe_id, quantity, counts = column.rsplit("/", 2)
    return SeriesKey(probe_id, quantity, int(counts))


def _scan(keys: Sequence[SeriesKey], row: Sequence[str], file: Path, number: int) -> Scan:
    try:
        slot, _, period_s, *cells = row
        readings = tuple(_reading(*one) for one in zip(keys, cells, strict=True) if one[1])
        return Scan(_whole(slot, range(1 << 40)), _whole(period_s, PERIODS), readings)
    except ValueError:
        raise StoreError(
            f"{file}, line {number}, is no scan: a slot, its time, its period in seconds, and for "
            "each series a whole number, a grade's name or nothing are expected."
        ) from None


def _reading(key: SeriesKey, cell: str) -> Reading:
    if cell in GRADES:
        return Reading(key, GRADES[cell], None)
    return Reading(key, Grade.OK, _whole(cell, COUNTS))


def _whole(text: str, within: range) -> int:
    number = int(text)
    if number not in within:
        raise ValueError(text)
    return number
