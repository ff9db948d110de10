"""Every bucket of an envelope against the raw readings, whatever was swapped or recalibrated."""

import random
from dataclasses import replace
from uuid import UUID

import numpy as np
import pytest

from logger.errors import RangeError
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.history import envelope, history
from logger.store.scans import ScanReader, ScanWriter
from logger.store.timeline import EpochTable, SlotPiece
from logger.store.tracks import Piece, Track

BEGIN = 1_767_225_600
KEYS = [SeriesKey(f"28-{number:012x}", "temperature_c", 16) for number in range(3)]
SLOTS = 20_000


def made_up(seed):
    """Make scans with hot and idle stretches, outages, refused stretches and single refusals."""
    rng = random.Random(seed)
    slot, counts, scans = BEGIN + 137, [320, 1600, -40], []
    refused_until = [0, 0, 0]
    while slot < BEGIN + SLOTS:
        period_s = 1 if (slot - BEGIN) % 9000 < 6000 else 10
        slot = -(-slot // period_s) * period_s
        if rng.random() < 0.0006:
            slot += rng.choice([3, 30, 400, 1900])
            continue
        readings = []
        for index, key in enumerate(KEYS):
            counts[index] += rng.choice([-1, 0, 0, 1])
            if rng.random() < 0.001:
                refused_until[index] = slot + rng.choice([2, 15, 130, 1300])
            refused = slot < refused_until[index] or rng.random() < 0.01
            if index == 2 and slot < BEGIN + 3000:
                continue  # not yet on the bus
            grade = Grade.EMPTY if refused else Grade.OK
            readings.append(Reading(key, grade, None if refused else counts[index]))
        scans.append(Scan(slot, period_s, tuple(readings)))
        slot += period_s
    return scans


@pytest.fixture(scope="module", params=[1, 2])
def kept(request, tmp_path_factory):
    """Store scans, the last quarter of an hour or so of them not sealed."""
    folder = tmp_path_factory.mktemp("store")
    database.prepare(folder)
    engine = database.engine(folder)
    scans = made_up(request.param)
    writer = ScanWriter(engine)
    writer.append_many(scans)
    writer.seal_due(scans[-1].slot - 700)
    reader = ScanReader(database.engine(folder, read_only=True))
    yield scans, reader
    engine.dispose()
    reader.engine.dispose()


def track(*pieces):
    return Track("head", "temperature_c", UUID(int=1), "head", None, None, pieces)


def random_track(rng):
    """Make a place with swaps, pauses and recalibrations at any second."""
    pieces, slot = [], BEGIN + rng.randint(-500, 5000)
    while slot < BEGIN + SLOTS and len(pieces) < 6:
        end = slot + rng.choice([40, 700, 3000, 9000])
        rule = rng.choice([(1.0, 0.0), (1.0, 0.0), (1.013, -0.37), (0.98, 1.5)])
        pieces.append(Piece(rng.randint(1, 3), 16, slot, end, *rule))
        slot = end + rng.choice([0, 0, 1, 250, 2000])
    return track(*pieces)


def true_values(scans, wanted, scale):
    """Calibrate every good reading of a place, one by one: the value at each slot."""
    numbers = {key: number for number, key in enumerate(KEYS, 1)}
    found = {}
    for scan in scans:
        by_number = {numbers[r.series]: r.count for r in scan.readings if r.grade == Grade.OK}
        for piece in wanted.pieces:
            if piece.from_slot <= scan.slot < piece.to_slot and piece.series in by_number:
                count = by_number[piece.series]
                value = count * (piece.slope / 16) + piece.offset
                found[scan.slot] = count if scale == 16 else round(value * scale)
    return found


def check(trace, values, from_slot, to_slot, buckets):
    """See that the segments say exactly what the values do."""
    if not trace.segments:
        assert not [slot for slot in values if from_slot <= slot < to_slot]
        return
    [segment] = trace.segments
    width = segment.bucket_s
    assert segment.first_slot % width == 0
    assert -(-to_slot // width) - from_slot // width <= buckets
    wanted = {}
    for slot, value in values.items():
        if from_slot // width <= slot // width < -(-to_slot // width):
            wanted.setdefault((slot - segment.first_slot) // width, []).append(value)
    low, high = segment.lists()
    found = {at: [low[at], high[at]] for at in range(len(low)) if low[at] is not None}
    assert found == {at: [min(some), max(some)] for at, some in wanted.items()}
    assert segment.filled[0]
    assert segment.filled[-1]


@pytest.mark.parametrize("seed", range(30))
def test_every_bucket_of_any_window_is_true(kept, seed):
    scans, reader = kept
    rng = random.Random(seed)
    tracks = [random_track(rng) for _ in range(3)]
    tracks.append(track(Piece(2, 16, 0, 1 << 40)))
    length = rng.choice([5, 60, 600, 3000, 43_200, 2_592_000])
    from_slot = BEGIN + rng.randint(-300, SLOTS)
    buckets = rng.choice([2, 7, 60, 600, 1000])
    traces = envelope(reader, tracks, from_slot, from_slot + length, buckets)
    assert [trace.track for trace in traces] == tracks
    for trace in traces:
        scale = trace.segments[0].counts_per_unit if trace.segments else 16
        values = true_values(scans, trace.track, scale)
        check(trace, values, from_slot, from_slot + length, buckets)


def breaks_by_hand(scans, number, segment, step_s):
    """Find the buckets in which a gap ended, going through the good readings one by one."""
    good = [
        (scan.slot, scan.period_s)
        for scan in scans
        for reading in scan.readings
        if reading.series == KEYS[number - 1] and reading.grade == Grade.OK
    ]
    found = set()
    for (before, period_before), (slot, period) in zip(good, good[1:], strict=False):
        at = (slot - segment.first_slot) // segment.bucket_s
        if slot - before > max(2.5 * max(period, period_before), step_s) and at > 0:
            found.add(at)
    return {at for at in found if at < len(segment.low)}


@pytest.mark.parametrize("number", [1, 2, 3])
@pytest.mark.parametrize(
    ("length", "buckets", "step_s"),
    [(900, 900, 1), (5000, 600, 1), (SLOTS, 1000, 10), (SLOTS, 200, 60), (SLOTS, 20, 600)],
)
def test_lines_are_broken_where_gaps_end_and_nowhere_else(kept, number, length, buckets, step_s):
    scans, reader = kept
    whole = track(Piece(number, 16, 0, 1 << 40))
    for from_slot in (BEGIN, BEGIN + SLOTS - length - 61):
        [trace] = envelope(reader, [whole], from_slot, from_slot + length, buckets)
        for segment in trace.segments:
            assert set(segment.breaks) == breaks_by_hand(scans, number, segment, step_s)
