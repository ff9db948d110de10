"""Refused readings are counted by grade over a day, and sealed blocks only once."""

from collections import Counter

import pytest

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import refusals
from logger.store.refusals import Refusals

POT, HEAD = (SeriesKey(f"28-{name}", "temperature_c", 16) for name in "ab")


def scan(slot, pot=Grade.OK, head=Grade.OK):
    return Scan(
        slot,
        1,
        tuple(
            Reading(key, grade, 320 if grade is Grade.OK else None)
            for key, grade in ((POT, pot), (HEAD, head))
        ),
    )


@pytest.fixture
def counted(store):
    """Keep half an hour with faults in it; the last ten minutes are not sealed."""
    faults = {5: Grade.CRC, 700: Grade.CRC, 701: Grade.EMPTY, 1500: Grade.TIMED_OUT}
    store.keep([scan(slot, pot=faults.get(slot, Grade.OK)) for slot in range(1700)])
    return Refusals(store.reader.engine)


def test_refusals_are_counted_by_grade(counted):
    assert counted.between(0, 1700) == {
        POT: Counter({Grade.CRC: 2, Grade.EMPTY: 1, Grade.TIMED_OUT: 1}),
        HEAD: Counter(),
    }
    assert counted.between(650, 1700)[POT] == Counter(
        {Grade.CRC: 1, Grade.EMPTY: 1, Grade.TIMED_OUT: 1}
    )
    assert counted.between(1200, 1700)[POT] == Counter({Grade.TIMED_OUT: 1})


def test_a_sealed_block_is_decoded_once_and_the_open_one_each_time(counted, store, monkeypatch):
    loaded = []
    load = refusals.load_readings
    monkeypatch.setattr(
        refusals,
        "load_readings",
        lambda c, first, *rest: loaded.append(first) or load(c, first, *rest),
    )
    counted.between(0, 1700)
    counted.between(0, 1700)
    assert loaded == [0, 1, 2, 2]
    store.writer.append(scan(1700, head=Grade.CRC))
    assert counted.between(0, 1701)[HEAD] == Counter({Grade.CRC: 1})


def test_an_empty_record_has_none(store):
    assert Refusals(store.reader.engine).between(0, 86_400) == {}
