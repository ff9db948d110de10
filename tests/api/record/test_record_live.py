"""What stands under the thumb, and that pages hear of it: /api/record/now and event: record."""

import asyncio
import json
from datetime import UTC, datetime, timedelta

import pytest

from api.house import House
from api.live import follow
from api.record.filling import step_l
from calc.alcoholometer import expected_reading
from calc.contents import contents_by_weight
from calc.vapour_strength import vapour_strength
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import facts
from logger.store.record_tables import Mark
from logger.store.tables import Occupancy, Vessel

START = 1_790_000_000
BEGAN = datetime.fromtimestamp(START, UTC)
HEAD = SeriesKey("28-00000a1b2c02", "temperature_c", 16)
SPOUT = SeriesKey("28-00000a1b2c04", "temperature_c", 16)
SCALE = SeriesKey("iio-scale", "mass_kg", 1000)


def told(seconds):
    return (BEGAN + timedelta(seconds=seconds)).isoformat()


def scan_at(second, **values):
    """Make a scan of head, spout and scale."""
    series = {"head": HEAD, "spout": SPOUT, "scale": SCALE}
    readings = (
        Reading(series[name], Grade.OK, round(value * series[name].counts_per_unit))
        for name, value in values.items()
    )
    return Scan(START + second, 10, tuple(readings))


@pytest.fixture
def still(client, placed, stillhouse):
    """A still with a spirit run since the start, a probe in the spout and a scale under it."""
    stillhouse.log(scan_at(1, spout=18.0, scale=0.5))
    vessel_id = client.get("/api/vessels").json()[0]["id"]
    spout = client.post("/api/places", json={"name": "spout", "vessel_id": vessel_id}).json()
    for key in (SPOUT, SCALE):
        body = {
            "place_id": spout["id"], "probe_id": key.probe_id, "quantity": key.quantity,
            "effective_at": told(-600),
        }  # fmt: skip
        answer = client.post("/api/placements", json=body)
        assert answer.status_code == 201, answer.text
    body = {"vessel_id": vessel_id, "batch": "rye", "stage": "spirit", "started_at": told(0)}
    return client.post("/api/occupancies", json=body).json()


def now(client):
    [run] = client.get("/api/record/now").json()["runs"]
    return run


def test_the_strength_a_jar_should_have_is_offered_and_never_stored(
    client, still, stillhouse, live_until
):
    shown = now(client)
    assert shown["expected_abv"] is None
    assert "no probe in the head reads" in shown["expected_why"]
    stillhouse.log(*(scan_at(10 * n, head=80.0, spout=18.0) for n in range(1, 61)))
    live_until(client, lambda live: live["slot"] == START + 600)
    by_head = round(
        vapour_strength(80.0, client.get("/api/pressure").json()["pressure_hpa"]).abv, 1
    )
    shown = now(client)
    assert shown["expected_abv"] == by_head
    assert (shown["liquid_temperature_c"], shown["liquid_temperature_from"]) == (18.0, "spout")
    assert shown["expected_reading_abv"] == round(expected_reading(by_head, 18.0), 1)
    jar = client.post(f"/api/runs/{still['id']}/jars", json={"at": told(300)}).json()
    body = {"volume_l": 0.5, "reading_abv": 76.0, "temperature_c": 20.0, "version": 1}
    client.put(f"/api/jars/{jar['id']}", json=body)
    client.post(f"/api/runs/{still['id']}/jars", json={"at": told(600)})
    assert now(client)["expected_abv"] == pytest.approx(76.0, abs=0.05)
    stillhouse.log(*(scan_at(10 * n, head=84.0, spout=18.0) for n in range(61, 121)))
    live_until(client, lambda live: live["slot"] == START + 1200)
    shown = now(client)
    hpa = client.get("/api/pressure").json()["pressure_hpa"]
    change = vapour_strength(84.0, hpa).abv - vapour_strength(80.0, hpa).abv
    assert shown["expected_abv"] == pytest.approx(76.0 + change, abs=0.11)
    assert "by the head since" in shown["expected_why"]
    assert shown["open_jar"]["abv_basis"] == "expected"
    assert client.get(f"/api/jars/{shown['open_jar']['id']}").json()["reading_abv"] is None


def test_a_scale_says_rate_volume_and_when_the_jar_is_full(client, still, stillhouse, live_until):
    client.put("/api/jar-vessels/1", json={"tare_kg": 0.5, "volume_l": 1.0})
    jar = client.post(f"/api/runs/{still['id']}/jars", json={"at": told(100)}).json()
    grams_per_s = 0.5
    stillhouse.log(
        *(scan_at(10 * n, scale=0.5 + grams_per_s * 0.01 * n, spout=20.0) for n in range(1, 61))
    )
    live_until(client, lambda live: live["slot"] == START + 600)
    shown = now(client)
    assert shown["rate_from"] == "scale"
    per_min = contents_by_weight(0.030, 60.0).volume_at_20_c_l * 1000
    assert shown["rate_ml_min"] == pytest.approx(per_min, abs=0.2)
    [offer] = shown["offered"]
    assert offer["volume_l"] == shown["offered_volume_l"]
    assert offer["jar_id"] == jar["id"]
    came_l = contents_by_weight(0.250, 60.0).volume_at_20_c_l
    assert offer["volume_l"] == pytest.approx(came_l, abs=0.003)
    full = datetime.fromisoformat(shown["jar_full_at"]) - BEGAN - timedelta(seconds=600)
    assert full / timedelta(minutes=1) == pytest.approx((1 - came_l) * 1000 / per_min, rel=0.02)


def test_a_jar_that_is_changed_on_the_scale_is_no_liquid(client, still, stillhouse, live_until):
    """Half a gram a second comes; at 600 s the full jar is lifted off and an empty one set down."""
    came = {second: 0.0005 * second for second in range(10, 901, 10)}
    shown = {at: 0.5 + kg for at, kg in came.items()}  # the first jar weighs 500 g
    shown |= {at: 0.8 + kg - came[620] for at, kg in came.items() if at >= 620}  # the second 800
    shown[610] = 0.0
    shown[630] += 0.02  # and it is nudged
    stillhouse.log(*(scan_at(at, scale=kg, spout=20.0) for at, kg in shown.items()))
    live_until(client, lambda live: live["slot"] == START + 900)
    jars = [
        client.post(f"/api/runs/{still['id']}/jars", json={"at": told(at)}).json()
        for at in (100, 600)
    ]
    offered = {one["jar_id"]: one["volume_l"] for one in now(client)["offered"]}
    for jar, kg in zip(jars, (0.250, 0.140), strict=True):  # what fell past it is in neither
        assert offered[jar["id"]] == pytest.approx(
            contents_by_weight(kg, 60.0).volume_at_20_c_l, abs=0.012
        )
    per_min = contents_by_weight(0.030, 60.0).volume_at_20_c_l * 1000
    assert now(client)["rate_ml_min"] == pytest.approx(per_min, abs=0.2)


def test_a_receiver_may_stand_on_the_scale_for_hours(client, still, stillhouse, live_until):
    """It fills for four hours, and is nudged meanwhile."""
    jar = client.post(f"/api/runs/{still['id']}/jars", json={"at": told(60)}).json()
    came = {second: 0.0005 * second for second in range(60, 14_401, 60)}
    shown = {at: 2.0 + kg + (0.02 if at == 7200 else 0.0) for at, kg in came.items()}
    stillhouse.log(*(scan_at(at, scale=kg, spout=20.0) for at, kg in shown.items()))
    live_until(client, lambda live: live["slot"] == START + 14_400)
    [offer] = now(client)["offered"]
    assert offer["jar_id"] == jar["id"]
    came_l = contents_by_weight(0.0005 * 14_340, 60.0).volume_at_20_c_l
    assert offer["volume_l"] == pytest.approx(came_l, rel=0.01)


def test_a_stepper_steps_by_a_round_part_of_the_jar():
    assert [step_l(one) for one in (None, 0.5, 1.0, 5.0, 20.0)] == [0.05, 0.02, 0.05, 0.2, 1.0]


def test_only_runs_that_are_on_are_under_the_thumb(client, still):
    body = {"vessel_id": still["vessel_id"], "batch": "rye", "stage": "spirit", "version": 1}
    body |= {"started_at": told(0), "ended_at": told(1)}
    assert client.put(f"/api/occupancies/{still['id']}", json=body).status_code == 200
    shown = client.get("/api/record/now").json()
    assert shown["runs"] == []
    assert client.get("/api/runs").json()[0]["ended_at"] is not None


def test_pages_hear_of_a_change_by_anyone_and_of_which_run(stillhouse, scan):
    stillhouse.log(scan(START, pot=20))

    async def asked():
        house = House.open(stillhouse.settings, stillhouse.clock)
        async with house.running():
            stream = follow(house, None, asked=False)
            await anext(stream)
            base = {"site": house.identity.site, "who": "x", "effective_at": BEGAN}
            still = Vessel.first(name="Still", kind="still", volume_l=60.0, **base)
            run = Occupancy.first(vessel=still.about, batch="rye", stage="spirit", **base)
            facts.record(stillhouse.writer._engine, still, run)
            await _until(stream, b"event: record")
            mark = Mark.first(run=run.about, kind="hearts", **base)
            facts.record(stillhouse.writer._engine, mark)
            return str(run.about), await _until(stream, b"event: record")

    run_id, sent = asyncio.run(asked())
    [data] = [line for line in sent.decode().splitlines() if line.startswith("data: {")]
    assert json.loads(data.removeprefix("data: "))["run_ids"] == [run_id]


async def _until(stream, text):
    sent = b""
    while text not in sent:
        sent = await asyncio.wait_for(anext(stream), 20)
    return sent
