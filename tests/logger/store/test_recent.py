"""The last minutes of every probe, across a block's seam, good readings only."""

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store.recent import stretches

KEY = SeriesKey("28-a", "temperature_c", 16)


def scan(slot, count=320, grade=Grade.OK):
    return Scan(slot, 1, (Reading(KEY, grade, count if grade is Grade.OK else None),))


def test_a_stretch_crosses_from_sealed_to_recent_and_leaves_refused_readings_out(store):
    scans = [
        scan(slot, 320 + slot % 10, Grade.CRC if slot in {595, 603} else Grade.OK)
        for slot in range(610)
    ]
    store.keep(scans)
    [(key, found)] = stretches(store.reader.engine, 590, 610).items()
    assert key == KEY
    assert found.refused == 2
    expected = [slot for slot in range(590, 610) if slot not in {595, 603}]
    assert found.slots.tolist() == expected
    assert found.values.tolist() == [20 + slot % 10 / 16 for slot in expected]


def test_a_range_without_scans_has_no_stretch(store):
    store.keep([scan(1)])
    assert stretches(store.reader.engine, 100, 200) == {}


def test_a_slow_cadence_is_no_refusal(store):
    store.keep([Scan(slot, 10, scan(slot).readings) for slot in range(0, 200, 10)])
    found = stretches(store.reader.engine, 100, 200)[KEY]
    assert (found.slots.size, found.refused) == (10, 0)
