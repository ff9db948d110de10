"""Probes put right after the fact: the history is as if they had never been swapped."""

from datetime import UTC, datetime

import pytest

POT, HEAD, ROOM = (f"28-00000a1b2c{n:02d}" for n in (1, 2, 3))
START = 1_790_000_000
RANGE = {"from_ms": START * 1000, "to_ms": (START + 1800) * 1000}


def at(second):
    return datetime.fromtimestamp(START + second, UTC).isoformat()


def place(client, where, probe_id, second, end=None):
    body = {"place_id": where["id"], "probe_id": probe_id, "effective_at": at(second)}
    if end is not None:
        body["ended_at"] = at(end)
    answer = client.post("/api/placements", json=body)
    assert answer.status_code == 201, answer.text


@pytest.fixture
def still(client, stillhouse, scan):
    """A still whose probes have read for half an hour, and no probe has a place yet."""
    stillhouse.log(
        *(scan(START + s, pot=20 + s / 100, head=60 - s / 90, room=18) for s in range(1800))
    )
    stillhouse.writer.seal_due(START + 1800)
    vessel = client.post("/api/vessels", json={"name": "Still", "kind": "still", "volume_l": 60})
    return {
        name: client.post(
            "/api/places", json={"name": name, "vessel_id": vessel.json()["id"]}
        ).json()
        for name in ("pot", "head")
    }


def histories(client):
    asked = [{"buckets": n} for n in (4, 60, 1800)] + [
        {"buckets": 50, "to_ms": RANGE["from_ms"] + 60_000}
    ]
    found = [client.get("/api/history", params=RANGE | more) for more in asked]
    assert all(one.status_code == 200 for one in found)
    export = client.get("/api/export.csv", params={"from": at(0), "to": at(1800)})
    return [one.content for one in (*found, export)]


def swap(client, still, second=None):
    body = {"place_a": still["pot"]["id"], "place_b": still["head"]["id"]}
    if second is not None:
        body["from_at"] = at(second)
    return client.post("/api/placements/swap", json=body)


def withdraw_all(client):
    for one in client.get("/api/placements").json():
        client.delete(f"/api/placements/{one['id']}", params={"version": one["version"]})


def test_a_pair_swapped_from_the_start_is_put_right(client, still):
    place(client, still["pot"], POT, 0)
    place(client, still["head"], HEAD, 0)
    right = histories(client)
    withdraw_all(client)
    place(client, still["pot"], HEAD, 0)
    place(client, still["head"], POT, 0)
    assert histories(client) != right
    assert swap(client, still).status_code == 200
    assert histories(client) == right


def test_a_pair_swapped_halfway_is_put_right_from_then_on(client, still):
    place(client, still["pot"], POT, 0, 777)
    place(client, still["pot"], HEAD, 777)
    place(client, still["head"], HEAD, 0, 777)
    place(client, still["head"], POT, 777)
    right = histories(client)
    withdraw_all(client)
    place(client, still["pot"], POT, 0)
    place(client, still["head"], HEAD, 0)
    never = histories(client)
    answer = swap(client, still, 777)
    assert [one["probe_id"] for one in answer.json()] == [POT, HEAD, HEAD, POT]
    assert histories(client) == right
    assert len(swap(client, still, 777).json()) == 2  # and back: the cut is gone as well
    assert histories(client) == never


def test_probes_placed_at_different_times_swap_with_their_times(client, still):
    place(client, still["pot"], POT, 100, 900)
    place(client, still["head"], HEAD, 300)
    before = histories(client)
    swapped = swap(client, still, 200).json()
    assert [(one["probe_id"], one["effective_at"]) for one in swapped] == [
        (POT, "2026-09-21T14:15:00Z"),
        (POT, "2026-09-21T14:16:40Z"),
        (HEAD, "2026-09-21T14:18:20Z"),
    ]
    swap(client, still, 200)
    assert histories(client) == before


def test_live_readings_follow_a_swap(client, still):
    place(client, still["pot"], POT, 0)
    place(client, still["head"], HEAD, 0)
    swap(client, still)
    shown = {one["place"]: one["probe_id"] for one in client.get("/api/live").json()["places"]}
    assert shown == {"pot": HEAD, "head": POT}


def sentence(answer, status):
    assert answer.status_code == status, answer.text
    return answer.json()["error"]["sentence"]


def test_what_cannot_be_swapped_is_told(client, still):
    place(client, still["pot"], POT, 0)
    same = {"place_a": still["pot"]["id"], "place_b": still["pot"]["id"]}
    told = sentence(client.post("/api/placements/swap", json=same), 409)
    assert told == "pot cannot be swapped with itself; choose two places."
    assert "No probe was at head" in sentence(swap(client, still), 409)
    place(client, still["head"], HEAD, 0, 500)
    assert "No probe was at head" in sentence(swap(client, still, 600), 409)
    assert "lies in the future" in sentence(swap(client, still, 9000), 422)
    nowhere = same | {"place_b": "01909b2e-7a40-7c3e-8d53-5b2f1f1f0001"}
    assert "There is no place" in sentence(client.post("/api/placements/swap", json=nowhere), 404)


def replace(client, **body):
    return client.post("/api/probes/replace", json={"old": POT, "new": ROOM} | body)


def test_a_replaced_probe_leaves_its_history_with_the_place(client, still):
    place(client, still["pot"], POT, 0)
    [new] = replace(client, from_at=at(600), retire_old=True).json()
    assert (new["probe_id"], new["place_id"]) == (ROOM, still["pot"]["id"])
    pot = [
        one for one in client.get("/api/placements").json() if one["place_id"] == new["place_id"]
    ]
    assert [(one["probe_id"], one["ended_at"]) for one in pot] == [
        (POT, "2026-09-21T14:23:20Z"),
        (ROOM, None),
    ]
    [trace] = [
        one
        for one in client.get("/api/history", params=RANGE | {"buckets": 1800}).json()["traces"]
        if one["place"] == "pot"
    ]
    [segment] = trace["segments"]
    first = segment["t0_ms"] // 1000 - START
    assert segment["lo"][599 - first] / segment["counts_per_unit"] == pytest.approx(26, abs=0.1)
    assert segment["lo"][600 - first] / segment["counts_per_unit"] == 18
    probes = {one["id"]: one for one in client.get("/api/probes").json()}
    assert (probes[POT]["retired"], probes[POT]["name"]) == (True, POT)
    assert probes[ROOM]["readings"][0]["place"] == "pot"


def test_what_cannot_be_replaced_is_told(client, still):
    assert "sat nowhere at" in sentence(replace(client), 404)
    place(client, still["pot"], POT, 100, 900)
    place(client, still["head"], HEAD, 0)
    assert "by itself" in sentence(replace(client, new=POT), 409)
    assert "sat nowhere at" in sentence(replace(client, from_at=at(50)), 404)
    assert "Probe" in sentence(replace(client, new=HEAD, from_at=at(200)), 409)
    place(client, still["pot"], POT, 1000)
    assert "went to pot afterwards" in sentence(replace(client, from_at=at(200)), 409)
    assert "ever on the bus" in sentence(replace(client, new="28-ffffffffffff"), 404)


def test_a_placed_probe_is_not_retired_and_a_retired_one_not_placed(client, still):
    place(client, still["pot"], POT, 0)
    body = {"name": "Blue tape", "retired": True, "version": 0}
    told = sentence(client.put(f"/api/probes/{POT}", json=body), 409)
    assert told == (
        f"{POT} still sits at pot; replace it there or end its placement, and retire it then."
    )
    assert client.put(f"/api/probes/{ROOM}", json=body).status_code == 200
    taken = {"place_id": still["head"]["id"], "probe_id": ROOM}
    assert "Blue tape is retired" in sentence(client.post("/api/placements", json=taken), 409)
    assert "Blue tape is retired" in sentence(replace(client), 409)


def test_a_probe_assigned_twice_is_refused_in_a_sentence(client, still):
    place(client, still["pot"], POT, 0)
    body = {"place_id": still["head"]["id"], "probe_id": POT, "effective_at": at(60)}
    told = sentence(client.post("/api/placements", json=body), 409)
    assert "would be on pot and on head" in told
    assert [one["place_id"] for one in client.get("/api/placements").json()] == [still["pot"]["id"]]


def test_a_probe_is_placed_only_for_what_it_reads(client, still):
    body = {"place_id": still["pot"]["id"], "probe_id": POT, "quantity": "pressure_hpa"}
    for path in ("placements", "placements/move"):
        told = client.post(f"/api/{path}", json=body)
        assert sentence(told, 422) == (
            f"{POT} reads temperature_c and never pressure_hpa; choose what it reads, or another "
            "probe."
        )
        assert told.json()["error"]["field"] == "quantity"
    place(client, still["pot"], POT, 0)
    [here] = client.get("/api/placements").json()
    put = body | {"effective_at": at(0), "version": here["version"]}
    told = client.put(f"/api/placements/{here['id']}", json=put)
    assert "never pressure_hpa" in sentence(told, 422)
    assert [one["quantity"] for one in client.get("/api/placements").json()] == ["temperature_c"]


def move(client, where, **body):
    return client.post("/api/placements/move", json={"place_id": where["id"]} | body)


def stays(client):
    found = client.get("/api/placements").json()
    return [
        (one["place_id"], one["probe_id"], one["effective_at"], one["ended_at"]) for one in found
    ]


def test_a_probe_moves_in_one_step(client, still):
    pot, head = still["pot"]["id"], still["head"]["id"]
    first = move(client, still["pot"], probe_id=POT, from_at=at(0)).json()
    assert (first["place_id"], first["ended_at"]) == (pot, None)
    moved = move(client, still["head"], probe_id=POT, from_at=at(600)).json()
    assert (moved["place_id"], moved["ended_at"]) == (head, None)
    then = "2026-09-21T14:23:20Z"
    assert stays(client) == [(pot, POT, first["effective_at"], then), (head, POT, then, None)]
    again = move(client, still["head"], probe_id=POT, from_at=at(700)).json()
    assert again == moved  # it is there: nothing is written twice
    back = move(client, still["pot"], probe_id=POT, from_at=at(600)).json()
    assert (back["place_id"], back["version"]) == (pot, 2)


def test_a_probe_that_cannot_move_stays_where_it_is(client, still):
    place(client, still["pot"], POT, 0)
    place(client, still["head"], HEAD, 0)
    before = stays(client)
    told = sentence(move(client, still["head"], probe_id=POT, from_at=at(600)), 409)
    assert f"Probes {HEAD} and {POT} would both be on head" in told
    assert "lies in the future" in sentence(
        move(client, still["head"], probe_id=POT, from_at=at(9000)), 422
    )
    nowhere = {"id": "01909b2e-7a40-7c3e-8d53-5b2f1f1f0001"}
    assert "There is no place" in sentence(move(client, nowhere, probe_id=POT), 404)
    assert "ever on the bus" in sentence(move(client, still["head"], probe_id="28-ffff"), 404)
    assert stays(client) == before
