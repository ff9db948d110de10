"""History over HTTP: true extremes as integers, whatever was placed, calibrated or re-timed."""

import json
import random

import pytest

from logger.reading import Grade
from logger.store.facts import record
from logger.store.tables import Calibration
from logger.store.timeline import begin_epoch, correct_epoch
from logger.store.types import to_datetime

START = 1_790_000_000
MS = 1000


def ask(client, from_s, to_s, **more):
    return client.get("/api/history", params={"from_ms": from_s * MS, "to_ms": to_s * MS, **more})


def trace_of(answer, name):
    assert answer.status_code == 200, answer.text
    return next(t for t in answer.json()["traces"] if name in (t["place"], t["probe_id"]))


def points(trace):
    """Return (moment in ms, lowest, highest) of every bucket that has a reading."""
    found = []
    for one in trace["segments"]:
        scale = one["counts_per_unit"]
        for number, (low, high) in enumerate(zip(one["lo"], one["hi"], strict=True)):
            if low is not None:
                found.append((one["t0_ms"] + number * one["dt_ms"], low / scale, high / scale))
    return found


def test_every_buckets_extremes_are_the_readings_own(client, placed, stillhouse, scan):
    rng = random.Random(7)
    values = {START + n: round(rng.uniform(20, 90) * 16) / 16 for n in range(1, 2500)}
    stillhouse.log(*(scan(slot, pot=value) for slot, value in values.items()))
    trace = trace_of(ask(client, START + 100, START + 2400, buckets=50), "pot")
    assert (trace["vessel"], trace["unit"], trace["key"]) == ("Still", "°C", placed["pot"]["id"])
    (segment,) = trace["segments"]
    width = segment["dt_ms"] // MS
    found = points(trace)
    assert len(found) <= 50
    for at_ms, low, high in found:
        begin = at_ms // MS
        raw = [values[s] for s in range(begin, begin + width) if s in values]
        assert (low, high) == (min(raw), max(raw))


def test_refused_readings_leave_gaps_and_no_numbers(client, placed, stillhouse, scan):
    bad = range(START + 100, START + 200)
    stillhouse.log(
        *(scan(s, pot=Grade.CRC if s in bad else 50) for s in range(START + 1, START + 300))
    )
    trace = trace_of(ask(client, START, START + 300, buckets=300), "pot")
    (segment,) = trace["segments"]
    empty = {segment["t0_ms"] // MS + n for n, low in enumerate(segment["lo"]) if low is None}
    assert empty == set(bad)
    assert segment["breaks"] == [START + 200 - segment["t0_ms"] // MS]


def test_slow_cadence_is_no_gap(client, placed, stillhouse, scan):
    stillhouse.log(*(scan(START + n, 10, pot=50) for n in range(10, 600, 10)))
    trace = trace_of(ask(client, START + 5, START + 600, buckets=600), "pot")
    assert all(segment["breaks"] == [] for segment in trace["segments"])
    assert len(points(trace)) == 59


def test_a_probe_without_a_place_has_a_trace_of_its_own(client, placed, stillhouse, scan):
    stillhouse.log(scan(START + 1, room=18))
    trace = trace_of(ask(client, START, START + 10), "28-00000a1b2c03")
    assert (trace["place_id"], trace["key"]) == (None, "28-00000a1b2c03")


def test_some_places_may_be_asked_for(client, placed, stillhouse, scan):
    stillhouse.log(scan(START + 1, pot=50, head=60, room=18))
    answer = ask(client, START, START + 10, places=[placed["head"]["id"]])
    assert [trace["place"] for trace in answer.json()["traces"]] == ["head"]


def test_a_calibration_is_applied(client, placed, stillhouse, scan):
    stillhouse.log(scan(START + 1, pot=50))
    house = client.app.house
    fact = Calibration.first(
        probe_id="28-00000a1b2c01",
        slope=1.01,
        offset=-0.3,
        site=house.identity.site,
        who="test",
        effective_at=to_datetime(START * 1_000_000),
    )
    record(house.engine, fact)
    house.refresh()
    trace = trace_of(ask(client, START + 1, START + 10), "pot")
    assert points(trace)[0][1:] == (pytest.approx(50.2), pytest.approx(50.2))


def test_a_clock_put_right_moves_the_readings_to_their_true_time(
    client, placed, stillhouse, scan, until
):
    engine = stillhouse.writer._engine
    epoch = begin_epoch(
        engine, from_slot=START, offset_us=0, boot_id="b", boottime_us=0, synchronised=False
    )
    stillhouse.log(scan(START + 60, pot=55))
    correct_epoch(engine, epoch, offset_us=7200 * 1_000_000, synchronised=True)
    stillhouse.clock.step_wall(7200 * 1_000_000)

    def moved():
        answer = ask(client, START + 7200, START + 7400, buckets=200)
        return [p for t in answer.json()["traces"] if t["place"] == "pot" for p in points(t)]

    found = until(moved, says="the correction")
    assert ((START + 7260) * MS, 55, 55) in found


@pytest.mark.parametrize(
    ("from_s", "to_s", "says"),
    [
        (START, START - 10, "not after its begin"),
        (START, START, "not after its begin"),
        (2, 1, "ends at 1970-01-01T00:00:01+00:00, not after its begin at 1970-01-01T00:00:02"),
        (START + 5000, START + 6000, "lies in the future"),
        (10**12, 10**12 + 5, "lies in the future"),
    ],
)
def test_a_range_that_cannot_be_is_refused_in_a_sentence(
    client, placed, stillhouse, scan, from_s, to_s, says
):
    stillhouse.log(scan(START + 1, pot=50))
    answer = ask(client, from_s, to_s)
    assert answer.status_code == 422
    assert answer.json()["error"]["kind"] == "range"
    assert says in answer.json()["error"]["sentence"]


def test_a_range_before_everything_is_empty_not_wrong(client, placed, stillhouse, scan):
    stillhouse.log(scan(START + 1, pot=50))
    before = ((-(10**10), 10**9), (0, 10**9), (0, 1), (START - 10_000, START - 5000))
    for from_s, to_s in before:
        answer = ask(client, from_s, to_s)
        assert (answer.status_code, answer.json()["traces"]) == (200, [])


def test_a_range_reaching_into_the_future_ends_where_the_readings_do(
    client, placed, stillhouse, scan
):
    stillhouse.log(scan(START + 1, pot=50))
    assert len(points(trace_of(ask(client, START, START + 10**6), "pot"))) == 1


@pytest.mark.parametrize("buckets", [0, 1, -5, 4001, "many"])
def test_a_number_of_buckets_out_of_reason_is_refused(client, buckets):
    answer = ask(client, START - 100, START, buckets=buckets)
    assert answer.status_code == 422
    assert answer.json()["error"]["field"] == "buckets"


def test_history_travels_compressed(client, placed, stillhouse, scan):
    stillhouse.log(*(scan(START + n, pot=50 + n % 7, head=20, room=18) for n in range(1, 900)))
    plain = ask(client, START, START + 900).content  # decoded
    packed = client.get(
        "/api/history",
        params={"from_ms": START * MS, "to_ms": (START + 900) * MS},
        headers={"accept-encoding": "identity"},
    )
    assert "content-encoding" not in packed.headers
    assert json.loads(packed.content) == json.loads(plain)
    zipped = ask(client, START, START + 900)
    assert zipped.headers["content-encoding"] == "gzip"
    assert int(zipped.headers["content-length"]) < len(plain) / 4
