"""The live state and its events: only good readings are numbers, and nothing missed is lost."""

import asyncio
import json

import pytest

from api.house import House
from api.live import MOST_MISSED, follow
from api.stream import EventId
from logger.reading import Grade
from logger.store.facts import record
from logger.store.tables import Vessel

START = 1_790_000_000


def lines(live):
    return {one["key"]: one for one in live["places"] + live["unplaced"]}


def test_before_the_first_scan_the_state_says_so(client):
    live = client.get("/api/live").json()
    assert (live["slot"], live["age_s"], live["stale"]) == (None, None, True)
    assert live["places"] == live["unplaced"] == []


def test_a_place_shows_its_reading(client, placed, stillhouse, scan, live_until):
    stillhouse.log(scan(START + 1, pot=78.5, head=20, room=18))
    live = live_until(client, lambda live: live["slot"] == START + 1)
    pot = lines(live)[placed["pot"]["id"]]
    assert (pot["vessel"], pot["place"]) == ("Still", "pot")
    assert (pot["value"], pot["unit"], pot["grade"]) == (78.5, "°C", "ok")
    assert pot["good_ms"] == live["scan_ms"] == (START + 1) * 1000
    assert live["period_s"] == 1


@pytest.mark.parametrize("grade", [grade for grade in Grade if grade is not Grade.OK])
def test_a_refused_reading_has_no_number_and_keeps_the_last_good_one_apart(
    client, placed, stillhouse, scan, live_until, grade
):
    stillhouse.log(scan(START + 1, pot=78.5), scan(START + 2, pot=grade))
    pot = lines(live_until(client, lambda live: live["slot"] == START + 2))[placed["pot"]["id"]]
    assert (pot["value"], pot["grade"]) == (None, grade.name.lower())
    assert (pot["last_good_value"], pot["good_ms"]) == (78.5, (START + 1) * 1000)
    assert pot["trend_per_min"] is None


def test_a_placed_probe_missing_from_the_scan_is_gone(client, placed, stillhouse, scan, live_until):
    stillhouse.log(scan(START + 1, head=20))
    pot = lines(live_until(client, lambda live: live["slot"] == START + 1))[placed["pot"]["id"]]
    assert (pot["value"], pot["grade"]) == (None, "gone")


def test_a_trend_is_told_from_good_readings_alone(client, placed, stillhouse, scan, live_until):
    values = [20 + n / 16 for n in range(61)]  # 3.75 a minute
    scans = [scan(START + n, pot=value) for n, value in enumerate(values, 1)]
    scans[30] = scan(START + 31, pot=Grade.POWER_ON)
    stillhouse.log(*scans)
    live = live_until(client, lambda live: live["slot"] == START + 61)
    assert lines(live)[placed["pot"]["id"]]["trend_per_min"] == pytest.approx(3.75, abs=0.01)


def test_no_trend_is_told_from_a_few_seconds(client, placed, stillhouse, scan, live_until):
    stillhouse.log(*(scan(START + n, pot=20 + n) for n in range(1, 10)))
    live = live_until(client, lambda live: live["slot"] == START + 9)
    assert lines(live)[placed["pot"]["id"]]["trend_per_min"] is None


def test_a_silent_logger_is_stale_whatever_the_wall_clock_does(
    client, stillhouse, scan, live_until
):
    stillhouse.log(scan(START, pot=20))
    assert live_until(client, lambda live: live["slot"] == START)["stale"] is False
    stillhouse.clock.step_wall(3600 * 1_000_000)
    assert client.get("/api/live").json()["stale"] is False
    stillhouse.clock.pass_time(6 * 1_000_000)
    live = client.get("/api/live").json()
    assert (live["stale"], live["stale_after_s"]) == (True, 5)
    assert live["age_s"] == pytest.approx(6, abs=0.1)


def test_slow_cadence_is_not_stale(client, stillhouse, scan, live_until):
    stillhouse.log(scan(START, 10, pot=20))
    live_until(client, lambda live: live["slot"] == START)
    stillhouse.clock.pass_time(25 * 1_000_000)
    assert client.get("/api/live").json()["stale"] is False


def test_after_a_restart_the_last_good_values_and_trends_are_there_at_once(serve, stillhouse, scan):
    stillhouse.log(*(scan(START + n, pot=20 + n / 16, head=50) for n in range(70)))
    stillhouse.log(scan(START + 70, pot=30, head=Grade.CRC))
    live = serve().get("/api/live").json()
    pot, head = (one for one in live["unplaced"])
    assert live["slot"] == START + 70
    assert pot["trend_per_min"] == pytest.approx(3.75, abs=0.2)
    assert (head["value"], head["last_good_value"]) == (None, 50)


def test_after_a_restart_an_old_scan_is_stale(serve, stillhouse, scan):
    stillhouse.log(scan(START, pot=20))
    stillhouse.clock.pass_time(60 * 1_000_000)
    live = serve().get("/api/live").json()
    assert (live["stale"], live["age_s"]) == (True, 60)


# The events, taken from the generator that the route streams.


def events_of(text):
    """Read server-sent events as a browser does; comments and `retry` are left out."""
    found = []
    for block in text.split("\n\n"):
        fields = dict(line.split(": ", 1) for line in block.splitlines() if ": " in line)
        if "event" in fields:
            found.append((fields["event"], fields["id"], json.loads(fields["data"])))
    return found


def first_part(stillhouse, since):
    """Return what a watcher that comes back is sent at once."""

    async def asked():
        house = House.open(stillhouse.settings, stillhouse.clock)
        async with house.running():
            stream = follow(house, EventId.read(since or ""), asked=since is not None)
            return (await asyncio.wait_for(anext(stream), 10)).decode()

    return asyncio.run(asked())


def test_a_new_watcher_is_sent_nothing_of_the_past(stillhouse, scan):
    stillhouse.log(scan(START, pot=20))
    assert events_of(first_part(stillhouse, None)) == []


def test_a_watcher_that_comes_back_is_sent_each_scan_it_missed_once(stillhouse, scan):
    stillhouse.log(*(scan(START + n, pot=20 + n) for n in range(10)))
    sent = events_of(first_part(stillhouse, f"{START + 4}.0"))
    assert [(name, at) for name, at, _ in sent] == [
        ("scan", f"{START + n}.0") for n in range(5, 10)
    ]
    assert [data["readings"][0][1] for _, _, data in sent] == [25, 26, 27, 28, 29]


def test_a_watcher_that_missed_a_change_of_places_is_told(stillhouse, scan):
    stillhouse.log(scan(START, pot=20))
    assert [name for name, _, _ in events_of(first_part(stillhouse, f"{START}.7"))] == ["layout"]


async def _until(stream, text):
    sent = b""
    while text not in sent:
        sent += await asyncio.wait_for(anext(stream), 20)
    return sent


def test_a_change_of_places_by_another_process_is_told_without_a_scan(stillhouse, scan):
    stillhouse.log(scan(START, pot=20))

    async def asked():
        house = House.open(stillhouse.settings, stillhouse.clock)
        async with house.running():
            stream = follow(house, None, asked=False)
            await anext(stream)
            base = {"site": house.identity.site, "who": "x", "effective_at": house.now}
            record(stillhouse.writer._engine, Vessel.first(name="Still", kind="still", **base))
            return await _until(stream, b"event: layout")

    assert f"id: {START}.1".encode() in asyncio.run(asked())


def test_a_quiet_stream_is_kept_alive(stillhouse, scan, monkeypatch):
    stillhouse.log(scan(START, pot=20))
    monkeypatch.setattr("api.house.HEARTBEAT_S", 0.01)

    async def asked():
        house = House.open(stillhouse.settings, stillhouse.clock)
        async with house.running():
            stream = follow(house, None, asked=False)
            await anext(stream)
            return await _until(stream, b":\n\n")

    assert events_of(asyncio.run(asked()).decode()) == []


def test_a_watcher_that_missed_too_much_loads_again(stillhouse, scan):
    stillhouse.log(*(scan(START + n, pot=20) for n in range(MOST_MISSED + 2)))
    sent = events_of(first_part(stillhouse, f"{START}.0"))
    assert [name for name, _, _ in sent] == ["load-again"]
    sent = events_of(first_part(stillhouse, f"{START + 1}.0"))
    assert [name for name, _, _ in sent] == ["scan"] * MOST_MISSED


@pytest.mark.parametrize("since", ["nonsense", f"{START + 999}.0", "1.2.3"])
def test_a_watcher_from_nowhere_or_from_the_future_loads_again(stillhouse, scan, since):
    stillhouse.log(scan(START, pot=20))
    assert [name for name, _, _ in events_of(first_part(stillhouse, since))] == ["load-again"]
