"""The first run: each step is done, skipped or open, judged from what stands."""

import pytest

STEPS = ["owner", "lawful_basis", "time_zone", "units", "pressure", "vessels", "probes"]


def states(client):
    guide = client.get("/api/guide").json()
    return {step["name"]: step["state"] for step in guide["steps"]}


def say(client, **fields):
    version = client.get("/api/site").json()["version"]
    answer = client.put("/api/site", json={**fields, "version": version})
    assert answer.status_code == 200, answer.text


def test_in_a_new_house_every_step_is_open_and_says_what_to_do(client):
    guide = client.get("/api/guide").json()
    assert [step["name"] for step in guide["steps"]] == STEPS
    assert {step["state"] for step in guide["steps"]} == {"open"}
    assert (guide["next"], guide["done"]) == ("owner", False)
    assert all(step["says"].endswith((".", "depend on it.")) for step in guide["steps"])


def test_the_lawful_basis_is_recorded_by_the_owner_and_never_assumed(client):
    steps = {step["name"]: step for step in client.get("/api/guide").json()["steps"]}
    caution = steps["lawful_basis"]["caution"]
    assert "unlawful in many places" in caution
    assert "ask your authority" in caution
    assert client.get("/api/site").json()["lawful_basis"] is None
    say(client, lawful_basis="Distiller's licence 1234")
    assert states(client)["lawful_basis"] == "done"
    say(client, lawful_basis="")
    assert states(client)["lawful_basis"] == "open"


def test_steps_are_done_one_by_one_from_start_to_finish(client, placed, stillhouse, scan):
    assert (states(client)["vessels"], states(client)["probes"]) == ("done", "done")
    for field, value, step in (
        ("owner", "Anna", "owner"),
        ("lawful_basis", "A permit", "lawful_basis"),
        ("time_zone", "Europe/Vienna", "time_zone"),
        ("temperature_unit", "F", "units"),
        ("altitude_m", 312, "pressure"),
    ):
        assert states(client)[step] == "open"
        say(client, **{field: value})
        assert states(client)[step] == "done"
    guide = client.get("/api/guide").json()
    assert (guide["next"], guide["done"]) == (None, True)
    site = client.get("/api/site").json()
    assert (site["owner"], site["temperature_unit"], site["altitude_m"]) == ("Anna", "F", 312)


def test_a_barometer_on_the_bus_or_a_figure_entered_is_the_pressure(client, stillhouse, scan):
    client.put("/api/pressure", json={"pressure_hpa": 987.6})
    step = client.get("/api/guide").json()["steps"][4]
    assert step["state"] == "done"
    assert "987.6" in step["says"]


def test_a_step_is_skipped_found_again_and_taken_up(client):
    guide = client.put("/api/guide/owner/skip").json()
    assert (guide["steps"][0]["state"], guide["next"]) == ("skipped", "lawful_basis")
    assert client.put("/api/guide/owner/skip").json() == guide
    for name in STEPS[1:]:
        guide = client.put(f"/api/guide/{name}/skip").json()
    assert guide["done"]
    guide = client.delete("/api/guide/owner/skip").json()
    assert (guide["next"], guide["done"]) == ("owner", False)
    say(client, owner="Anna")
    assert states(client) == dict.fromkeys(STEPS, "skipped") | {"owner": "done"}
    say(client, owner="", name="The mill")
    assert states(client) == dict.fromkeys(STEPS, "skipped") | {"owner": "open"}


def test_a_skipped_step_stays_skipped_over_a_restart(serve):
    serve().put("/api/guide/units/skip")
    assert states(serve())["units"] == "skipped"


@pytest.mark.parametrize("zone", ["Vienna", "", "Mars/Olympus"])
def test_an_unknown_time_zone_is_refused_and_nothing_is_lost(client, zone):
    say(client, owner="Anna")
    answer = client.put("/api/site", json={"time_zone": zone, "version": 1})
    assert answer.status_code == 422
    assert "is no time zone; give an IANA name such as" in answer.json()["error"]["sentence"]
    assert client.get("/api/site").json()["owner"] == "Anna"


def test_an_unknown_step_is_refused(client):
    assert client.put("/api/guide/moonshine/skip").status_code == 422
