"""Calibrating: points judged and kept, lines applied from a time on, taken back without a trace."""

from datetime import UTC, datetime, timedelta

import pytest

from logger.reading import Grade

POT, HEAD, ROOM = (f"28-00000a1b2c{n:02d}" for n in (1, 2, 3))
START = 1_790_000_000
WINDOW_S = 180


def at(second):
    return datetime.fromtimestamp(START + second, UTC).isoformat()


def sentence(answer, status):
    assert answer.status_code == status, answer.text
    return answer.json()["error"]["sentence"]


@pytest.fixture
def hold(client, placed, stillhouse, scan, live_until):
    """Let the probes read the same for some minutes: `hold(600, pot=0.25, head=0.1)`."""
    slots = [START + 1]

    def held(seconds=WINDOW_S, **values):
        first = slots[0]
        slots[0] += seconds
        shape = {k: v if callable(v) else (lambda _, v=v: v) for k, v in values.items()}
        stillhouse.log(
            *(scan(first + s, **{k: f(s) for k, f in shape.items()}) for s in range(seconds))
        )
        live_until(client, lambda live: live["slot"] == slots[0] - 1)

    return held


def judge(client, kind="ice", probe_ids=(POT,), **more):
    body = {"kind": kind, "probe_ids": list(probe_ids), **more}
    return client.post("/api/calibrations/judge", json=body)


def keep(client, kind="ice", probe_ids=(POT,), **more):
    body = {"kind": kind, "probe_ids": list(probe_ids), **more}
    answer = client.post("/api/calibrations/points", json=body)
    assert answer.status_code == 201, answer.text
    return answer.json()


def apply(client, points, **more):
    body = {"point_ids": [one["id"] for one in points], **more}
    return client.post("/api/calibrations", json=body)


def histories(client):
    params = {"from_ms": START * 1000, "to_ms": (START + 3600) * 1000}
    found = [client.get("/api/history", params=params | {"buckets": n}) for n in (7, 600, 3600)]
    found.append(client.get("/api/export.csv", params={"from": at(0), "to": at(3600)}))
    assert all(one.status_code == 200 for one in found)
    return [one.content for one in found]


def test_ice_and_steam_make_a_line_that_live_history_and_export_follow(client, hold):
    hold(pot=0.5, head=20, room=18)
    judged = judge(client).json()
    [pot] = judged["probes"]
    assert judged["acceptable"]
    assert (judged["reference_c"], pot["error_c"], pot["spread_c"]) == (0.0, 0.5, 0.0)
    assert "at most 0.2" in pot["says"]
    assert (pot["proposed"]["slope"], pot["proposed"]["offset"]) == (1.0, -0.5)
    ice = keep(client)
    hold(pot=99.5, head=20, room=18)
    [pot] = judge(client, "steam", pressure_hpa=1013.25).json()["probes"]
    assert pot["with_points"] == [ice[0]["id"]]
    line = pot["proposed"]
    # Through (0.5, 0) and (99.5, 99.974), water's boiling point by IAPWS R7-97.
    assert line["slope"] == pytest.approx(99.974 / 99.0, abs=2e-5)
    assert line["offset"] == pytest.approx(-0.5 * 99.974 / 99.0, abs=2e-5)
    assert line["residual_c"] is None
    assert line["method"] == "ice point and steam point"
    assert "always met exactly" in line["says"]
    [vapour, in_pot] = line["effects"]
    assert vapour["becomes_c"] == pytest.approx(84 * line["slope"] + line["offset"], abs=0.01)
    assert vapour["abv_after"] < vapour["abv_before"]
    assert (in_pot["shown_c"], in_pot["pressure_hpa"]) == (95, 1013.25)
    assert "% vol" in vapour["says"]
    steam = keep(client, "steam", pressure_hpa=1013.25)
    [made] = apply(client, [*ice, *steam]).json()
    assert (made["slope"], made["offset"]) == (line["slope"], line["offset"])
    assert [one["kind"] for one in made["points"]] == ["ice", "steam"]
    assert made["points"][1]["pressure_hpa"] == 1013.25
    assert made["applies"]
    assert all(one["used"] for one in client.get("/api/calibrations/points").json())
    hold(10, pot=50, head=20, room=18)
    true_c = round((50 * line["slope"] + line["offset"]) * 10_000) / 10_000
    live = {one["place"]: one["value"] for one in client.get("/api/live").json()["places"]}
    assert live == {"pot": true_c, "head": 20}
    exported = client.get("/api/export.csv", params={"from": at(2 * WINDOW_S + 5)}).text
    assert str(true_c) in exported.splitlines()[-1]
    params = {"from_ms": (START + 2 * WINDOW_S + 5) * 1000, "to_ms": (START + 400) * 1000}
    traces = client.get("/api/history", params=params | {"buckets": 30}).json()["traces"]
    [segment] = next(one["segments"] for one in traces if one["place"] == "pot")
    shown = {count / segment["counts_per_unit"] for count in segment["lo"] if count is not None}
    assert shown == {true_c}


def test_recalibrating_and_taking_it_back_leaves_history_and_live_identical(client, hold):
    hold(pot=0.5, head=0.25, room=18)
    first = apply(client, keep(client), effective_at=at(30)).json()[0]
    hold(pot=99, head=99, room=18)
    before, live = histories(client), client.get("/api/live").json()["places"]
    points = client.get("/api/calibrations/points").json()
    steam = keep(client, "steam", pressure_hpa=1000)
    second = apply(client, [*points, *steam], effective_at=at(60)).json()[0]
    assert histories(client) != before
    assert client.get("/api/live").json()["places"] != live
    listed = client.get("/api/calibrations").json()
    assert [(one["id"], one["applies"]) for one in listed] == [
        (first["id"], False),
        (second["id"], True),
    ]
    path = f"/api/calibrations/{second['id']}"
    assert client.delete(path, params={"version": 1}).status_code == 204
    assert histories(client) == before
    assert client.get("/api/live").json()["places"] == live
    kept = client.get("/api/calibrations").json()
    assert [(one["applies"], one["withdrawn"]) for one in kept] == [(True, False), (False, True)]
    assert {one["kind"]: one["used"] for one in client.get("/api/calibrations/points").json()} == {
        "ice": True,
        "steam": False,
    }


def test_a_calibration_holds_from_its_time_on_and_that_may_be_moved(client, hold):
    hold(pot=1, head=0.25, room=18)
    before = histories(client)
    [made] = apply(client, keep(client), effective_at=at(100)).json()

    def pot_values():
        rows = client.get("/api/export.csv", params={"from": at(1), "to": at(179)}).text.split()
        column = rows[0].split(",").index("pot")
        return [float(row.split(",")[column]) for row in rows[1:]]

    assert pot_values() == [1.0] * 99 + [0.0] * 79
    body = {"effective_at": at(50), "version": 1}
    moved = client.put(f"/api/calibrations/{made['id']}", json=body).json()
    assert moved["version"] == 2
    assert pot_values() == [1.0] * 49 + [0.0] * 129
    client.delete(f"/api/calibrations/{made['id']}", params={"version": 2})
    assert histories(client) == before
    ahead = {"effective_at": at(9999), "version": 3}
    assert client.put(f"/api/calibrations/{made['id']}", json=ahead).status_code == 404


def test_several_probes_in_one_bath_against_a_probe_or_a_thermometer(client, hold):
    hold(pot=40.5, head=39.75, room=40.0625)
    judged = judge(client, "bath", (POT, HEAD), reference_probe_id=ROOM).json()
    assert judged["reference"] == f"probe {ROOM}"
    assert {one["probe_id"]: one["error_c"] for one in judged["probes"]} == {
        POT: 0.4375,
        HEAD: -0.3125,
    }
    points = keep(client, "bath", (POT, HEAD), reference_c=40.1)
    assert {one["reference"] for one in points} == {"a thermometer in the bath"}
    made = {one["probe_id"]: one["offset"] for one in apply(client, points).json()}
    assert made == {POT: pytest.approx(-0.4), HEAD: pytest.approx(0.35)}
    # a reference probe counts as calibrated itself
    found = judge(client, "bath", (ROOM,), reference_probe_id=POT).json()
    assert found["reference_c"] == pytest.approx(40.1)


def test_three_points_say_how_far_the_line_is_off(client, hold):
    points = []
    for measured, reference in ((10.5, 10), (50.3, 50), (90.7, 90)):
        hold(pot=measured, head=20, room=18)
        points += keep(client, "bath", reference_c=reference)
    [shown] = client.post(
        "/api/calibrations/preview", json={"point_ids": [one["id"] for one in points]}
    ).json()
    assert 0.1 < shown["residual_c"] < 0.3
    assert "furthest off" in shown["says"]
    body = {"point_ids": [one["id"] for one in points], "temperature_unit": "F"}
    [us] = client.post("/api/calibrations/preview", json=body).json()
    assert (us["slope"], us["offset"]) == (shown["slope"], shown["offset"])
    assert " at 32 °F and " in us["says"]
    assert "Where it showed 183.2 °F in the head" in us["effects"][0]["says"]
    assert "°C" not in us["says"] + us["effects"][1]["says"]
    assert client.get("/api/calibrations").json() == []


def test_a_probe_that_moves_or_scatters_is_not_taken(client, hold):
    hold(pot=lambda s: 2 - s / 180, head=lambda s: 0.3 * (s % 2), room=0)
    judged = judge(client, probe_ids=(POT, HEAD, ROOM)).json()
    assert not judged["acceptable"]
    says = {one["probe_id"]: one for one in judged["probes"]}
    assert "still moves by -0.33 °C a minute, and at most 0.05 °C is steady" in says[POT]["says"]
    assert "lie 0.31 °C apart, and at most 0.2 °C is steady" in says[HEAD]["says"]
    assert says[ROOM]["acceptable"]
    assert says[POT]["proposed"] is None
    us = judge(client, probe_ids=(POT, HEAD, ROOM), temperature_unit="F").json()["probes"]
    assert "moves by -0.60 °F a minute, and at most 0.09 °F is steady" in us[0]["says"]
    assert "lie 0.56 °F apart, and at most 0.36 °F is steady" in us[1]["says"]
    assert "within 0.00 °F (at most 0.36 °F), moving by +0.00 °F a minute" in us[2]["says"]
    body = {"kind": "ice", "probe_ids": [ROOM, POT]}
    told = sentence(client.post("/api/calibrations/points", json=body), 409)
    assert told == says[POT]["says"]
    assert client.get("/api/calibrations/points").json() == []


def test_too_few_readings_refused_ones_and_old_ones_are_not_taken(
    client, placed, stillhouse, scan, live_until
):
    stillhouse.log(*(scan(START + s, pot=0, head=0, room=0) for s in range(1, 6)))
    live_until(client, lambda live: live["slot"] == START + 5)
    assert "only 6 good readings" in judge(client).json()["probes"][0]["says"]
    stillhouse.log(
        *(
            scan(START + s, pot=0 if s % 2 else Grade.CRC, head=Grade.EMPTY, room=0)
            for s in range(10, 300)
        )
    )
    live_until(client, lambda live: live["slot"] == START + 299)
    found = judge(client, probe_ids=(POT, HEAD)).json()["probes"]
    assert "readings were refused; mend its cable" in found[0]["says"]
    assert "no good reading in the last minutes" in found[1]["says"]
    assert judge(client, probe_ids=(ROOM,)).json()["acceptable"]
    stillhouse.clock.pass_time(60 * 1_000_000)
    told = judge(client, probe_ids=(ROOM,)).json()["probes"][0]["says"]
    assert "no good reading in the last minutes" in told


def test_a_probe_that_is_not_in_the_slush_is_told(client, hold):
    hold(pot=18.25, head=20, room=18)
    [pot] = judge(client).json()["probes"]
    assert "reads 18.25 °C, 18.2 °C from the 0.00 °C it should be at" in pot["says"]
    [us] = judge(client, temperature_unit="F").json()["probes"]
    assert "reads 64.85 °F, 32.9 °F from the 32.00 °F it should be at" in us["says"]


@pytest.mark.parametrize(
    ("body", "status", "says", "field"),
    [
        ({"kind": "steam"}, 422, "needs the air pressure measured now", "pressure_hpa"),
        ({"kind": "steam", "pressure_hpa": 1200}, 422, "must be at most 1100", "pressure_hpa"),
        ({"kind": "steam", "pressure_hpa": 29.92}, 422, "must be at least 600", "pressure_hpa"),
        ({"kind": "bath"}, 422, "A bath needs one reference", "reference_c"),
        ({"kind": "bath", "reference_c": 300}, 422, "must be at most 110", "reference_c"),
        ({"kind": "bath", "reference_probe_id": POT}, 409, "cannot be its own reference", None),
        ({"kind": "bath", "reference_probe_id": "28-ff"}, 404, "was ever on the bus", None),
        ({"kind": "ice", "probe_ids": []}, 422, "too few entries", "probe_ids"),
        ({"kind": "ice", "probe_ids": [POT, POT]}, 409, "named twice", None),
        ({"kind": "ice", "probe_ids": ["28-ff"]}, 404, "was ever on the bus", None),
        ({"kind": "oil"}, 422, "give 'ice', 'steam' or 'bath'", "kind"),
    ],
)
def test_what_cannot_be_measured_is_refused_with_its_field(client, hold, body, status, says, field):
    hold(pot=0, head=0, room=0)
    answer = client.post("/api/calibrations/judge", json={"probe_ids": [POT]} | body)
    assert says in sentence(answer, status)
    assert answer.json()["error"]["field"] == field


def test_points_too_close_are_refused_in_a_sentence(client, hold):
    hold(pot=20, head=20, room=18)
    points = keep(client, "bath", reference_c=20.2)
    hold(pot=40, head=20, room=18)
    [pot] = judge(client, "bath", reference_c=40.2).json()["probes"]
    assert pot["acceptable"]
    assert pot["proposed"] is None
    assert "The points lie 20.0 °C apart, too close for a line" in pot["refused"]
    points += keep(client, "bath", reference_c=40.2)
    assert "at least 30 °C apart" in sentence(apply(client, points), 422)
    assert client.get("/api/calibrations").json() == []


def test_a_slope_far_from_one_is_refused_in_a_sentence(client, hold):
    hold(pot=4, head=20, room=18)
    points = keep(client)
    hold(pot=36, head=20, room=18)
    points += keep(client, "bath", reference_c=40)
    told = sentence(apply(client, points), 422)
    assert told.startswith(f"{POT}: ")
    assert "give a slope of 1.250, and no sound probe is outside 0.95 to 1.05" in told


def test_points_are_dropped_and_unknown_ones_told(client, hold):
    hold(pot=0.5, head=0.5, room=18)
    [point] = keep(client)
    path = f"/api/calibrations/points/{point['id']}"
    assert client.delete(path, params={"version": 1}).status_code == 204
    assert client.get("/api/calibrations/points").json() == []
    assert "There is no point" in sentence(apply(client, [point]), 404)
    assert "no calibration point" in sentence(client.delete(path, params={"version": 1}), 404)


def test_a_calibration_from_the_future_is_refused(client, hold):
    hold(pot=0.5, head=0.5, room=18)
    points = keep(client)
    later = (datetime.fromtimestamp(START, UTC) + timedelta(days=1)).isoformat()
    assert "lies in the future" in sentence(apply(client, points, effective_at=later), 422)


def test_the_probes_list_says_what_is_applied(client, hold):
    hold(pot=0.5, head=0.5, room=18)
    [made] = apply(client, keep(client)).json()
    probes = {one["id"]: one["readings"][0] for one in client.get("/api/probes").json()}
    assert probes[POT]["calibration"]["id"] == made["id"]
    assert probes[POT]["calibration"]["method"] == "ice point"
    assert probes[HEAD]["calibration"] is None


def test_the_ways_name_their_sources_and_cautions(client):
    ways = {one["kind"]: one for one in client.get("/api/calibrations/ways").json()}
    assert "NIST SP 1088" in ways["ice"]["source"]
    assert "IAPWS" in ways["steam"]["source"]
    assert any("scald" in caution for caution in ways["steam"]["cautions"])
