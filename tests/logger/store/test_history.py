"""Every bucket of an envelope against the raw readings, whatever was swapped or recalibrated."""

import random
from itertools import pairwise
from uuid import UUID

import pytest

from logger.errors import RangeError
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store.history import envelope, history
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
def kept(request, tmp_path_factory, opening):
    """Store scans, the last quarter of an hour or so of them not sealed."""
    scans = made_up(request.param)
    with opening(tmp_path_factory.mktemp("store")) as store:
        store.keep(scans, sealed_at=scans[-1].slot - 700)
        yield scans, store.reader


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
    for (before, period_before), (slot, period) in pairwise(good):
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


def test_a_slow_cadence_is_no_gap_and_its_empty_buckets_break_nothing(store):
    scans = [Scan(BEGIN + at, 10, (Reading(KEYS[0], Grade.OK, 320),)) for at in range(0, 1200, 10)]
    reader = store.keep(scans).reader
    [trace] = envelope(reader, [track(Piece(1, 16, 0, 1 << 40))], BEGIN, BEGIN + 1200, 1200)
    [segment] = trace.segments
    assert segment.bucket_s == 1
    assert segment.filled.sum() == 120
    assert segment.breaks == ()


def test_a_place_left_empty_for_a_while_breaks_its_line(store):
    reader = store.keep([scan_of(BEGIN + at, 320) for at in range(6000)]).reader
    pieces = (
        Piece(1, 16, BEGIN, BEGIN + 1000),
        Piece(1, 16, BEGIN + 2003, BEGIN + 3000),
        Piece(1, 16, BEGIN + 3000, BEGIN + 6000),
    )
    for buckets, at in ((6000, 2003), (600, 200), (100, 33)):
        [trace] = envelope(reader, [track(*pieces)], BEGIN, BEGIN + 6000, buckets)
        assert trace.segments[0].breaks == (at,)


def test_a_gap_that_ends_where_a_calibration_changes_breaks_the_line(store):
    """The entry of 10 s it ends in is not of one piece, and is decoded from its chunk."""
    slots = [at for at in range(6000) if not 1000 <= at < 1203]
    reader = store.keep([scan_of(BEGIN + at, 320) for at in slots]).reader
    pieces = (Piece(1, 16, 0, BEGIN + 1205), Piece(1, 16, BEGIN + 1205, 1 << 40, 1.0, 0.5))
    [trace] = envelope(reader, [track(*pieces)], BEGIN, BEGIN + 6000, 600)
    assert trace.segments[0].breaks == (120,)
    assert trace.segments[0].lists()[1][119:121] == [None, 205_000]


def test_each_clock_epoch_has_its_own_segment_at_its_own_time(store):
    """An hour was logged half an hour behind; the buckets are cut where the clock was put right."""
    reader = store.keep([scan_of(BEGIN + at, at) for at in range(7000)]).reader
    late_us = 1_800_000_000
    cut = BEGIN + 3601
    epochs = EpochTable((SlotPiece(0, cut, late_us), SlotPiece(cut, 1 << 40, 0)))
    whole = track(Piece(1, 16, 0, 1 << 40))
    from_us, to_us = (BEGIN - 100) * 1_000_000, (BEGIN + 9000) * 1_000_000
    [trace] = history(reader, [whole], epochs, from_us, to_us, 300)
    first, second = trace.segments
    assert first.first_us == first.first_slot * 1_000_000 + late_us
    assert second.first_us == second.first_slot * 1_000_000
    assert (first.bucket_s, second.bucket_s) == (40, 40)
    assert (first.low[-1], first.high[-1]) == (3600, 3600)  # alone in its bucket
    assert (second.low[0], second.high[0]) == (3601, 3639)
    assert second.high[-1] == 6999


def test_epochs_whose_clocks_agree_are_one_segment(store):
    reader = store.keep([scan_of(BEGIN + at, 320) for at in range(900)]).reader
    epochs = EpochTable((SlotPiece(0, BEGIN + 450, 7), SlotPiece(BEGIN + 450, 1 << 40, -300)))
    whole = track(Piece(1, 16, 0, 1 << 40))
    [trace] = history(reader, [whole], epochs, BEGIN * 10**6, (BEGIN + 900) * 10**6, 900)
    assert len(trace.segments) == 1


@pytest.mark.parametrize(
    ("span", "buckets", "sentence"),
    [
        ((BEGIN + 10, BEGIN), 100, "ends before it begins"),
        ((BEGIN, BEGIN), 100, "ends before it begins"),
        ((BEGIN, BEGIN + 10), 1, "1 buckets were asked for; ask for 2 to 10000"),
    ],
)
def test_a_range_that_cannot_be_drawn_is_refused(kept, span, buckets, sentence):
    with pytest.raises(RangeError, match=sentence):
        envelope(kept[1], [], *span, buckets)


def test_a_range_of_a_thousand_years_reads_only_what_is_stored(kept):
    scans, reader = kept
    whole = track(Piece(1, 16, 0, 1 << 40))
    [trace] = envelope(reader, [whole], 0, 31_557_600_000, 1000)
    values = [r.count for scan in scans for r in scan.readings if r.series == KEYS[0]]
    assert trace.segments[0].low.min() == min(value for value in values if value is not None)


def test_an_empty_store_has_empty_traces(store):
    whole = track(Piece(1, 16, 0, 1 << 40))
    [trace] = envelope(store.reader, [whole], BEGIN, BEGIN + 1000, 100)
    assert trace.segments == ()


def scan_of(slot, count):
    return Scan(slot, 1, (Reading(KEYS[0], Grade.OK, count),))
