"""The list of probes: how each does, what was refused, and what is worth knowing of it."""

import pytest

from logger.bus.inventory import ProbeFacts
from logger.reading import Grade
from logger.seen import record

POT, HEAD, ROOM = (f"28-00000a1b2c{n:02d}" for n in (1, 2, 3))
COPY = "28-3ce104572b9a"
START = 1_790_000_000


@pytest.fixture
def listed(client, placed, stillhouse, scan, live_until):
    """Two hours, with faults in both; the copy is fed by the data line."""
    faults = {60: Grade.CRC, 61: Grade.CRC, 4000: Grade.EMPTY, 7000: Grade.TIMED_OUT}
    stillhouse.log(
        *(
            scan(START + s, pot=faults.get(s, 60), head=Grade.GONE, **{COPY: 20})
            for s in range(1, 7201)
        )
    )
    stillhouse.writer.seal_due(START + 7200)
    kept = {"resolution_bits": 12, "supply": "parasite", "likely_copy": True, "bulk": False}
    facts = ProbeFacts(COPY, "DS18B20", "w1_bus_master1", **kept)
    record(stillhouse.writer._engine, [facts])
    live_until(client, lambda live: live["slot"] == START + 7200)
    return {one["id"]: one for one in client.get("/api/probes").json()}


def test_refused_readings_are_counted_over_the_hour_and_the_day(listed):
    [pot] = listed[POT]["readings"]
    assert pot["bad_counts"] == {"empty": 1, "timed_out": 1}
    assert pot["bad_counts_day"] == {"crc": 2, "empty": 1, "timed_out": 1}
    assert pot["says"].startswith("It reads well now; 4 readings were refused in the last day.")
    [head] = listed[HEAD]["readings"]
    assert (head["grade"], head["bad_counts_day"]) == ("gone", {"gone": 7200})
    assert "look at its plug and cable" in head["says"]


def test_a_likely_copy_and_a_shared_supply_are_warned_of_and_used(listed):
    assert listed[POT]["warnings"] == []
    copy, supply = listed[COPY]["warnings"]
    assert "numbered as copies are" in copy
    assert "used like any other" in copy
    assert "a supply wire of its own" in supply
    [reading] = listed[COPY]["readings"]
    assert (reading["grade"], reading["bad_counts_day"]) == ("ok", {})
    assert "nothing was refused" in reading["says"]


def test_a_probe_that_is_no_longer_in_the_scans_is_told(listed):
    assert "not in the newest scan" in listed[ROOM]["readings"][0]["says"]
