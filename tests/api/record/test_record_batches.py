"""Batches: begun by a name, renamed with all that goes by it; what the alarms ask of a run."""

from datetime import datetime

import pytest
from uuid_utils.compat import uuid7

from api.alarms.ground import PlannedRest
from api.record.charges import RecordedCharges

DAY = "2026-09-21"


def of_name(entering, name):
    [batch] = [one for one in entering.get("batches") if one["name"] == name]
    return batch


def test_taking_a_vessel_for_a_new_name_begins_a_batch_once(entering, take):
    name = entering.run["batch"]
    batch = of_name(entering, name)
    assert (batch["kind_of_wash"], batch["began_at"]) == ("other", "2026-09-21T12:00:00Z")
    tun = {"name": f"tun of {name}", "kind": "mash_tun", "volume_l": 100}
    tun_id = entering.client.post("/api/vessels", json=tun).json()["id"]
    mash = take(entering.client, tun_id, "mash", -60, batch=name)
    view = entering.get(f"batches/{of_name(entering, name)['id']}")
    assert [(one["stage"], one["is_run"]) for one in view["occupancies"]] == [
        ("mash", False),
        ("spirit", True),
    ]
    rests_of_the_alarms(entering, mash, tun_id, name)


def rests_of_the_alarms(entering, mash, tun_id, name):
    """The alarms are told of the newest rest of a mash."""
    charges = RecordedCharges(entering.client.app.house.reader.engine)

    def slot_of(moment):
        return round(moment.timestamp())

    assert charges.rest(mash["id"], slot_of) is None
    body = {"kind": "rest", "batch": name, "vessel_id": tun_id, "low_c": 50, "high_c": 55}
    entering.ask("POST", "entries", 201, **body, at=f"{DAY}T11:10Z", ended_at=f"{DAY}T11:30Z")
    body |= {"low_c": 62, "high_c": 67, "planned_min": 40}
    entering.ask("POST", "entries", 201, **body, at=f"{DAY}T11:35Z")
    began = slot_of(datetime.fromisoformat(f"{DAY}T11:35+00:00"))
    assert charges.rest(mash["id"], slot_of) == PlannedRest(62, 67, 40, began)
    assert charges.rest(str(uuid7()), slot_of) is None
    assert charges.yeast(mash["id"]) is None
    body = {"kind": "yeast", "batch": name, "vessel_id": tun_id, "mass_kg": 0.1}
    for minute, yeast in ((50, "spirit yeast"), (40, "the one before")):
        entering.ask("POST", "entries", 201, **body, name=yeast, at=f"{DAY}T11:{minute}Z")
    assert charges.yeast(mash["id"]) == "spirit yeast"
    assert charges.yeast(str(uuid7())) is None


def test_a_batch_is_renamed_with_its_runs_and_lots_and_back(entering):
    name = entering.run["batch"]
    lot = entering.ask("POST", "lots", 201, kind="wash", name="wash", batch=name)
    batch = of_name(entering, name)
    path = f"batches/{batch['id']}"
    changed = entering.ask("PUT", path, 200, name=f"{name} b", kind_of_wash="grain", version=1)
    assert changed["kind_of_wash"] == "grain"
    assert entering.run["batch"] == f"{name} b"
    assert entering.get(f"lots/{lot['id']}")["batch"] == f"{name} b"
    assert entering.get(path)["lot_ids"] == [lot["id"]]
    entering.ask("POST", f"{path}/undo", 200, version=2)
    assert entering.run["batch"] == name
    assert entering.get(f"lots/{lot['id']}")["batch"] == name


def test_a_name_is_one_batchs_and_a_batch_in_use_is_not_taken_back(entering):
    name = entering.run["batch"]
    error = entering.ask("POST", "batches", 409, name=name)["error"]
    assert "already; choose another name" in error["sentence"]
    path = f"batches/{of_name(entering, name)['id']}"
    error = entering.ask("DELETE", path, 409, version=1)["error"]
    assert "take those back first" in error["sentence"]
    key = str(uuid7())
    first = entering.ask("POST", "batches", 201, id=key, name=f"{name} x", kind_of_wash="fruit")
    assert entering.ask("POST", "batches", 201, id=key, name=f"{name} y") == first
    error = entering.ask("PUT", path, 409, name=f"{name} x", version=1)["error"]
    assert "already" in error["sentence"]
    assert entering.ask("DELETE", f"batches/{key}", 200, version=1)["withdrawn"] is True


def test_the_alarms_are_told_of_the_charge_and_the_receiver(entering):
    house = entering.client.app.house
    charges = RecordedCharges(house.reader.engine, lambda: house.now)
    assert charges.charge(str(uuid7())) is None
    found = charges.charge(entering.run_id)
    assert (found.volume_l, found.collected_l, found.receiver_fraction) == (None, None, None)
    assert charges.last_hand_at(entering.run_id) is None
    name = entering.run["batch"]
    path = f"batches/{of_name(entering, name)['id']}"
    entering.ask("PUT", path, 200, name=name, kind_of_wash="grain", version=1)
    entering.move(
        "charge", 0, to_lot=entering.run_id, volume_l=42.0, reading_abv=30.0, temperature_c=20.0
    )
    entering.ask("PUT", "jar-vessels/42", 200, tare_kg=0.5, volume_l=2.0)
    for number, minutes in ((41, 70), (42, 110)):
        jar = entering.jar(minutes, number=number)
        if number == 41:
            entering.ask("PUT", f"jars/{jar['id']}", 200, volume_l=1.2, version=1)
    found = charges.charge(entering.run_id)
    assert (found.volume_l, found.abv) == (pytest.approx(42.0), pytest.approx(30.0))
    assert (found.fill_fraction, found.kind_of_wash) == (pytest.approx(0.7), "grain")
    open_l = 0.030 * (house.now.timestamp() - 1_789_998_600) / 60  # 30 mL a minute since 13:50
    assert found.collected_l == pytest.approx(1.2 + open_l)
    assert found.receiver_fraction == pytest.approx(open_l / 2.0)
    assert found.is_thick  # nobody said that it is clear
    entering.ask("PUT", path, 200, name=name, on_grain=False, version=2)
    assert not charges.charge(entering.run_id).is_thick
    assert charges.last_hand_at(entering.run_id).isoformat() == "2026-09-21T13:50:00+00:00"
