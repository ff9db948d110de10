"""Trends across runs: what they gave, how near the water came, how probes drift in steam."""

from math import hypot

import numpy as np
import pytest
from sqlmodel import col

from api.pressure import KEY
from calc.pressure import pressure_at_altitude, water_boiling_point, weather_change
from logger.reading import SeriesKey
from logger.store import facts
from logger.store.tables import Placement, ProbeCard, Setting


def test_a_probes_drift_is_told_against_water_at_the_measured_pressure(past, reviewed):
    past.furnish("pot", "head", "pressure")
    seconds = np.arange(0, 7200, 10)
    hpa = 985.0
    water_c = water_boiling_point(hpa)
    warming = np.minimum(20.0 + seconds * 0.03, water_c)
    rng = np.random.default_rng(3)
    noise = rng.normal(0.0, 0.03, seconds.size)
    past.read(
        seconds, pot=warming + 0.25 + noise, head=np.where(warming < water_c, 20.0, water_c - 0.5),
        pressure=np.full(seconds.size, hpa),
    )  # fmt: skip
    past.run(0, 7200, "cleaning", charge=(40.0, 0.0))
    found = reviewed("trends", vessel_id=str(past.still.about))
    by_place = {one["place"]: one for one in found["drift"]}
    assert by_place["pot"]["difference_k"] == pytest.approx(0.25, abs=0.05)
    assert by_place["head"]["difference_k"] == pytest.approx(-0.5, abs=0.05)
    assert by_place["head"]["water_c"] == pytest.approx(water_boiling_point(hpa))
    assert {one["pressure_basis"] for one in found["drift"]} == {"barometer"}


STEAM_S = np.arange(0, 3600, 10)


@pytest.fixture
def altitude(shop):
    """Say how high the house lies; it is taken back at the end of the test."""

    def said(altitude_m):
        site = shop[1].get("/api/site").json()
        body = {"altitude_m": altitude_m, "version": site["version"]}
        assert shop[1].put("/api/site", json=body).status_code == 200

    yield said
    said(None)


def test_what_water_boils_at_is_never_guessed(past, reviewed, altitude):
    """A house at 1000 m: without altitude or pressure its true probe would seem 3.3 K low."""
    past.furnish("pot")
    water_c = water_boiling_point(pressure_at_altitude(1000.0))
    past.read(STEAM_S, pot=np.full(STEAM_S.size, water_c))
    past.run(0, 3600, "cleaning", charge=(40.0, 0.0))
    found = reviewed("trends", vessel_id=str(past.still.about))
    assert found["drift"] == []
    [why] = [one["why"] for one in found["gaps"] if one["about"] == "drift"]
    assert why.startswith("Of one cleaning run it is not known what water boiled at")
    altitude(1000.0)
    found = reviewed("trends", vessel_id=str(past.still.about))
    [told] = found["drift"]
    assert told["pressure_basis"] == "altitude"
    assert told["difference_k"] == pytest.approx(0.0, abs=0.04)
    assert "drift" not in {one["about"] for one in found["gaps"]}


def test_a_pressure_entered_by_hand_ages_with_the_weather(past, reviewed, altitude):
    """Six hours old it counts with 2.5 hPa, which is 0.07 K; of last week, the altitude is nearer.

    Water's boiling point moves by 0.028 K a hectopascal at 1000 hPa (IAPWS-IF97, equation 31).
    """
    past.furnish("pot")
    past.read(STEAM_S, pot=np.full(STEAM_S.size, water_boiling_point(990.0)))
    past.run(0, 3600, "cleaning", charge=(40.0, 0.0))

    def told(entered_s):
        at = {"effective_at": past.at(entered_s)}
        facts.record(past.engine, Setting.first(key=KEY, value="990.0", **past.base | at))
        return reviewed("trends", vessel_id=str(past.still.about))["drift"][0]

    old = told(3600 - 7 * 86_400)
    assert (old["pressure_basis"], old["pressure_hpa"]) == ("entered", 990.0)
    assert old["water_error_k"] == pytest.approx(0.028 * hypot(0.7, weather_change(168)), rel=0.05)
    altitude(0.0)  # now there is a nearer guess
    old = reviewed("trends", vessel_id=str(past.still.about))["drift"][0]
    assert (old["pressure_basis"], old["pressure_hpa"]) == ("altitude", pytest.approx(1013.25))
    young = told(3600 - 6 * 3600)
    assert (young["pressure_basis"], young["pressure_hpa"]) == ("entered", 990.0)
    assert young["water_error_k"] == pytest.approx(0.07, abs=0.005)


def test_a_drift_is_a_probes_wherever_another_took_its_place(past, reviewed, altitude):
    """One probe 0.1 K high, then another 0.8 K high at the same place, as of half a run."""
    altitude(0.0)
    past.furnish("pot")
    engine, series = past.engine, past.series
    seconds = np.arange(0, 7200, 10)
    first, later = series["pot"].probe_id, "28-00000000beef"
    series["new"] = SeriesKey(later, "temperature_c", series["pot"].counts_per_unit)
    water_c = water_boiling_point(pressure_at_altitude(0.0))
    is_first = seconds < 3600
    past.read(
        seconds,
        pot=np.where(is_first, water_c + 0.1, 20.0),
        new=np.where(is_first, 20.0, water_c + 0.8),
    )
    [old] = facts.all_current(engine, Placement, col(Placement.probe_id) == first)
    facts.record(
        engine,
        old.correction(who="Mara", ended_at=past.at(3600)),
        Placement.first(place=old.place, probe_id=later, effective_at=past.at(3600), **past.base),
        ProbeCard.first(probe_id=later, name="the new one", effective_at=past.at(0), **past.base),
    )
    past.run(0, 7200, "cleaning", charge=(40.0, 0.0))
    told = reviewed("trends", vessel_id=str(past.still.about))["drift"]
    assert [(one["probe_id"], one["probe"], one["place"]) for one in told] == [
        (first, first, "pot"),
        (later, "the new one", "pot"),
    ]
    assert [one["difference_k"] for one in told] == pytest.approx([0.1, 0.8], abs=0.04)


def test_the_coolants_margin_is_below_the_limit_of_a_hot_outlet(past, reviewed):
    past.furnish("coolant_out")
    seconds = np.arange(0, 7200, 10)
    outlet = np.where(seconds < 3600, 15.0, 35.0)
    outlet[500] = 52.5  # for ten seconds
    past.read(seconds, coolant_out=outlet)
    run = past.run(0, 7200)
    past.mark(run, "first_drop", 3600)
    past.run(10_000, 12_000, "strip")
    found = reviewed("trends", vessel_id=str(past.still.about))
    assert [one["run"]["purpose"] for one in found["runs"]] == ["spirit", "strip"]
    assert found["runs"][0]["coolant_margin_k"] == found["coolant_limit_c"] - 52.5
    assert found["runs"][1]["coolant_margin_k"] is None
    assert [one["about"] for one in found["gaps"]] == ["alarms", "drift"]  # the strip had no probe
    spirit = reviewed("trends", vessel_id=str(past.still.about), purpose="spirit")
    assert len(spirit["runs"]) == len(spirit["batches"]) == 1


def test_nothing_to_tell_is_said(past, reviewed):
    past.furnish()
    found = reviewed("trends", vessel_id=str(past.still.about))
    assert found["runs"] == found["batches"] == found["drift"] == []
    assert {one["about"] for one in found["gaps"]} == {"runs", "drift"}


def test_a_run_that_is_on_and_its_batch_come_in_when_it_is_over(past, reviewed):
    past.furnish("pot")
    over = past.run(0, 7200)
    on = past.run(10_000, None, batch=past.run(7300, 9000).batch)
    found = reviewed("trends", vessel_id=str(past.still.about))
    assert str(on.about) not in {one["run"]["id"] for one in found["runs"]}
    assert [one["name"] for one in found["batches"]] == [over.batch]
    [why] = [one["why"] for one in found["gaps"] if "still on" in one["why"]]
    assert why.startswith(f"A run of {on.batch} is")


def test_across_a_gap_nobody_knows_whether_it_stood_in_steam(past, reviewed, altitude):
    """Four minutes in steam, two and a half that were not read, four more: none is long enough."""
    altitude(0.0)
    past.furnish("pot")
    water_c = water_boiling_point(pressure_at_altitude(0.0))
    for begin in (0, 390):
        seconds = np.arange(begin, begin + 240, 10)
        past.read(seconds, pot=np.full(seconds.size, water_c + 0.4))
    past.run(0, 640, "cleaning", charge=(40.0, 0.0))
    assert reviewed("trends", vessel_id=str(past.still.about))["drift"] == []
