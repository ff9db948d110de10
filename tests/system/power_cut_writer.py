"""Writes scans into a store and acknowledges each on standard output once it is committed.

Run: python power_cut_writer.py DATA SCANS [SYNCHRONOUS]. Seals as the logger does, and has the log
written back into the file often, so that cuts fall into that too.
"""

import os
import sys
from pathlib import Path

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.scans import ScanWriter

KEYS = [SeriesKey(f"28-{name}", "temperature_c", 16) for name in "abcd"]
FIRST = 1_767_225_600
PERIOD_S = 20


def scan(number):
    """Make the scan of a number, always the same."""
    grades = [Grade.CRC if (number + at) % 13 == 0 else Grade.OK for at in range(len(KEYS))]
    readings = (
        Reading(key, grade, (number * 7 + at) % 1999 if grade == Grade.OK else None)
        for at, (key, grade) in enumerate(zip(KEYS, grades, strict=True))
    )
    return Scan(FIRST + number * PERIOD_S, PERIOD_S, tuple(readings))


def main():
    """Write, acknowledge, seal."""
    data, scans = Path(sys.argv[1]), int(sys.argv[2])
    database.prepare(data)
    engine = database.engine(data)
    writer = ScanWriter(engine)
    kept = writer._connection.connection.driver_connection
    for synchronous in sys.argv[3:]:
        kept.execute(f"PRAGMA synchronous = {synchronous}")
    raw = engine.raw_connection()
    for number in range(scans):
        writer.append(scan(number))
        os.write(1, f"{number}\n".encode())
        writer.seal_due(scan(number).slot)
        if number % 40 == 39:
            raw.driver_connection.execute("PRAGMA wal_checkpoint(PASSIVE)")
    os._exit(0)  # no tidy closing: the last cut falls into work


if __name__ == "__main__":
    main()
