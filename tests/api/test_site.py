"""The site: what is said of it, and what holds where nothing is said."""

import pytest

from api.site import local_time_zone

BODY = {
    "name": "Rye house",
    "time_zone": "Europe/Vienna",
    "temperature_unit": "F",
    "altitude_m": 312,
    "version": 0,
}


def test_before_anything_is_said_the_machines_zone_and_celsius_hold(client):
    site = client.get("/api/site").json()
    assert (site["time_zone"], site["temperature_unit"]) == (local_time_zone(), "C")
    assert (site["altitude_m"], site["simulated"], site["version"]) == (None, False, 0)
    assert site["store_epoch"]


def test_what_is_said_is_kept(serve):
    client = serve()
    said = client.put("/api/site", json=BODY).json()
    assert {key: said[key] for key in BODY if key != "version"} == {
        key: value for key, value in BODY.items() if key != "version"
    }
    assert said["version"] == 1
    assert serve().get("/api/site").json() == said


def test_a_change_from_an_older_version_is_refused(client):
    client.put("/api/site", json=BODY)
    answer = client.put("/api/site", json={**BODY, "altitude_m": 10})
    assert answer.status_code == 409
    assert client.get("/api/site").json()["altitude_m"] == 312


def test_a_version_that_never_was_is_refused(client):
    assert client.put("/api/site", json={**BODY, "version": 3}).status_code == 409


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("time_zone", "Vienna", "is no time zone; give an IANA name"),
        ("time_zone", "../../etc/passwd", "is no time zone"),
        ("altitude_m", 9000, "must be at most 4200"),
        ("altitude_m", -501, "must be at least -500"),
        ("temperature_unit", "K", "give 'C' or 'F'"),
        ("name", "", "is empty"),
        ("simulated", True, "is not known here"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field(client, field, value, says):
    answer = client.put("/api/site", json={**BODY, field: value})
    assert answer.status_code == 422
    assert answer.json()["error"]["field"] == field
    assert says in answer.json()["error"]["sentence"]
