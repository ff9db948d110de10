"""Backup of a year's file while the logger writes, and the restore.

A year is what a small house logs: eight probes at ten seconds, one day a week at one second. The
peer is a plain copy of the same file by the operating system, without any check.
"""

import argparse
import hashlib
import shutil
import sqlite3
import tempfile
import threading
import time
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import backup, database, restoring
from logger.store.scans import ScanWriter
from logger.store.tables import StoreIdentity

DAY_S = 86_400
KEYS = [SeriesKey(f"28-00000000000{n}", "temperature_c", 16) for n in range(8)]
FIRST = 1_700_000_400


def fill(data, days):
    engine = database.engine(data)
    writer, dice = ScanWriter(engine), np.random.default_rng(1)
    for day in range(days):
        every_s = 1 if day % 7 == 0 else 10
        slots = range(FIRST + day * DAY_S, FIRST + (day + 1) * DAY_S, every_s)
        walk = (320 + np.cumsum(dice.integers(-1, 2, (len(slots), len(KEYS))), axis=0) // 8).clip(
            -800, 1900
        )
        rows = walk.tolist()
        writer.append_many(
            Scan(slot, every_s, tuple(map(Reading, KEYS, [Grade.OK] * len(KEYS), row)))
            for slot, row in zip(slots, rows, strict=True)
        )
        writer.seal_due(slots[-1])
    writer.close()
    engine.dispose()


class Load(threading.Thread):
    """Writes a scan a second, as the logger does on a hot day, and times each commit."""

    def __init__(self, data) -> None:
        super().__init__()
        self.engine, self.stop, self.took_ms = database.engine(data), threading.Event(), []
        self.slot = FIRST + 400 * DAY_S

    def run(self):
        writer = ScanWriter(self.engine)
        begin = time.monotonic()
        while not self.stop.wait(max(0.0, begin + len(self.took_ms) - time.monotonic())):
            before = time.perf_counter()
            writer.append(Scan(self.slot, 1, tuple(Reading(key, Grade.OK, 320) for key in KEYS)))
            self.took_ms.append(1000 * (time.perf_counter() - before))
            self.slot += 1
        writer.close()
        self.engine.dispose()


def rows_of(file):
    """Digest every row of every table, but for the card that a restore renews."""
    with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as store:
        names = [n for (n,) in store.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return {n: digest(store, n) for n in names if n != StoreIdentity.__tablename__}


def digest(store, name):
    rows = sorted(map(repr, store.execute(f"SELECT * FROM {name}")))  # noqa: S608
    return len(rows), hashlib.sha256("".join(rows).encode()).hexdigest()


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("--days", type=int, default=365)
    days = asked.parse_args().days
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder)
        database.prepare(data)
        fill(data, days)
        size_mb = (data / database.FILE_NAME).stat().st_size / 1e6
        print(f"{days} days of 8 probes: {size_mb:.0f} MB")
        load = Load(data)
        load.start()
        time.sleep(3)
        quiet = len(load.took_ms)
        began = time.perf_counter()
        made = backup.make(data, data / "backups", label="bench", at=datetime.now(UTC))
        took_s = time.perf_counter() - began
        load.stop.set()
        load.join()
        meanwhile = load.took_ms[quiet:]
        print(f"backup under load, with its check: {took_s:.2f} s (bar 10 s)")
        slowest_ms = max(meanwhile, default=0)
        print(f"scans meanwhile: {len(meanwhile)} of {took_s:.0f}; slowest {slowest_ms:.0f} ms")
        began = time.perf_counter()
        shutil.copyfile(made.file, data / "peer.db")
        print(f"peer, a plain copy of the file: {time.perf_counter() - began:.2f} s")
        before = rows_of(made.file)
        began = time.perf_counter()
        restoring.restore(data, made.file, at=datetime.now(UTC))
        print(f"restore, the old store kept aside: {time.perf_counter() - began:.2f} s")
        number = sum(count for count, _ in before.values())
        print(f"row for row, {number} rows:", rows_of(data / database.FILE_NAME) == before)


if __name__ == "__main__":
    main()
