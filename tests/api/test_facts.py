"""What people enter: vessels, places, placements, the names of probes."""

from uuid import uuid4

import pytest

POT, HEAD, ROOM = (f"28-00000a1b2c{n:02d}" for n in (1, 2, 3))
STILL = {"name": "Still", "kind": "still", "volume_l": 60}


def sentence(answer, status):
    assert answer.status_code == status, answer.text
    return answer.json()["error"]["sentence"]


def test_a_vessel_is_added_listed_and_corrected(client):
    made = client.post("/api/vessels", json=STILL)
    assert made.status_code == 201
    still = made.json()
    assert (still["name"], still["volume_l"], still["version"]) == ("Still", 60, 1)
    changed = client.put(
        f"/api/vessels/{still['id']}",
        json={**STILL, "name": "Spirit still", "version": 1},
    ).json()
    assert (changed["id"], changed["name"], changed["version"]) == (still["id"], "Spirit still", 2)
    assert client.get("/api/vessels").json() == [changed]


def test_a_vessel_sent_twice_under_its_own_id_is_one(client):
    body = {**STILL, "id": "01909b2e-7a40-7c3e-8d53-5b2f1f1f0001"}
    first, second = (client.post("/api/vessels", json=body) for _ in range(2))
    assert first.json() == second.json()
    assert len(client.get("/api/vessels").json()) == 1


def test_a_change_from_an_older_version_is_refused_and_says_what_changed(client):
    still = client.post("/api/vessels", json=STILL).json()
    path = f"/api/vessels/{still['id']}"
    client.put(path, json={**STILL, "volume_l": 80, "version": 1})
    told = sentence(client.put(path, json={**STILL, "name": "Big still", "version": 1}), 409)
    assert "volume_l is now 80" in told
    assert "Load it again" in told
    assert client.get("/api/vessels").json()[0]["name"] == "Still"


def test_the_same_change_sent_again_is_no_new_version(client):
    still = client.post("/api/vessels", json=STILL).json()
    answer = client.put(f"/api/vessels/{still['id']}", json={**STILL, "version": 1})
    assert answer.json()["version"] == 1


@pytest.mark.parametrize("thing", ["vessels", "places", "placements"])
def test_an_unknown_id_is_told_in_a_sentence(client, thing):
    bodies = {
        "vessels": {**STILL, "version": 1},
        "places": {"name": "pot", "version": 1},
        "placements": {
            "place_id": str(uuid4()),
            "probe_id": POT,
            "effective_at": "2026-09-21T14:00:00+00:00",
            "version": 1,
        },
    }
    path = f"/api/{thing}/{uuid4()}"
    assert "There is no" in sentence(client.put(path, json=bodies[thing]), 404)
    assert "There is no" in sentence(client.delete(path, params={"version": 1}), 404)


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({**STILL, "name": ""}, "name"),
        ({**STILL, "name": "x" * 61}, "name"),
        ({**STILL, "name": "a\x00b"}, "name"),
        ({**STILL, "kind": "bucket"}, "kind"),
        ({**STILL, "volume_l": 0}, "volume_l"),
        ({**STILL, "volume_l": 1e9}, "volume_l"),
        ({**STILL, "site": str(uuid4())}, "site"),
        ({**STILL, "who": "somebody else"}, "who"),
    ],
)
def test_a_vessel_that_cannot_be_is_refused_with_its_field(client, body, field):
    answer = client.post("/api/vessels", json=body)
    assert answer.status_code == 422
    assert answer.json()["error"]["field"] == field
    assert client.get("/api/vessels").json() == []


def test_a_vessel_with_places_and_a_place_with_placements_are_not_taken_back(client, placed):
    still = client.get("/api/vessels").json()[0]
    told = sentence(client.delete(f"/api/vessels/{still['id']}", params={"version": 1}), 409)
    assert all(name in told for name in ("pot", "head"))
    told = sentence(client.delete(f"/api/places/{placed['pot']['id']}", params={"version": 1}), 409)
    assert "take those placements back first" in told


def test_what_was_entered_by_mistake_is_taken_back(client, placed):
    placement, place = placed["pot"]["placement"]["id"], placed["pot"]["id"]
    assert client.delete(f"/api/placements/{placement}", params={"version": 1}).status_code == 204
    assert client.delete(f"/api/places/{place}", params={"version": 1}).status_code == 204
    assert [one["name"] for one in client.get("/api/places").json()] == ["head"]


def test_a_place_on_a_vessel_that_is_not_there_is_refused(client):
    answer = client.post("/api/places", json={"name": "pot", "vessel_id": str(uuid4())})
    assert "There is no vessel" in sentence(answer, 404)


def test_a_places_name_has_no_dot_or_comma(client):
    for name in ("pot.low", "pot, low"):
        assert client.post("/api/places", json={"name": name}).status_code == 422


def test_two_probes_on_one_place_are_refused(client, placed):
    body = {"place_id": placed["pot"]["id"], "probe_id": ROOM}
    assert "both be on pot" in sentence(client.post("/api/placements", json=body), 409)


def test_one_probe_on_two_places_is_refused(client, placed):
    place = client.post("/api/places", json={"name": "spout"}).json()
    body = {"place_id": place["id"], "probe_id": POT}
    assert "Probe" in sentence(client.post("/api/placements", json=body), 409)


def test_a_probe_never_on_the_bus_is_refused(client, placed):
    body = {"place_id": placed["pot"]["id"], "probe_id": "28-ffffffffffff"}
    assert "was ever on the bus" in sentence(client.post("/api/placements", json=body), 404)


def test_a_placement_from_the_future_is_refused(client, placed):
    place = client.post("/api/places", json={"name": "spout"}).json()
    body = {"place_id": place["id"], "probe_id": ROOM, "effective_at": "2027-01-01T00:00:00+00:00"}
    told = client.post("/api/placements", json=body)
    assert "lies in the future" in sentence(told, 422)
    assert told.json()["error"]["field"] == "effective_at"


def test_a_placement_that_ends_in_the_future_is_refused(client, placed):
    kept = placed["pot"]["placement"]
    wanted = {key: kept[key] for key in ("place_id", "probe_id", "effective_at", "version")}
    told = client.put(
        f"/api/placements/{kept['id']}", json=wanted | {"ended_at": "2027-01-01T00:00:00+00:00"}
    )
    assert "lies in the future" in sentence(told, 422)
    assert told.json()["error"]["field"] == "ended_at"


def test_a_placement_ends_and_another_probe_takes_the_place(client, placed):
    placement = placed["pot"]["placement"]
    ended = {
        **{key: placement[key] for key in ("place_id", "probe_id", "effective_at", "version")},
        "ended_at": "2026-09-21T14:05:00+00:00",
    }
    assert client.put(f"/api/placements/{placement['id']}", json=ended).status_code == 200
    body = {
        "place_id": placed["pot"]["id"],
        "probe_id": ROOM,
        "effective_at": "2026-09-21T14:05:00+00:00",
    }
    assert client.post("/api/placements", json=body).status_code == 201
    at = client.get("/api/placements", params={"at": "2026-09-21T14:06:00+00:00"}).json()
    assert {one["probe_id"] for one in at} == {ROOM, HEAD}
    before = client.get("/api/placements", params={"at": "2026-09-21T14:04:00+00:00"}).json()
    assert {one["probe_id"] for one in before} == {POT, HEAD}
    pot = next(one for one in client.get("/api/live").json()["places"] if one["place"] == "pot")
    assert (pot["probe_id"], pot["vessel"]) == (ROOM, "Still")


def test_probes_are_listed_with_their_health_and_place(client, placed):
    probes = {one["id"]: one for one in client.get("/api/probes").json()}
    assert set(probes) == {POT, HEAD, ROOM}
    (pot,) = probes[POT]["readings"]
    assert (pot["place"], pot["vessel"], pot["unit"]) == ("pot", "Still", "°C")
    assert probes[ROOM]["readings"][0]["place"] is None


def test_a_probe_is_named_and_retired(client, placed):
    named = client.put(f"/api/probes/{ROOM}", json={"name": "Red tape", "version": 0}).json()
    assert (named["name"], named["version"], named["retired"]) == ("Red tape", 1, False)
    retired = {"name": "Red tape", "retired": True, "version": 1}
    assert client.put(f"/api/probes/{ROOM}", json=retired).json()["retired"] is True
    assert client.get("/api/live").json()["unplaced"] == []
    told = sentence(client.put(f"/api/probes/{ROOM}", json={**retired, "retired": False}), 409)
    assert "retired is now True" in told


def test_naming_a_probe_that_never_was_is_refused(client):
    answer = client.put("/api/probes/28-ffffffffffff", json={"name": "x", "version": 0})
    assert "was ever on the bus" in sentence(answer, 404)
