"""The alarms over HTTP: what stands, what people do, limits with their reasons, and the past."""

import json

import pytest

from api.alarms import events
from api.alarms.events import Key
from api.alarms.shipped import SHIPPED
from tests.doors_help import headers_of

START = 1_790_000_000
POT, HEAD = "28-00000a1b2c01", "28-00000a1b2c02"
OUT = "28-00000a1b2c09"


@pytest.fixture
def alarmed(stillhouse, serve, scan, live_until):
    """Serve a still whose cooling water leaves hot, and find the alarm."""
    stillhouse.log(scan(START, pot=20, head=20, **{OUT: 12}))
    client = serve()
    vessel = client.post(
        "/api/vessels",
        json={"name": "still", "kind": "still", "volume_l": 100, "heat_source": "element"},
    ).json()
    for name, probe in (("pot", POT), ("head", HEAD), ("coolant_out", OUT)):
        body = {"name": name, "vessel_id": vessel["id"]}
        place = client.post("/api/places", json=body).json()
        body = {"place_id": place["id"], "probe_id": probe}
        assert client.post("/api/placements", json=body).status_code == 201
    body = {"vessel_id": vessel["id"], "batch": "rye 1", "stage": "strip"}
    assert client.post("/api/occupancies", json=body).status_code == 201
    stillhouse.log(*(scan(START + n, pot=92, head=91, **{OUT: 80}) for n in range(1, 30)))
    live_until(client, lambda live: live["slot"] == START + 29)
    client.vessel = vessel["id"]
    return client


def standing(client, rule="coolant_out_hot"):
    found = client.get("/api/alarms").json()
    return next((one for one in found["now"] if one["rule"] == rule), None)


def test_what_stands_says_place_value_limit_and_what_to_do(alarmed):
    body = alarmed.get("/api/alarms").json()
    alarm = standing(alarmed)
    assert body["now"][0]["priority"] == "high"
    assert body["sounding"]
    assert body["highest"] == "high"
    assert (alarm["vessel"], alarm["place"]) == ("still", "coolant_out")
    assert (alarm["value"], alarm["limit"], alarm["unit"]) == (80.0, 70.0, "°C")
    assert alarm["state"] == "unacknowledged"
    assert alarm["first_action"] == SHIPPED["coolant_out_hot"].words.first_action
    [stage] = body["stages"]
    assert (stage["stage"], stage["source"], stage["phase"]) == ("strip", "occupancy", "boiling")


def test_acknowledge_with_a_note_shelve_and_put_back(alarmed):
    key = standing(alarmed)["key"]
    body = alarmed.post(f"/api/alarms/{key}/acknowledge", json={"note": "on my way"}).json()
    mine = next(one for one in body["now"] if one["key"] == key)
    assert (mine["state"], mine["acknowledged_by"]) == ("acknowledged", "at the machine")
    alarmed.post(f"/api/alarms/{key}/shelve", json={"minutes": 20, "why": "hose changed"})
    assert standing(alarmed) is None
    [aside] = alarmed.get("/api/alarms").json()["aside"]
    assert aside["covers"] == ["shelved"]
    assert aside["shelved_until"]
    alarmed.post(f"/api/alarms/{key}/unshelve")
    assert standing(alarmed)["state"] == "unacknowledged"  # it comes up as new
    alarmed.post(f"/api/alarms/{key}/out-of-service", json={"why": "probe is off"})
    assert alarmed.get("/api/alarms").json()["aside"][0]["covers"] == ["out_of_service"]
    alarmed.post(f"/api/alarms/{key}/in-service")
    alarmed.post(f"/api/alarms/{key}/shelve", json={"once": True, "why": "known"})
    [once] = alarmed.get("/api/alarms").json()["aside"]
    assert once["covers"] == ["shelved_once"]
    assert once["shelved_until"]  # for once, and at most for an hour
    told = alarmed.get("/api/alarms/history", params={"rule": "coolant_out_hot"}).json()
    assert [one["what"] for one in told] == [
        "shelve_once", "put_in_service", "take_out_of_service", "unshelve", "shelve",
        "acknowledge", "raise",
    ]  # fmt: skip
    assert told[5]["why"] == "on my way"
    assert told[5]["who"] == "at the machine"


def test_a_shelf_has_a_most_and_a_reason(alarmed):
    key = standing(alarmed)["key"]
    for body, says in (
        ({"why": "x"}, "give one of the two"),
        ({"minutes": 30, "once": True, "why": "x"}, "give one of the two"),
        ({"minutes": 90, "why": "x"}, "at most 60 min"),
        ({"minutes": 100_000, "why": "x"}, "at most 720"),
        ({"minutes": 30}, "why is missing"),
    ):
        answer = alarmed.post(f"/api/alarms/{key}/shelve", json=body)
        assert answer.status_code == 422
        assert says in answer.json()["error"]["sentence"]


def test_what_is_not_there_is_told(client):
    assert client.post("/api/alarms/spout_hot@nowhere/acknowledge").status_code == 404
    assert client.post("/api/alarms/rules/none/backtest", json={"limit": 1}).status_code == 404
    body = {"vessel_id": "nothing"}
    assert client.post("/api/alarms/water-runs", json=body).status_code == 404


def test_the_alarm_of_another_quantity_has_a_key_that_stands_in_an_address():
    key = Key("probe_refused", "0190-place/pressure_hpa")
    assert "/" not in str(key)
    assert Key.read(str(key)) == key


def test_a_press_counts_where_it_is_made_at_the_machine_and_nowhere_else(
    client, signed_in, stillhouse
):
    def pressed(asking, **body):
        return asking.post("/api/alarms/at-the-still", json=body).json()["counted"]

    assert pressed(client)
    client.headers = headers_of(stillhouse.data, "operate", stillhouse.time)
    assert pressed(client)  # whoever is signed in there
    elsewhere = signed_in("operate")
    assert not pressed(elsewhere)
    assert not pressed(elsewhere, source="button")  # whatever a caller says of itself


def test_water_that_somebody_saw_run_is_proven(alarmed):
    body = {"vessel_id": alarmed.vessel, "note": "at the drain"}
    found = alarmed.post("/api/alarms/water-runs", json=body).json()
    assert found["stages"][0]["water_proven"]
    told = alarmed.get("/api/alarms/history", params={"what": "water_runs"}).json()
    assert told[0]["why"] == "at the drain"


def test_rules_state_limit_basis_and_the_delay_of_a_slow_cadence(client):
    rules = {one["rule"]: one for one in client.get("/api/alarms/rules").json()}
    assert set(rules) == set(SHIPPED)
    jump = rules["coolant_jump"]
    assert "common practice, no source" in jump["basis"]
    delays = {one["period_s"]: one["delay_s"] for one in jump["delays"]}
    assert delays[1] < delays[10]
    assert rules["ferment_rising"]["priority"] is None


def test_slopes_are_judged_over_more_than_two_cycles_of_the_heats_control(client):
    def delays():
        rules = {one["rule"]: one for one in client.get("/api/alarms/rules").json()}
        return rules["coolant_surge"]["delays"][0]["delay_s"]

    before, path = delays(), "/api/alarms/control-cycle"
    assert client.get(path).json() == {"seconds": 0.0, "version": 0}
    assert client.put(path, json={"seconds": 12, "version": 0}).json()["version"] == 1
    assert client.put(path, json={"seconds": 12, "version": 7}).status_code == 409
    assert delays() >= before + 9


def test_a_limit_is_changed_with_its_reason_and_judged_at_once(alarmed, stillhouse, scan, until):
    change = {"limit": 90, "reason": "new condenser", "version": 0}
    made = alarmed.put("/api/alarms/rules/coolant_out_hot", json=change)
    assert made.status_code == 200
    kept = made.json()
    assert (kept["limit"], kept["deadband"], kept["reason"]) == (90.0, 2.0, "new condenser")
    assert kept["declared"]["limit"] == 70.0
    stillhouse.log(*(scan(START + n, pot=92, head=91, **{OUT: 80}) for n in range(30, 80)))
    until(lambda: standing(alarmed)["state"] == "returned", says="the alarm to return")
    stale = alarmed.put("/api/alarms/rules/coolant_out_hot", json=change | {"version": 0})
    assert stale.status_code == 409


def test_a_condenser_may_have_a_limit_of_its_own(alarmed, stillhouse, scan, live_until):
    body = {"vessel_id": alarmed.vessel, "kind": "product", "name": "old worm"}
    condenser = alarmed.post("/api/condensers", json=body).json()["id"]
    path, key = "/api/alarms/rules/coolant_out_hot", f"coolant_out_hot@{condenser}"
    tried = {"limit": 90, "condenser_id": condenser}
    back = alarmed.post(f"{path}/backtest", json=tried).json()
    assert [(len(one["as_set"]), len(one["as_tried"])) for one in back["runs"]] == [(1, 0)]
    change = tried | {"reason": "It always runs hot.", "version": 0}
    rule = alarmed.put(path, json=change).json()
    assert (rule["limit"], rule["version"]) == (70.0, 0)
    [own] = rule["condensers"]
    said = ("name", "limit", "deadband", "own", "version", "reason")
    assert [own[one] for one in said] == [
        "still, old worm", 90.0, 2.0, True, 1, "It always runs hot.",
    ]  # fmt: skip
    assert alarmed.put(path, json=change | {"limit": 95}).status_code == 409
    stillhouse.log(*(scan(START + n, pot=92, head=91, **{OUT: 80}) for n in range(30, 60)))
    live_until(alarmed, lambda live: live["slot"] == START + 59)
    assert key not in {one["key"] for one in alarmed.get("/api/alarms").json()["now"]}
    for where in (alarmed.vessel, "nothing"):
        assert alarmed.put(path, json=change | {"condenser_id": where}).status_code in {404, 422}
    let_go = f"{path}/condensers/{condenser}"
    assert alarmed.delete(let_go, params={"version": 0}).status_code == 409
    [own] = alarmed.delete(let_go, params={"version": 1}).json()["condensers"]
    assert (own["limit"], own["own"], own["version"]) == (70.0, False, 0)
    assert alarmed.delete(let_go, params={"version": 1}).status_code == 404
    stillhouse.log(*(scan(START + n, pot=92, head=91, **{OUT: 80}) for n in range(60, 90)))
    live_until(alarmed, lambda live: live["slot"] == START + 89)
    assert key in {one["key"] for one in alarmed.get("/api/alarms").json()["now"]}


def test_limits_that_cannot_be_are_refused_in_a_sentence(client):
    for change, says in (
        ({"limit": 300}, "reaches from -55 °C to 125 °C"),
        ({"limit": 70, "deadband": 60}, "it would never return"),
        ({"limit": "hot"}, "give a number"),
    ):
        body = change | {"reason": "x", "version": 0}
        answer = client.put("/api/alarms/rules/coolant_out_hot", json=body)
        assert answer.status_code == 422
        assert says in answer.json()["error"]["sentence"]
        tried = client.post("/api/alarms/rules/coolant_out_hot/backtest", json=change)
        assert tried.status_code == 422


def test_a_back_test_says_when_both_limits_would_have_sounded(alarmed):
    path = "/api/alarms/rules/coolant_out_hot/backtest"
    found = alarmed.post(path, json={"limit": 95}).json()
    [run] = found["runs"]
    assert run["batch"] == "rye 1"
    assert len(run["as_set"]) == 1
    assert run["as_tried"] == []
    assert found["scans"] > 20
    raised = alarmed.get("/api/alarms/history", params={"rule": "coolant_out_hot"}).json()[-1]
    assert run["as_set"] == [raised["at"]]  # the same evaluation finds the same second
    silent = alarmed.post("/api/alarms/rules/logger_silent/backtest", json={"limit": 60}).json()
    assert silent["not_known"]


def test_loudness_counts_what_came_up(alarmed):
    loud = alarmed.get("/api/alarms/loudness").json()
    assert loud["alarms"] >= 1
    assert loud["chattering"] == []
    assert loud["most_frequent"][0]["times"] >= 1
    assert sum(loud["share_percent"].values()) == pytest.approx(100, abs=0.2)


def test_alarms_are_kept_and_shown_before_the_scan_that_raised_them(
    alarmed, stillhouse, scan, until, monkeypatch
):
    house, sent = alarmed.app.state.house, []

    def broadcast(data, at):
        name = data.partition(b"\n")[0].decode()
        kept = kept_slots(house) if name == "event: alarms" else {}
        sent.append((name, at.slot, kept))

    monkeypatch.setattr(house.hub, "broadcast", broadcast)
    for n in range(30, 70):  # the outlet cools, so that the alarm returns
        stillhouse.log(scan(START + n, pot=92, head=91, **{OUT: 30}))
    until(lambda: any(name == "event: alarms" for name, _, _ in sent), says="an event")
    place = next(n for n, (name, _, _) in enumerate(sent) if name == "event: alarms")
    _, slot, kept = sent[place]
    judged = kept["coolant_out_hot"]  # in the store by now
    assert slot < judged  # no page has been shown the scan that changed it
    until(lambda: sent[-1][1] >= judged, says="the scan itself")


def kept_slots(house):
    return {key.rule: event.slot for key, event in events.latest(house.reader.engine).items()}


def test_alarms_travel_the_stream_after_what_is_kept(alarmed):
    house = alarmed.app.state.house
    data = json.loads(house.alarms_data())
    assert data == alarmed.get("/api/alarms").json()
    key = standing(alarmed)["key"]
    before = house.alarms.changed_slot
    alarmed.post(f"/api/alarms/{key}/acknowledge")
    assert house.alarms.changed_slot >= before
