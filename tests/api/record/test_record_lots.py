"""Lots, measures and transfers: a graph that adds up by calc, with everything before and after."""

import pytest
from uuid_utils.compat import uuid7

from calc.alcoholometer import true_strength
from calc.contents import contents_by_volume
from calc.mixture import Mixture
from tests.api.record.small import STRENGTH


def lot(entering, kind, name, /, **body):
    return entering.ask("POST", "lots", 201, kind=kind, name=name, **body)


def measured(entering, of, minutes, /, **body):
    at = f"2026-09-21T12:{minutes:02d}:00Z"
    return entering.ask("POST", f"lots/{of['id']}/measures", 201, at=at, **body)


def now(entering, of):
    return entering.get(f"lots/{of['id']}")["now"]


@pytest.fixture
def made(entering):
    """Make a lot by kind, name and volume at 20 °C and strength."""

    def making(kind, name, volume_l, abv, **body):
        measure = {"volume_l": volume_l, "reading_abv": abv, "temperature_c": 20.0}
        body |= {"measure": measure, "at": "2026-09-21T12:00:00Z"}
        return lot(entering, kind, name, **body)

    return making


def test_a_lot_is_what_was_measured_of_it_at_20_c(entering):
    wash = lot(entering, "low_wines", "rye low wines", batch="rye 1", origin="strips 1 to 3")
    assert now(entering, wash)["volume_l"] == 0.0
    body = {"volume_l": 40.0, "reading_abv": 28.0, "temperature_c": 27.0, "volume_error_l": 0.2}
    found = measured(entering, wash, 5, **body)
    abv = true_strength(28.0, 27.0).abv_at_20_c
    held = contents_by_volume(40.0, abv, 27.0)
    assert found["at_20_c"]["abv"] == abv
    assert found["at_20_c"]["volume_l"] == held.volume_at_20_c_l
    assert now(entering, wash) == found["at_20_c"]
    error_l = ((abv * 0.2) ** 2 + (held.volume_at_20_c_l * 0.3) ** 2) ** 0.5 / 100
    assert found["at_20_c"]["pure_alcohol_error_l"] == pytest.approx(error_l)
    corrected = entering.ask("PUT", f"measures/{found['id']}", 200, temperature_c=20.0, version=1)
    assert now(entering, wash)["abv"] == pytest.approx(28.0)
    entering.ask("POST", f"measures/{found['id']}/undo", 200, version=corrected["version"])
    assert now(entering, wash) == found["at_20_c"]


def test_what_is_mixed_shrinks_as_calc_says_and_no_alcohol_is_lost(entering, made):
    spirit, water = made("spirit", "hearts", 10.0, 72.0), lot(entering, "water", "water")
    blend = lot(entering, "blend", "for the bottle")
    entering.move("blend", 10, from_lot=spirit["id"], to_lot=blend["id"])
    assert now(entering, spirit)["volume_l"] == 0.0
    entering.move("dilute", 11, from_lot=water["id"], to_lot=blend["id"], volume_l=6.0)
    mixed = Mixture.of_volume(10.0, 72.0) + Mixture.of_volume(6.0, 0.0)
    held = now(entering, blend)
    assert held["volume_l"] == pytest.approx(mixed.volume_l(20.0), abs=1e-9)
    assert held["abv"] == pytest.approx(mixed.abv(), abs=1e-9)
    assert held["pure_alcohol_l"] == pytest.approx(7.2, abs=1e-9)
    assert held["volume_l"] < 15.8  # of 16.0 L poured together
    entering.move("sample", 12, from_lot=blend["id"], volume_l=0.1)
    assert now(entering, blend)["abv"] == pytest.approx(mixed.abv(), abs=1e-9)
    assert now(entering, blend)["volume_l"] == pytest.approx(mixed.volume_l(20.0) - 0.1)


def test_a_gauging_sets_what_is_held(entering, made):
    cask = made("cask", "cask 4", 50.0, 62.0)
    entering.move("sample", 10, from_lot=cask["id"], volume_l=0.2)
    measured(entering, cask, 20, volume_l=48.5)
    assert now(entering, cask)["volume_l"] == pytest.approx(48.5)
    assert now(entering, cask)["abv"] == pytest.approx(62.0)
    measured(entering, cask, 25, reading_abv=61.0, temperature_c=20.0)
    assert now(entering, cask)["pure_alcohol_l"] == pytest.approx(48.5 * 0.61)
    entering.move("loss", 30, from_lot=cask["id"])
    assert now(entering, cask)["volume_l"] == 0.0


def test_the_graph_goes_through_runs_and_jars_and_round_the_feints(entering, made):
    wash, feints = made("wash", "wash", 100.0, 8.0), lot(entering, "feints", "the pool")
    hearts = lot(entering, "spirit", "hearts", batch="rye 1")
    charge = entering.move("charge", 1, from_lot=wash["id"], to_lot=entering.run_id, volume_l=40.0)
    assert charge["at_20_c"]["pure_alcohol_l"] == pytest.approx(3.2)
    entering.move(
        "charge",
        2,
        from_lot=feints["id"],
        to_lot=entering.run_id,
        volume_l=2.0,
        reading_abv=30.0,
        temperature_c=20.0,
    )
    jars = [entering.jar(10 * (one + 1)) for one in range(3)]
    for one in jars:
        body = {"volume_l": 0.5, "reading_abv": 70.0, "temperature_c": 20.0, "version": 1}
        entering.ask("PUT", f"jars/{one['id']}", 200, **body)
    for one, to in zip(jars, (feints, hearts, feints), strict=True):
        entering.move("merge", 60, from_lot=one["id"], to_lot=to["id"])
    assert entering.run["charge"]["pure_alcohol_l"] == pytest.approx(3.8)
    assert entering.run["jars"][1]["lot_id"] == hearts["id"]
    assert now(entering, hearts)["pure_alcohol_l"] == pytest.approx(0.35)
    before = entering.get(f"graph/{hearts['id']}?direction=ancestors")
    names = {one["name"] for one in before["nodes"]}
    batch = entering.run["batch"]
    assert names == {"hearts", "jar 1", "jar 2", "jar 3", f"{batch} (spirit)", "wash", "the pool"}
    after = entering.get(f"graph/{wash['id']}?direction=descendants")
    assert {one["id"] for one in after["nodes"]} >= {hearts["id"], feints["id"], jars[2]["id"]}
    only = entering.get(f"graph/{jars[1]['id']}?direction=descendants")
    assert [one["name"] for one in only["nodes"]] == ["hearts", "jar 2"]
    assert [one["from_lot"] for one in only["transfers"]] == [jars[1]["id"]]


def test_what_goes_to_and_fro_keeps_its_strength(entering, made):
    a, b = made("spirit", "a", 10.0, 60.0), lot(entering, "spirit", "b")
    for minutes, (source, goal) in enumerate([(a, b), (b, a), (a, b), (b, a)], start=1):
        entering.move("move", minutes, from_lot=source["id"], to_lot=goal["id"])
    held = now(entering, a)
    assert (held["volume_l"], held["abv"]) == (pytest.approx(10.0), pytest.approx(60.0))


def test_what_was_led_off_for_drinking_stays_of_no_sacrificial_run(entering):
    run, blend = entering.run, lot(entering, "blend", "one")
    entering.move("collect", 20, from_lot=run["id"], to_lot=blend["id"], volume_l=1.0)
    body = {"vessel_id": run["vessel_id"], "batch": run["batch"], "started_at": run["started_at"]}
    path = f"occupancies/{run['id']}"
    error = entering.ask("PUT", path, 409, stage="sacrificial", version=1, **body)["error"]
    assert "it can only be discarded" in error["sentence"]
    entering.ask("PUT", path, 409, stage="ferment", version=1, **body)


def test_a_jar_is_not_poured_out_twice(entering):
    jar = entering.jar(10)
    body = {"volume_l": 1.0, "reading_abv": 70.0, "temperature_c": 20.0}
    entering.ask("PUT", f"jars/{jar['id']}", 200, version=1, **body)
    first, second = (lot(entering, "blend", name) for name in ("one", "two"))
    entering.move("blend", 20, from_lot=jar["id"], to_lot=first["id"], volume_l=0.6)
    error = entering.move("blend", 21, 409, from_lot=jar["id"], to_lot=second["id"], volume_l=0.6)[
        "error"
    ]
    assert error["field"] == "volume_l"
    assert (
        "jar 1 held 1.000 L at 20 °C, and what was taken from it comes to 1.200 L"
        in (error["sentence"])
    )
    shown = entering.get(f"jars/{jar['id']}")
    assert (shown["left_volume_l"], shown["is_gone"]) == (pytest.approx(0.4), False)
    rest = entering.move("blend", 22, from_lot=jar["id"], to_lot=second["id"])
    shown = entering.get(f"jars/{jar['id']}")
    assert (shown["left_volume_l"], shown["is_gone"]) == (0.0, True)
    assert rest["at_20_c"]["volume_l"] == pytest.approx(0.4)
    error = entering.move("blend", 23, 409, from_lot=jar["id"], to_lot=first["id"])["error"]
    assert "Nothing is left in jar 1" in error["sentence"]
    error = entering.ask("PUT", f"jars/{jar['id']}", 409, version=2, volume_l=0.5)["error"]
    assert "jar 1 held 0.500 L" in error["sentence"]
    answer = entering.client.request("DELETE", f"/api/jars/{jar['id']}", json={"version": 2})
    assert answer.status_code == 409


def test_what_comes_of_a_sacrificial_run_can_only_be_discarded(entering):
    run = entering.run
    body = {"vessel_id": run["vessel_id"], "batch": run["batch"], "started_at": run["started_at"]}
    path = f"occupancies/{run['id']}"
    changed = entering.ask("PUT", path, 200, stage="sacrificial", version=1, **body)
    jar, blend = entering.jar(10), lot(entering, "blend", "one")
    for source in (jar["id"], run["id"]):
        for kind in ("merge", "blend", "move", "bottle", "use"):
            error = entering.move(kind, 20, 409, from_lot=source, to_lot=blend["id"])["error"]
            assert "it can only be discarded" in error["sentence"]
    assert not entering.run["jars"][0]["is_gone"]
    entering.move("discard", 20, from_lot=jar["id"])
    assert entering.run["jars"][0]["is_gone"]
    entering.ask("PUT", path, 200, stage="spirit", version=changed["version"], **body)
    late = entering.jar(30)
    entering.move("merge", 31, from_lot=late["id"], to_lot=blend["id"])
    error = entering.ask("PUT", path, 409, stage="sacrificial", version=3, **body)["error"]
    assert "it can only be discarded" in error["sentence"]


def test_what_cannot_be_a_transfer_is_told(entering, made):
    blend, other = made("blend", "one", 1.0, 40.0), lot(entering, "blend", "two")
    jar = entering.jar(10)
    a, b, run, nowhere = blend["id"], other["id"], entering.run_id, str(uuid7())
    strong = {"reading_abv": 98.0, "temperature_c": 20.0, "volume_l": 1.0}
    cases = [
        ("move", 409, {}, "from nowhere to nowhere"),
        ("move", 409, {"from_lot": a, "to_lot": a}, "into itself"),
        ("move", 404, {"from_lot": a, "to_lot": nowhere}, "There is no lot, jar or run"),
        ("charge", 409, {"from_lot": a, "to_lot": b}, "A charge goes into a run"),
        ("move", 409, {"from_lot": a, "to_lot": run}, "Into a run goes a charge"),
        ("charge", 422, {"to_lot": run, "volume_l": 61.0}, "do not fit in still "),
        ("collect", 409, {"from_lot": a, "to_lot": b}, "comes from a run"),
        ("collect", 422, {"from_lot": run, "to_lot": b, "at": "2026-09-21T11:59:00Z"}, "began at"),
        ("collect", 422, {"from_lot": run, "to_lot": b, **strong}, "no more than 97.2"),
        ("receive", 409, {"from_lot": a, "to_lot": b}, "leave from_lot out"),
        ("discard", 409, {"from_lot": a, "to_lot": b}, "leave to_lot out"),
        ("move", 409, {"from_lot": a, "to_lot": jar["id"]}, "Into a jar only the still runs"),
        ("move", 422, {"from_lot": a, "to_lot": b, "reading_abv": 40}, "needs the temperature"),
        ("move", 422, {"from_lot": a, "to_lot": b, "volume_l": 0}, "more than 0"),
        ("rack", 422, {"from_lot": a, "to_lot": b}, "kind is"),
    ]
    for kind, status, body, says in cases:
        error = entering.move(kind, 20, status, **body)["error"]
        assert says in error["sentence"], (kind, body, error)
    assert entering.get(f"transfers?lot_id={a}") == []


def test_a_volume_above_the_vessel_is_told(entering):
    tank = {"name": "tank", "kind": "tank", "volume_l": 50}
    tank_id = entering.client.post("/api/vessels", json=tank).json()["id"]
    held = lot(entering, "low_wines", "low wines", vessel_id=tank_id)
    error = entering.ask("POST", f"lots/{held['id']}/measures", 422, volume_l=50.5)["error"]
    assert error["field"] == "volume_l"
    assert error["sentence"].startswith("50.5 L do not fit in tank, which holds 50 L")
    entering.move("charge", 1, to_lot=entering.run_id, volume_l=35.0)
    error = entering.move("charge", 2, 422, to_lot=entering.run_id, volume_l=35.0)["error"]
    assert error["sentence"].startswith("70 L do not fit in still")  # with what is in it
    error = entering.ask("POST", f"lots/{held['id']}/measures", 422)["error"]
    assert "Nothing was measured" in error["sentence"]
    error = entering.ask(
        "POST", f"lots/{held['id']}/measures", 422, reading_abv=97.5, temperature_c=20
    )["error"]
    assert "no more than 97.2" in error["sentence"]


def test_a_lot_with_something_on_it_is_not_taken_back(entering, made):
    held = made("blend", "one", 1.0, 40.0)
    error = entering.ask("DELETE", f"lots/{held['id']}", 409, version=1)["error"]
    assert "1 entries of the record stand on this" in error["sentence"]
    [measure] = entering.get(f"lots/{held['id']}")["measures"]
    entering.ask("DELETE", f"measures/{measure['id']}", 200, version=1)
    assert entering.ask("DELETE", f"lots/{held['id']}", 200, version=1)["withdrawn"] is True
    assert held["id"] not in {one["id"] for one in entering.get("lots")}
    assert entering.ask("POST", f"lots/{held['id']}/undo", 200, version=2)["withdrawn"] is False


def test_a_transfer_sent_twice_is_one_and_is_corrected(entering, made):
    a, b = made("spirit", "a", 2.0, 60.0), lot(entering, "blend", "b")
    first = entering.move("blend", 20, from_lot=a["id"], to_lot=b["id"], volume_l=0.5)
    again = entering.move(
        "blend", 21, id=first["id"], from_lot=a["id"], to_lot=b["id"], volume_l=0.7
    )
    assert again == first
    entering.ask("PUT", f"transfers/{first['id']}", 200, kind="blend", volume_l=0.75, version=1)
    assert now(entering, a)["volume_l"] == pytest.approx(1.25)
    entering.ask("DELETE", f"transfers/{first['id']}", 200, version=2)
    assert now(entering, b)["volume_l"] == 0.0


def test_a_lot_read_in_the_moment_it_is_charged_gives_the_charge_its_strength(small):
    wash = small.lot("wash", "wash")
    small.measure(wash, 1, volume_l=50.0)
    small.move("charge", 2, from_lot=wash, to_lot=small.run_id, volume_l=48.0)
    run = f"runs/{small.run_id}"
    assert small.ask("GET", run)["charge"]["abv"] is None
    small.measure(wash, 2, reading_abv=8.4, **STRENGTH)
    assert small.ask("GET", run)["charge"]["abv"] == pytest.approx(8.4)
    left = small.ask("GET", f"lots/{wash}")["now"]
    assert left["abv"] == pytest.approx(8.4)
    assert left["volume_l"] == pytest.approx(2.0)
