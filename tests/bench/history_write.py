"""What storing costs: CPU a scan, and bytes written a day, beside a row-per-reading ORM table.

Run by hand: python tests/bench/history_write.py [--hours 24] [--folder DIR] [--page-sizes]
Bars: <= 200 us of CPU a scan in the store; <= 1 GB written on a hot day (one scan a second), and
<= 100 MB on a day at ten seconds. Every scan is committed and synced; the log (WAL), its
checkpoints and sealing count. The folder must be on a disk: memory file systems write nothing.
"""

import argparse
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import history_data as data
import history_peers as peers
from sqlalchemy import event
from sqlmodel import Session, SQLModel, create_engine

from logger.reading import Grade, Reading, Scan
from logger.store import database
from logger.store.scans import ScanWriter

DAY_S = data.DAY_S


@dataclass
class Cost:
    """What some scans cost."""

    scans: int
    cpu_us: float  # a scan
    wall_us: float
    handed_mb: float  # what the process wrote, by the bytes of its calls
    disk_mb: float  # what the system counts as sent to the disk, in its pages


def counters():
    """Read what this process has written so far."""
    lines = Path("/proc/self/io").read_text().splitlines()
    found = dict(line.split(": ") for line in lines)
    return int(found["wchar"]), int(found["write_bytes"])


def measure(scans, write):
    """Run a writer over scans that were made before, and count."""
    before, begin, cpu = counters(), time.perf_counter(), time.process_time()
    for scan in scans:
        write(scan)
    cpu, wall = time.process_time() - cpu, time.perf_counter() - begin
    handed, disk = ((new - old) / 1e6 for new, old in zip(counters(), before, strict=True))
    number = len(scans)
    return Cost(number, 1e6 * cpu / number, 1e6 * wall / number, handed, disk)


def made(seconds, period_s):
    """Make the scans of some seconds."""
    counts = data.day(3)[:, :seconds:period_s].tolist()
    slots = range(data.START, data.START + seconds, period_s)
    return [
        Scan(
            slot,
            period_s,
            tuple(Reading(key, Grade.OK, count) for key, count in zip(data.KEYS, row, strict=True)),
        )
        for slot, row in zip(slots, zip(*counts, strict=True), strict=True)
    ]


def store_cost(folder, seconds, period_s):
    """Write with the logger's own writer: append, commit, and seal when a block is over."""
    folder.mkdir()
    database.prepare(folder)
    engine = database.engine(folder)
    writer = ScanWriter(engine)
    sealed = [0]

    def write(scan):
        writer.append(scan)
        if scan.slot // 600 != sealed[0]:
            sealed[0] = scan.slot // 600
            writer.seal_due(scan.slot)

    cost = measure(made(seconds, period_s), write)
    writer.close()
    engine.dispose()
    return cost


def orm_cost(folder, seconds):
    """Write a row a reading through a session, as safely: WAL, synchronous = FULL."""
    engine = create_engine(f"sqlite:///{folder / 'orm.db'}")

    @event.listens_for(engine, "connect")
    def connected(connection, _):
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")

    SQLModel.metadata.create_all(engine)

    def write(scan):
        with Session(engine) as session:
            for reading in scan.readings:
                row = {"probe": reading.series.probe_id, "time": peers.iso(scan.slot)}
                session.add(peers.ReadingRow(value=reading.value, **row))
            session.commit()

    return measure(made(seconds, 1), write)


def say(name, cost, period_s=1):
    """Print one line; bytes as of a whole day."""
    days = cost.scans * period_s / DAY_S
    print(
        f"{name:38} {cost.cpu_us:7.0f} us CPU, {cost.wall_us:6.0f} us a scan;"
        f" {cost.handed_mb / days:7.0f} MB a day handed over, {cost.disk_mb / days:7.0f} MB to disk"
    )


def main():
    """Measure and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--hours", type=float, default=24)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--page-sizes", action="store_true")
    asked = parser.parse_args()
    seconds = round(asked.hours * 3600)
    with tempfile.TemporaryDirectory(dir=asked.folder) as made_folder:
        folder = Path(made_folder)
        print(f"{asked.hours:g} hours of scans of {data.SERIES} series; bytes scaled to a day")
        if asked.page_sizes:
            for page_bytes in (1024, 2048, 4096, 8192, 16_384):
                database.PAGE_BYTES = page_bytes
                for period_s in (1, 10):
                    name = f"pages of {page_bytes} bytes, every {period_s} s"
                    say(name, store_cost(folder / name, seconds, period_s), period_s)
            return
        say("the store, every second (bar 1,000 MB)", store_cost(folder / "hot", seconds, 1))
        say("the store, every 10 s (bar 100 MB)", store_cost(folder / "idle", seconds, 10), 10)
        say("a row a reading, ORM, every second", orm_cost(folder, min(seconds, 1800)))


if __name__ == "__main__":
    main()
