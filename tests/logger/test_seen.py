"""Probes as they were found: news is recorded, and what was known is not written again."""

from dataclasses import replace

import pytest
from sqlmodel import Session, select

from logger.bus.inventory import ProbeFacts
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.seen import SeenProbes, record
from logger.store import database
from logger.store.tables import ProbeSeen

POT = ProbeFacts(
    "28-0000075a1b2c", "DS18B20", "w1_bus_master1", 12, "external", likely_copy=False, bulk=True
)
COPY = ProbeFacts(
    "28-3ce104572b9a", "DS18B20", "w1_bus_master1", None, "unknown", likely_copy=True, bulk=True
)
START = 1_790_000_000


def scan(slot, **grades):
    grades = {POT.probe_id: Grade.OK, COPY.probe_id: Grade.OK} | grades
    return Scan(
        slot,
        1,
        tuple(
            Reading(SeriesKey(probe_id, "temperature_c", 16), grade, None)
            for probe_id, grade in grades.items()
        ),
    )


def test_only_news_is_written():
    seen = SeenProbes()
    assert seen.news([POT, COPY], scan(START)) == [POT, COPY]
    assert seen.news([POT, COPY], scan(START + 10)) == []
    asked = replace(COPY, resolution_bits=12, supply="external")
    assert seen.news([POT, asked], scan(START + 20)) == [asked]
    assert seen.news([POT, asked], scan(START + 3600)) == [POT]


def test_a_probe_that_has_gone_is_not_seen():
    seen = SeenProbes()
    assert seen.news([POT, COPY], scan(START, **{COPY.probe_id: Grade.GONE})) == [POT]
    assert seen.news([POT, COPY], scan(START + 10)) == [COPY]


@pytest.fixture
def store(tmp_path):
    database.prepare(tmp_path)
    engine = database.engine(tmp_path)
    yield engine
    engine.dispose()


def test_what_is_recorded_is_replaced_but_for_when_it_was_first_seen(store):
    record(store, [POT, COPY])
    with Session(store) as session:
        before = session.get(ProbeSeen, COPY.probe_id)
    record(store, [replace(COPY, resolution_bits=11)])
    with Session(store) as session:
        rows = {row.probe_id: row for row in session.exec(select(ProbeSeen))}
    after = rows[COPY.probe_id]
    assert rows.keys() == {POT.probe_id, COPY.probe_id}
    assert (after.resolution_bits, after.likely_copy, after.kind) == (11, True, "DS18B20")
    assert after.first_seen_at == before.first_seen_at
    assert after.last_seen_at > before.last_seen_at
