"""A probe warmed in the hand is offered, and the answer says how it was judged."""

from logger.reading import Grade

POT, HEAD, ROOM = (f"28-00000a1b2c{n:02d}" for n in (1, 2, 3))
START = 1_790_000_000


def warm(s):
    return 18 + max(0, s - 330) / 4


def test_the_probe_in_the_hand_is_offered(client, placed, stillhouse, scan, live_until):
    stillhouse.log(
        *(scan(START + s, pot=30 + s / 60, head=Grade.EMPTY, room=warm(s)) for s in range(1, 361))
    )
    live_until(client, lambda live: live["slot"] == START + 360)
    found = client.get("/api/warming").json()
    assert found["offered"] == ROOM
    first, second = found["candidates"]
    assert (first["probe_id"], first["place"], first["by_hand"]) == (ROOM, None, True)
    assert 6 < first["rise_c"] < 8
    assert (second["probe_id"], second["place"], second["vessel"]) == (POT, "pot", "Still")
    assert abs(second["rise_c"]) < 0.2
    assert ROOM in found["says"]
    assert "only good readings count" in found["how"]
    us = client.get("/api/warming", params={"temperature_unit": "F"}).json()
    assert us["candidates"] == found["candidates"]
    assert f"to {first['to_c'] * 1.8 + 32:.1f} °F" in us["says"]
    assert "rose by 2.7 °F or more" in us["how"]
    assert "stayed below 100 °F" in us["how"]
    only = client.get("/api/warming", params={"unplaced_only": True}).json()
    assert [one["probe_id"] for one in only["candidates"]] == [ROOM]


def test_nothing_is_offered_where_nothing_rose(client, placed, stillhouse, scan, live_until):
    stillhouse.log(*(scan(START + s, pot=20, head=20, room=18) for s in range(1, 100)))
    live_until(client, lambda live: live["slot"] == START + 99)
    found = client.get("/api/warming").json()
    assert found["offered"] is None
    assert "hold it for half a minute" in found["says"]
    assert len(found["candidates"]) == 3


def test_a_silent_logger_is_told(client, placed, stillhouse):
    stillhouse.clock.pass_time(60_000_000)
    found = client.get("/api/warming").json()
    assert (found["offered"], found["candidates"]) == (None, [])
    assert "see that the logger runs" in found["says"]
