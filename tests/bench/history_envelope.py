"""The history at full size: size of the file, truth and speed of envelopes, beside two peers.

Run by hand: python tests/bench/history_envelope.py [--days 30] [--windows 30] [--folder DIR]
Windows are random and unaligned; each bucket of the month's is compared with the raw readings.
Bars: file <= 20 MB; 30 days and 12 h <= 5 ms, 10 min <= 1 ms warm; 30 days >= 500 times faster than
GROUP BY on wide integer rows and >= 5,000 times than a row-per-reading ORM table; a year's file
within 1.2 times.
"""

import argparse
import os
import statistics
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import history_data as data
import history_peers as peers
import numpy as np

from logger.store import database
from logger.store.history import envelope
from logger.store.scan_tables import SERIES_LIMIT
from logger.store.scans import ScanReader
from logger.store.sealing import seal_due
from logger.store.tracks import tracks

BUCKETS = 1000
LENGTHS = {"30 days": 30 * data.DAY_S, "12 h": 43_200, "10 min": 600}
COPY_DAYS = 25  # a copy of so many days begins where pages of every step begin
COPIES = 14
YEAR_DAYS = COPY_DAYS * (COPIES + 1)


def build(folder, days):
    """Fill a store day by day, sealing as the logger does; returns all counts."""
    database.prepare(folder)
    engine = database.engine(folder)
    data.number_series(engine)
    raw = np.empty((data.SERIES, days * data.DAY_S), np.int16)
    begin, sealing = time.perf_counter(), 0.0
    for number in range(days):
        counts = data.day(number)
        raw[:, number * data.DAY_S : (number + 1) * data.DAY_S] = counts
        for second in range(0, data.DAY_S, 600):
            slot = data.START + number * data.DAY_S + second
            data.write(engine, slot, counts[:, second : second + 600])
            before = time.perf_counter()
            seal_due(engine, slot + 600)
            sealing += time.perf_counter() - before
    data.record_facts(engine, database.identity(engine).site, days)
    checkpoint(engine)
    built = time.perf_counter() - begin
    blocks = days * data.DAY_S // 600
    print(f"built in {built:.0f} s; sealing {1000 * sealing / blocks:.1f} ms a block of 600 scans")
    return raw


def checkpoint(engine):
    """Bring everything into the file itself."""
    raw = engine.raw_connection()
    raw.driver_connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    raw.close()
    engine.dispose()


def lengthen(folder, copies):
    """Append copies of the first days, sealed, so that the file is that of a year."""
    engine = database.engine(folder)
    last = COPY_DAYS * data.DAY_S
    with engine.begin() as connection:
        for name, width, step in (
            ("blocks", 1, 600),
            ("chunks", SERIES_LIMIT, 600),
            ("pages_10_s", SERIES_LIMIT, 6000),
            ("pages_60_s", SERIES_LIMIT, 36_000),
            ("pages_600_s", SERIES_LIMIT, 360_000),
        ):
            key = data.START // step * width
            more = last // step * width
            connection.exec_driver_sql(f"DELETE FROM {name} WHERE id >= {key + more}")  # noqa: S608
            columns = "periods" if name == "blocks" else "readings"
            columns = "extremes, totals" if name.startswith("pages") else columns
            for copy in range(1, copies + 1):
                connection.exec_driver_sql(
                    f"INSERT INTO {name} SELECT id + {copy * more}, {columns} FROM {name}"  # noqa: S608
                    f" WHERE id < {key + more}"
                )
    checkpoint(engine)


def repeated(track, copies):
    """Give a line the swaps and recalibrations of its first days again in every copy of them."""
    last = data.START + COPY_DAYS * data.DAY_S
    first = [
        replace(piece, from_slot=max(piece.from_slot, data.START), to_slot=min(piece.to_slot, last))
        for piece in track.pieces
        if piece.from_slot < last
    ]
    shifts = [copy * COPY_DAYS * data.DAY_S for copy in range(copies + 1)]
    pieces = (
        replace(piece, from_slot=piece.from_slot + shift, to_slot=piece.to_slot + shift)
        for shift in shifts
        for piece in first
    )
    return replace(track, pieces=tuple(pieces))


def windows(rng, seconds, days, number):
    """Choose unaligned windows of a length; those as long as the data begin a little before."""
    spare = days * data.DAY_S - seconds
    low, high = (0, spare) if spare > 0 else (-6 * 3600, 6 * 3600)
    return [data.START + int(begin) for begin in rng.integers(low, high, number)]


def true_line(track, raw, scale, first_slot, end_slot):
    """Calibrate each raw reading of a place by itself."""
    shape = end_slot - first_slot
    values, filled = np.zeros(shape, np.int32), np.zeros(shape, bool)
    for piece in track.pieces:
        begin = max(piece.from_slot, first_slot, data.START)
        end = min(piece.to_slot, end_slot, data.START + raw.shape[1])
        if begin < end:
            counts = raw[piece.series - 1, begin - data.START : end - data.START]
            fine = np.rint((counts * (piece.slope / 16) + piece.offset) * scale)
            cut = slice(begin - first_slot, end - first_slot)
            values[cut], filled[cut] = (counts if scale == 16 else fine), True
    return values, filled


def check(trace, raw):
    """Compare each bucket of a line with the raw readings in it; returns how many."""
    [segment] = trace.segments
    end_slot = segment.first_slot + len(segment.low) * segment.bucket_s
    values, filled = true_line(
        trace.track, raw, segment.counts_per_unit, segment.first_slot, end_slot
    )
    shape = (-1, segment.bucket_s)
    low = np.where(filled, values, 1 << 30).reshape(shape).min(axis=1)
    high = np.where(filled, values, -(1 << 30)).reshape(shape).max(axis=1)
    assert (segment.filled == (low <= high)).all()
    assert (segment.low[segment.filled] == low[segment.filled]).all()
    assert (segment.high[segment.filled] == high[segment.filled]).all()
    assert segment.breaks == ()
    return int(segment.filled.sum())


def measure(reader, places, name, begins, raw=None):
    """Time envelopes, and check each where the raw readings are given."""
    seconds = LENGTHS[name]
    times, cpu, checked = [], [], 0
    for begin in begins:
        for _ in range(2):  # the first run fills the caches with just this window
            before, cpu_before = time.perf_counter(), time.process_time()
            traces = envelope(reader, places, begin, begin + seconds, BUCKETS)
            times.append(time.perf_counter() - before)
            cpu.append(time.process_time() - cpu_before)
        if raw is not None:
            assert len(traces) == data.SERIES
            checked += sum(check(trace, raw) for trace in traces)
    warm = [1000 * value for value in times[1::2]]
    said = f"{checked:>9,} buckets true" if raw is not None else ""
    print(
        f"  {name:8} median {statistics.median(warm):6.2f} ms,"
        f" p95 {np.percentile(warm, 95):6.2f} ms, CPU {1000 * statistics.median(cpu[1::2]):6.2f} ms"
        f"  {said}"
    )
    return statistics.median(warm)


def cold(folder, name, begin, places):
    """Time one envelope by a fresh connection, the file dropped from the system's cache."""
    with (folder / database.FILE_NAME).open("rb") as file:
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
    engine = database.engine(folder, read_only=True)
    reader = ScanReader(engine)
    before = time.perf_counter()
    envelope(reader, places, begin, begin + LENGTHS[name], BUCKETS)
    print(f"  {name:8} cold {1000 * (time.perf_counter() - before):6.2f} ms")
    engine.dispose()


def size_mb(folder):
    """Weigh the file."""
    return (folder / database.FILE_NAME).stat().st_size / 1e6


def main():
    """Build, check, time and compare."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--days", type=int, default=30)
    parser.add_argument("--windows", type=int, default=30)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--no-peers", action="store_true")
    parser.add_argument("--page-bytes", type=int, default=database.PAGE_BYTES)
    asked = parser.parse_args()
    database.PAGE_BYTES = asked.page_bytes
    with tempfile.TemporaryDirectory() as made:
        folder = asked.folder or Path(made)
        folder.mkdir(parents=True, exist_ok=True)
        run(folder, asked)


def run(folder, asked):
    """Do everything in one folder."""
    raw = build(folder, asked.days)
    rng = np.random.default_rng(data.SEED)
    print(
        f"{raw.size:,} readings, {100 * data.zero_steps(raw):.1f} % zero steps:"
        f" file {size_mb(folder):.1f} MB (bar 20)"
    )
    reader = ScanReader(database.engine(folder, read_only=True))
    end_us = (data.START + raw.shape[1]) * 1_000_000
    places = [one for one in tracks(reader.engine, data.START * 1_000_000, end_us) if one.place]
    chosen = {
        name: windows(rng, seconds, asked.days, asked.windows) for name, seconds in LENGTHS.items()
    }
    month = {name: measure(reader, places, name, begins, raw) for name, begins in chosen.items()}
    for name, begins in chosen.items():
        cold(folder, name, begins[0], places)
    if not asked.no_peers:
        compare(folder, asked, chosen["30 days"][0], month["30 days"])
    lengthen(folder, COPIES)
    places = [repeated(place, COPIES) for place in places]
    print(
        f"a file of {YEAR_DAYS} days, the first {COPY_DAYS} and {COPIES} copies of them with their"
        f" swaps and recalibrations: {size_mb(folder):.1f} MB"
    )
    reader = ScanReader(database.engine(folder, read_only=True))
    for name, seconds in LENGTHS.items():
        begins = windows(rng, seconds, YEAR_DAYS, asked.windows)
        print(f"{measure(reader, places, name, begins) / month[name]:10.2f} times the month's")


def compare(folder, asked, begin, ours_ms):
    """Time the peers on the same readings, bucket width and window."""
    bucket_s = 3000  # what 1,000 buckets of 30 days snap to
    wide = peers.build_wide(folder, asked.days)
    end = begin + 30 * data.DAY_S
    wide_ms = 1000 * peers.seconds(lambda: peers.query_wide(wide, begin, end, bucket_s), 2)
    print(f"  wide integer rows, GROUP BY: {wide_ms:,.0f} ms, {wide_ms / ours_ms:,.0f} times ours")
    readings = peers.build_readings(folder, 2)
    part_end = data.START + 2 * data.DAY_S
    part_ms = 1000 * peers.seconds(
        lambda: peers.query_readings(readings, data.START, part_end, bucket_s), 2
    )
    orm_ms = part_ms * asked.days / 2
    print(
        f"  row-per-reading ORM table: {part_ms:,.0f} ms for 2 days, scaled linearly to"
        f" {asked.days} days {orm_ms:,.0f} ms, {orm_ms / ours_ms:,.0f} times ours"
    )


if __name__ == "__main__":
    main()
