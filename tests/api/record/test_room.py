"""No vessel has more in it by the record than it holds."""

import pytest

from tests.api.record.test_record_lots import made, measured

__all__ = ["made"]


def tank_of(entering, name, volume_l):
    body = {"name": f"{name} {entering.vessel_id}", "kind": "tank", "volume_l": volume_l}
    return entering.ask("POST", "vessels", 201, **body)["id"]


def test_a_charge_of_all_there_is_must_fit_the_still(entering, made):
    wash, feints = made("wash", "wash A", 70.0, 8.0), made("feints", "feints A", 20.0, 40.0)
    whole = {"from_lot": wash["id"], "to_lot": entering.run_id}
    error = entering.move("charge", 10, 422, **whole)["error"]
    assert error["field"] == "volume_l"
    assert "All that is in wash A comes to 70.0 L; still" in error["sentence"]
    assert "holds 60 L" in error["sentence"]
    entering.move("charge", 10, 201, **whole, volume_l=45.0)
    rest = {"from_lot": feints["id"], "to_lot": entering.run_id}
    error = entering.move("charge", 11, 422, **rest)["error"]
    assert "comes to 20.0 L, and with what went in before to 65.0 L" in error["sentence"]
    entering.move("charge", 11, 201, **rest, volume_l=15.0)


def test_lots_in_one_tank_must_fit_together(entering, made):
    tank_id = tank_of(entering, "tank", 100.0)
    made("feints", "feints B", 60.0, 40.0, vessel_id=tank_id)
    other = made("feints", "feints C", 50.0, 40.0)
    put = {"kind": "feints", "name": "feints C", "vessel_id": tank_id, "version": 1}
    error = entering.ask("PUT", f"lots/{other['id']}", 422, **put)["error"]
    assert error["field"] == "vessel_id"
    assert "holds 100 L, and by the record 110.0 L would be in it: 60.0 L of feints B, 50.0 L of" \
        in error["sentence"]  # fmt: skip
    entering.move("discard", 20, 201, from_lot=other["id"], volume_l=15.0)
    entering.ask("PUT", f"lots/{other['id']}", 200, **put)
    more = {"volume_l": 45.0, "reading_abv": 40.0, "temperature_c": 20.0}
    path = f"lots/{other['id']}/measures"
    error = entering.ask("POST", path, 422, at="2026-09-21T12:30:00Z", **more)["error"]
    assert (error["field"], "105.0 L" in error["sentence"]) == ("volume_l", True)
    measured(entering, other, 31, **more | {"volume_l": 30.0})
    spirit = made("feints", "feints D", 20.0, 40.0)
    error = entering.move("merge", 40, 422, from_lot=spirit["id"], to_lot=other["id"])["error"]
    assert "110.0 L" in error["sentence"]
    lot_c = entering.get(f"lots/{other['id']}")
    assert lot_c["now"]["volume_l"] == pytest.approx(30.0)
