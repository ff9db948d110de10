"""The pressure: measured, entered or from the altitude, and the sentence that says which."""

import pytest

from logger.reading import Grade

START = 1_790_000_000
SITE = {"name": "Rye house", "time_zone": "Europe/Vienna", "version": 0}


def pressure(client):
    return client.get("/api/pressure").json()


@pytest.mark.parametrize(
    ("altitude_m", "expected_hpa"),
    # ISO 2533:1975, table of the standard atmosphere by geometric altitude: 0, 500, 1000, 2000 m
    [(0, 1013.25), (500, 954.61), (1000, 898.76), (2000, 795.01)],
)
def test_from_the_altitude_it_is_the_standard_atmospheres(client, altitude_m, expected_hpa):
    client.put("/api/site", json={**SITE, "altitude_m": altitude_m})
    found = pressure(client)
    assert found["source"] == "altitude"
    assert found["pressure_hpa"] == pytest.approx(expected_hpa, abs=0.1)
    assert f"at {altitude_m} m (ISO 2533:1975)" in found["says"]


def test_without_an_altitude_it_says_that_sea_level_is_assumed(client):
    assert "no altitude is set" in pressure(client)["says"]


def test_what_is_entered_goes_before_the_altitude_and_says_so(client):
    entered = client.put("/api/pressure", json={"pressure_hpa": 987.5}).json()
    assert (entered["pressure_hpa"], entered["source"]) == (987.5, "entered")
    assert entered == pressure(client)
    assert "entered by hand within the last hour" in entered["says"]


def test_the_last_entry_counts_and_an_old_one_is_told_to_be_old(client, stillhouse):
    client.put("/api/pressure", json={"pressure_hpa": 980})
    stillhouse.clock.pass_time(1_000_000)
    client.put("/api/pressure", json={"pressure_hpa": 990})
    stillhouse.clock.pass_time(9 * 3600 * 1_000_000)
    found = pressure(client)
    assert found["pressure_hpa"] == 990
    assert "9 h ago" in found["says"]
    assert "enter it again" in found["says"]


def test_an_entry_of_another_days_weather_gives_way_to_the_altitude(client, stillhouse):
    """By calc.pressure.weather_change it is off by 8 hPa, as the altitude's, after some 30 h."""
    client.put("/api/pressure", json={"pressure_hpa": 940})
    stillhouse.clock.pass_time(60 * 3600 * 1_000_000)
    assert pressure(client)["source"] == "entered"  # nobody has said how high it is
    client.put("/api/site", json={**SITE, "altitude_m": 500})
    found = pressure(client)
    assert (found["source"], found["pressure_hpa"]) == ("altitude", 954.6)
    assert "The 940.0 hPa entered by hand 2 days ago" in found["says"]
    client.put("/api/pressure", json={"pressure_hpa": 941})
    assert pressure(client)["source"] == "entered"


def test_a_barometer_goes_before_everything(client, stillhouse, scan, live_until):
    client.put("/api/pressure", json={"pressure_hpa": 990})
    stillhouse.log(scan(START + 1, pot=20, barometer=1001.5))
    live_until(client, lambda live: live["slot"] == START + 1)
    found = pressure(client)
    assert (found["pressure_hpa"], found["source"]) == (1001.5, "barometer")
    assert "measured by the barometer" in found["says"]


def test_a_barometer_silent_for_long_is_not_believed(client, stillhouse, scan, live_until):
    stillhouse.log(scan(START + 1, barometer=1001.5), scan(START + 2, barometer=Grade.GONE))
    live_until(client, lambda live: live["slot"] == START + 2)
    assert pressure(client)["source"] == "barometer"
    stillhouse.clock.pass_time(20 * 60 * 1_000_000)
    assert pressure(client)["source"] == "altitude"


@pytest.mark.parametrize("value", [0, 599, 1101, "high", None])
def test_a_pressure_that_cannot_be_is_refused(client, value):
    answer = client.put("/api/pressure", json={"pressure_hpa": value})
    assert answer.status_code == 422
    assert answer.json()["error"]["field"] == "pressure_hpa"
