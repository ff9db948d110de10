"""What is estimated, over HTTP: now, as it was told, what ends a run, a reading at the spout."""

from dataclasses import replace

import orjson
import pytest

from api.estimates.bodies import told_data, vessel_body
from api.estimates.ground import END_ABV
from logger.store.types import to_datetime

START = 1_790_000_000
AT = "2026-09-21T14:13:00+00:00"


@pytest.fixture
def run(placed, client):
    body = {"vessel_id": placed["pot"]["vessel_id"], "stage": "strip", "batch": "rye 1"}
    answer = client.post("/api/occupancies", json=body | {"started_at": AT})
    assert answer.status_code == 201, answer.text
    return answer.json()


@pytest.fixture
def told(run, client, stillhouse, scan, until):
    """Read some minutes of a warming pot, and wait for what is told of it."""
    for minute in range(6):
        slots = range(START + 60 * minute + 1, START + 60 * minute + 61)
        stillhouse.log(*(scan(slot, pot=20 + minute, head=20.0) for slot in slots))

    def told_now():
        vessels = client.get("/api/estimates").json()["vessels"]
        return vessels[0] if vessels and vessels[0]["slot"] >= START + 350 else None

    return until(told_now, says="the estimates")


def test_every_quantity_is_told_with_its_band_or_why(told, run):
    assert (told["run_id"], told["stage"], told["kind"]) == (run["id"], "strip", "still")
    assert (told["end_abv"], told["end_left_percent"]) == (END_ABV, None)
    by_name = {one["quantity"]: one for one in told["estimates"]}
    assert {"pot_abv", "minutes_to_boil", "minutes_to_end", "measured_percent"} <= set(by_name)
    for one in told["estimates"]:
        assert (one["value"] is None) == (one["why"] is not None), one
        if one["value"] is not None:
            assert one["low"] <= one["value"] <= one["high"], one


def test_what_was_told_is_read_again_of_a_run_or_a_vessel(client, told, run, until):
    asked = {"quantity": "minutes_to_boil", "run_id": run["id"]}

    def kept():
        return client.get("/api/estimates/history", params=asked).json()["runs"]

    [mine] = until(kept, says="what was told")
    assert mine["run_id"] == run["id"]
    columns = {len(mine[name]) for name in ("at_ms", "value", "low", "why", "model_version")}
    assert len(columns) == 1
    of_vessel = {"quantity": "minutes_to_boil", "vessel_id": told["vessel_id"]}
    assert client.get("/api/estimates/history", params=of_vessel).json()["runs"]
    before = of_vessel | {"from_ms": 0, "to_ms": START * 1000}
    assert client.get("/api/estimates/history", params=before).json()["runs"] == []


def test_history_refuses_what_it_cannot_answer(client, run):
    def refused(**params):
        answer = client.get("/api/estimates/history", params=params)
        return answer.status_code, answer.text

    status, says = refused(quantity="luck", run_id=run["id"])
    assert status == 404
    assert "is estimated; give one of vapour_abv," in says
    assert "Give run_id or vessel_id" in refused(quantity="pot_abv")[1]
    elsewhere = refused(quantity="pot_abv", run_id="01a221d3-7599-77b1-9124-c10d4c622b74")
    assert elsewhere[0] == 404
    reversed_ = refused(quantity="pot_abv", run_id=run["id"], from_ms=2000, to_ms=1000)
    assert "The range ends at" in reversed_[1]


def test_what_ends_a_run_is_set_and_told_by(client, told, until):
    ends = client.get("/api/estimates/run-ends").json()
    assert ends["version"] == 0
    strip = {"left_percent": 5.0, "seal_hpa": 12.0}
    body = {"strip": strip, "cut": ends["cut"], "version": 0}
    kept = client.put("/api/estimates/run-ends", json=body)
    assert kept.json()["strip"] == {"spout_abv": None, "vacuum": False} | strip

    def is_told():
        [one] = client.get("/api/estimates").json()["vessels"]
        return one["end_left_percent"] == 5.0 and one["end_abv"] is None

    assert until(is_told, says="the new end")
    stale = client.put("/api/estimates/run-ends", json=body)
    assert stale.status_code == 409
    nothing = body | {"strip": {}, "version": 1}
    answer = client.put("/api/estimates/run-ends", json=nothing)
    assert "This never ends; give spout_abv, left_percent or both." in answer.text
    assert told["end_abv"] == END_ABV


def test_what_contradicts_the_rest_is_told_once_for_all_quantities(client, told):
    [one] = client.app.house.estimates.told.values()
    odd = tuple(replace(each, contradictions=("The head.", "A jar.")) for each in one.estimates)
    shown = vessel_body(replace(one, estimates=odd))
    assert shown.contradictions == ["The head.", "A jar."]
    [event] = orjson.loads(told_data([replace(one, estimates=odd)], ["still"]))["vessels"]
    assert event["contradictions"] == ["The head.", "A jar."]
    assert told["contradictions"] == []


def test_a_reading_at_the_spout_reaches_the_estimate(client, told, until):
    body = {"kind": "spout", "batch": "rye 1", "vessel_id": told["vessel_id"]}
    at = (to_datetime((START + 300) * 1_000_000)).isoformat()
    kept = client.post(
        "/api/entries", json=body | {"reading_abv": 62.0, "temperature_c": 25.0, "at": at}
    )
    assert kept.status_code == 201, kept.text
    assert 59.5 < kept.json()["abv"] < 60.5  # OIML R 22: 62 read at 25 °C is about 60 at 20 °C
    desk = client.app.house.estimates

    def is_known():
        [one] = desk.told.values()
        return one.held.ground.spout

    [reading] = until(is_known, says="the reading")
    assert (reading.slot, round(reading.abv.value)) == (START + 300, 60)
    hot = client.post("/api/entries", json=body | {"reading_abv": 62.0, "temperature_c": 95.0})
    assert hot.status_code == 422
