"""What stands in the house: vessels, condensers, places, and what holds each vessel when."""

from datetime import UTC, datetime
from uuid import uuid4

import pytest

START = 1_790_000_000
STILL = {
    "name": "Still",
    "kind": "still",
    "volume_l": 300,
    "material": "copper",
    "insulation": "30 mm of felt",
    "heat_loss_w_per_k": 20,
    "heat_source": "element",
    "power_kw": 18,
    "element_cover_l": 40,
}


def at(hours):
    return datetime.fromtimestamp(START + 3600 * hours, UTC).isoformat().replace("+00:00", "Z")


def sentence(answer, status):
    assert answer.status_code == status, answer.text
    return answer.json()["error"]["sentence"]


def add(client, path, **body):
    answer = client.post(f"/api/{path}", json=body)
    assert answer.status_code == 201, answer.text
    return answer.json()


@pytest.fixture
def still(client):
    return add(client, "vessels", **STILL)


def test_a_still_is_kept_with_all_that_is_said_of_it(client, still):
    assert {key: still[key] for key in STILL} == STILL
    assert client.get("/api/vessels").json() == [still]


@pytest.mark.parametrize("kind", ["mash_tun", "fermenter", "still", "tank", "cask", "other"])
def test_every_kind_of_vessel_is_taken(client, kind):
    assert add(client, "vessels", name="One", kind=kind, volume_l=50)["heat_source"] == "none"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"volume_l": 0}, "volume_l is 0; it must be more than 0."),
        ({"volume_l": -5}, "volume_l is -5; it must be more than 0."),
        ({"volume_l": None}, "A vessel has a size; give its volume_l in litres."),
        ({"power_kw": 0}, "power_kw is 0; it must be at least 0.05."),
        ({"heat_source": "steam"}, "element_cover_l is of an element"),
        ({"heat_source": "none", "element_cover_l": None}, "power_kw is given without a heat"),
        ({"element_cover_l": 300}, "300 L to cover the element do not fit in a vessel of 300 L"),
        ({"material": "mithril"}, "material is \"mithril\"; give 'stainless-steel'"),
        ({"heat_loss_w_per_k": -1}, "must be at least 0"),
    ],
)
def test_a_vessel_that_cannot_be_is_refused_in_a_sentence(client, change, says):
    assert says in sentence(client.post("/api/vessels", json=STILL | change), 422)
    assert client.get("/api/vessels").json() == []


def test_a_vessel_without_a_size_is_refused(client):
    body = {"name": "Still", "kind": "still"}
    assert sentence(client.post("/api/vessels", json=body), 422) == "volume_l is missing; send it."


def test_a_still_has_condensers_of_their_kinds(client, still):
    made = [
        add(client, "condensers", vessel_id=still["id"], kind=kind, name=name, flow_l_min=8.5)
        for kind, name in (("product", "liebig"), ("reflux", "dephleg"), ("worm_tub", "worm"))
    ]
    assert client.get("/api/condensers").json() == made
    one = made[0]
    body = {"vessel_id": still["id"], "kind": "product", "name": "shotgun", "duty_kw": 12}
    changed = client.put(f"/api/condensers/{one['id']}", json=body | {"version": 1}).json()
    assert (changed["name"], changed["flow_l_min"], changed["duty_kw"]) == ("shotgun", None, 12)
    told = sentence(client.post("/api/condensers", json=body), 409)
    assert "a condenser named shotgun already" in told
    told = sentence(client.delete(f"/api/vessels/{still['id']}", params={"version": 1}), 409)
    assert "still has the condensers dephleg, worm, shotgun" in told
    for one in made:
        path = f"/api/condensers/{one['id']}"
        version = 2 if one["id"] == changed["id"] else 1
        assert client.delete(path, params={"version": version}).status_code == 204
    assert client.get("/api/condensers").json() == []


def test_what_cannot_be_a_condenser_is_told(client, still):
    tun = add(client, "vessels", name="Tun", kind="mash_tun", volume_l=200)
    body = {"kind": "reflux", "name": "dephleg"}
    told = sentence(client.post("/api/condensers", json=body | {"vessel_id": tun["id"]}), 409)
    assert "only a still has condensers" in told
    nowhere = body | {"vessel_id": str(uuid4())}
    assert "There is no vessel" in sentence(client.post("/api/condensers", json=nowhere), 404)
    strange = body | {"vessel_id": still["id"], "kind": "fridge"}
    assert "kind is" in sentence(client.post("/api/condensers", json=strange), 422)
    add(client, "condensers", **body, vessel_id=still["id"])
    other = {**STILL, "kind": "tank", "version": 1}
    told = sentence(client.put(f"/api/vessels/{still['id']}", json=other), 409)
    assert "only a still has condensers" in told


def test_places_sit_on_condensers_and_say_where_a_head_probe_is(client, still):
    reflux = add(client, "condensers", vessel_id=still["id"], kind="reflux", name="dephleg")
    out = add(client, "places", name="reflux_out", vessel_id=still["id"], condenser_id=reflux["id"])
    assert out["condenser_id"] == reflux["id"]
    head = add(client, "places", name="head", vessel_id=still["id"], head_probe="before_reflux")
    assert head["head_probe"] == "before_reflux"
    body = {"name": "head", "vessel_id": still["id"], "head_probe": "after_reflux", "version": 1}
    changed = client.put(f"/api/places/{head['id']}", json=body).json()
    assert changed["head_probe"] == "after_reflux"
    told = sentence(client.delete(f"/api/condensers/{reflux['id']}", params={"version": 1}), 409)
    assert "still has the places reflux_out" in told


def test_what_cannot_be_a_place_is_told(client, still):
    reflux = add(client, "condensers", vessel_id=still["id"], kind="reflux", name="dephleg")
    other = add(client, "vessels", **STILL | {"name": "Other"})
    body = {"name": "coolant_in", "vessel_id": other["id"], "condenser_id": reflux["id"]}
    assert "of another vessel" in sentence(client.post("/api/places", json=body), 409)
    nowhere = body | {"condenser_id": str(uuid4())}
    assert "There is no condenser" in sentence(client.post("/api/places", json=nowhere), 404)
    pot = {"name": "pot", "vessel_id": still["id"], "head_probe": "before_reflux"}
    answer = client.post("/api/places", json=pot)
    assert "pot is no head" in sentence(answer, 422)
    assert answer.json()["error"]["field"] == "head_probe"


def test_the_trades_names_for_places_are_offered(client):
    known = {one["name"]: one for one in client.get("/api/places/names").json()}
    assert {"mash", "ferment", "pot", "column", "head", "coolant_in", "coolant_out", "spout"} < (
        known.keys()
    )
    assert known["room"]["kinds"] == []
    assert known["coolant_in"]["on_condenser"]


@pytest.fixture
def later(stillhouse):
    stillhouse.clock.pass_time(48 * 3600 * 1_000_000)


def occupy(client, vessel, batch="rye 1", stage="strip", **times):
    body = {"vessel_id": vessel["id"], "batch": batch, "stage": stage, **times}
    return client.post("/api/occupancies", json=body)


def test_a_vessel_is_held_from_when_to_when(client, still, later):
    first = occupy(client, still, started_at=at(1), ended_at=at(5)).json()
    assert (first["batch"], first["stage"], first["started_at"]) == ("rye 1", "strip", at(1))
    second = occupy(client, still, "rye 2", "spirit", started_at=at(5)).json()
    assert client.get("/api/occupancies").json() == [first, second]
    for hours, held in ((0, []), (1, [first]), (4.9, [first]), (5, [second]), (40, [second])):
        assert client.get("/api/occupancies", params={"at": at(hours)}).json() == held


def test_no_stage_ends_before_it_is_over(client, still, later):
    first = occupy(client, still, started_at=at(1)).json()
    asked = ("vessel_id", "batch", "stage", "started_at", "version")
    wanted = {key: first[key] for key in asked} | {"ended_at": at(49)}
    refused = [
        occupy(client, still, "rye 2", started_at=at(2), ended_at=at(49)),
        client.put(f"/api/occupancies/{first['id']}", json=wanted),
    ]
    for told in refused:
        assert "lies in the future" in sentence(told, 422)
        assert told.json()["error"]["field"] == "ended_at"


def test_a_mash_in_the_pot_is_an_occupancy_like_any_other(client, still):
    made = occupy(client, still, "rye 3", "mash").json()
    assert (made["stage"], made["ended_at"]) == ("mash", None)
    mine = client.get("/api/occupancies", params={"vessel_id": still["id"]}).json()
    assert mine == [made]
    other = client.get("/api/occupancies", params={"vessel_id": str(uuid4())})
    assert other.json() == []


def test_several_fermenters_are_busy_at_once(client):
    tubs = [
        add(client, "vessels", name=f"Fermenter {n}", kind="fermenter", volume_l=200)
        for n in (1, 2, 3)
    ]
    for number, tub in enumerate(tubs):
        assert occupy(client, tub, f"rye {number}", "ferment").status_code == 201


def test_an_occupancy_that_overlaps_another_is_refused_in_a_sentence(client, still, later):
    occupy(client, still, started_at=at(1), ended_at=at(5))
    for times in (
        {"started_at": at(4)},
        {"started_at": at(0)},
        {"started_at": at(2), "ended_at": at(3)},
    ):
        told = sentence(occupy(client, still, "rye 2", "spirit", **times), 409)
        assert "Still would hold" in told
        assert "rye 1 (strip)" in told
        assert "rye 2 (spirit)" in told
        assert told.endswith("end the one before the other begins.")
    assert len(client.get("/api/occupancies").json()) == 1


def test_an_occupancy_is_ended_corrected_and_taken_back(client, still, later):
    one = occupy(client, still, started_at=at(1)).json()
    path = f"/api/occupancies/{one['id']}"
    body = {key: one[key] for key in ("vessel_id", "batch", "stage", "started_at")}
    ended = client.put(path, json=body | {"ended_at": at(6), "version": 1}).json()
    assert (ended["ended_at"], ended["version"]) == (at(6), 2)
    assert occupy(client, still, "rye 2", started_at=at(6)).status_code == 201
    longer = body | {"ended_at": at(7), "version": 2}
    assert "would hold" in sentence(client.put(path, json=longer), 409)
    stale = body | {"ended_at": at(3), "version": 1}
    assert "changed meanwhile" in sentence(client.put(path, json=stale), 409)
    backward = body | {"ended_at": at(0), "version": 2}
    told = client.put(path, json=backward)
    assert "The occupancy would end at" in sentence(told, 422)
    assert told.json()["error"]["field"] == "ended_at"
    told = sentence(client.delete(f"/api/vessels/{still['id']}", params={"version": 1}), 409)
    assert "still has the batches rye 1, rye 2" in told
    assert client.delete(path, params={"version": 2}).status_code == 204
    assert [one["batch"] for one in client.get("/api/occupancies").json()] == ["rye 2"]


@pytest.mark.parametrize(
    ("change", "status", "says"),
    [
        ({"stage": "brewing"}, 422, "stage is"),
        ({"batch": ""}, 422, "batch is empty"),
        ({"started_at": "2027-01-01T00:00:00+00:00"}, 422, "lies in the future"),
        ({"started_at": "2026-09-21T14:00:00"}, 422, "which has no offset"),
        ({"vessel_id": "01909b2e-7a40-7c3e-8d53-5b2f1f1f0001"}, 404, "There is no vessel"),
    ],
)
def test_what_cannot_be_an_occupancy_is_told(client, still, change, status, says):
    body = {"vessel_id": still["id"], "batch": "rye 1", "stage": "strip"} | change
    told = client.post("/api/occupancies", json=body)
    assert says in sentence(told, status)
    if "started_at" in change:
        assert told.json()["error"]["field"] == "started_at"
    assert client.get("/api/occupancies").json() == []
