"""To strength, ticked before the heat, labelled: through the service, numbers against calc."""

import re

import numpy as np
import pytest
import zxingcpp

from calc.contents import weight_in_air
from calc.hydrometer import water_density
from calc.proofing import dilution
from tests.api.record.small import STRENGTH, jar


def test_proofing_is_worked_out_anew_after_each_addition(small):
    spirit = small.lot("spirit", "strong")
    small.measure(spirit, 1, volume_l=10.0, reading_abv=65.0, **STRENGTH)
    plan = small.ask("POST", "proofings", 201, lot_id=spirit, target_abv=40.0, daily_fall_abv=5.0)
    whole = dilution(10.0, 65.0, 40.0)
    assert plan["water_volume_l"] == whole.water_volume_l
    assert [round(one["abv"], 6) for one in plan["steps"]] == [60.0, 55.0, 50.0, 45.0, 40.0]
    small.say("water_added", 5, lot_id=spirit, mass_kg=2.0)
    after = small.ask("GET", f"proofings/{spirit}")
    added_kg = 2.0 / weight_in_air(1.0, water_density(20.0))  # the air carried part of it
    assert after["water_mass_kg"] == pytest.approx(whole.water_mass_kg - added_kg, abs=1e-6)
    assert len(after["additions"]) == 1
    small.say("water_added", 7, lot_id=spirit, mass_kg=6.0)
    over = small.ask("GET", f"proofings/{spirit}")
    assert over["abv"] < 40.0
    assert over["water_volume_l"] is None
    remedy = over["remedy"]
    if remedy["stronger_abv"] is not None:
        assert remedy["stronger_volume_l"] > 0.0


def test_a_lot_that_went_on_needs_neither_water_nor_stronger_spirit(small):
    strong, spirit = small.lot("spirit", "stronger"), small.lot("spirit", "weak")
    small.measure(strong, 1, volume_l=5.0, reading_abv=80.0, **STRENGTH)
    small.measure(spirit, 1, volume_l=10.0, reading_abv=39.0, **STRENGTH)
    plan = small.ask("POST", "proofings", 201, lot_id=spirit, target_abv=40.0)
    assert plan["remedy"]["stronger_volume_l"] > 0.0
    small.move("discard", 5, from_lot=spirit)
    gone = small.ask("GET", f"proofings/{spirit}")
    assert (gone["volume_l"], gone["water_volume_l"], gone["remedy"]) == (0.0, None, None)
    assert "Nothing is left" in gone["why"]


def test_water_taken_back_leaves_the_books_too(small):
    spirit = small.lot("spirit", "strong")
    small.measure(spirit, 1, volume_l=10.0, reading_abv=65.0, **STRENGTH)
    added = small.say("water_added", 5, lot_id=spirit, mass_kg=2.0)
    small.ask("DELETE", f"entries/{added['id']}", version=1)
    assert small.ask("GET", f"lots/{spirit}")["now"]["volume_l"] == pytest.approx(10.0)
    small.ask("POST", f"entries/{added['id']}/undo", version=2)
    assert small.ask("GET", f"lots/{spirit}")["now"]["volume_l"] > 11.9


def test_the_checklist_is_computed_and_ticked(small, charged):
    found = small.ask("GET", f"runs/{small.run_id}/checklist")
    states = {one["key"]: one["state"] for one in found["checks"]}
    assert states["fill_in_limits"] == "not ok"  # 49 of 60 L of wash
    assert states["strength_in_limits"] == "ok"
    assert not found["ready"]
    fill = next(one for one in found["checks"] if one["key"] == "fill_in_limits")
    assert "70 to 75 %" in fill["sentence"]  # nobody said what the wash is of
    body = {"name": small.batch["name"], "kind_of_wash": "grain"}
    for version, on_grain, limits in ((1, None, "55 to 60"), (2, False, "70 to 75")):
        small.ask("PUT", f"batches/{small.batch['id']}", version=version, on_grain=on_grain, **body)
        again = small.ask("GET", f"runs/{small.run_id}/checklist")["checks"]
        assert any(limits in one["sentence"] for one in again)
    ticked = small.ask("POST", f"runs/{small.run_id}/checklist", 201, key="vent_open")
    [vent] = [one for one in ticked["checks"] if one["ticked"]]
    assert vent["key"] == "vent_open"
    assert small.ask("GET", f"entries?batch={small.batch['name']}") == []  # no line of the story
    small.ask("DELETE", f"entries/{vent['entry_id']}?version={vent['version']}")
    again = small.ask("GET", f"runs/{small.run_id}/checklist")
    assert not any(one["ticked"] for one in again["checks"])


def test_without_readings_nothing_is_proposed(small):
    assert small.ask("GET", f"runs/{small.run_id}/proposals") == []


def painted(svg):
    """Paint the squares of a label's code, as a printer would: black on white."""
    path, scale = re.search(r'<path d="([^"]+)".*scale\(([\d.]+)\)', svg).groups()
    found = [tuple(map(int, one)) for one in re.findall(r"M(\d+) (\d+)h(\d+)v1", path)]
    per_square = float(scale) * 20.0  # dots; 20 to a millimetre
    size = round(32 * 20.0)
    picture = np.full((size, size), 255, dtype=np.uint8)
    for x, y, length in found:
        top, bottom = round(y * per_square), round((y + 1) * per_square)
        picture[top:bottom, round(x * per_square) : round((x + length) * per_square)] = 0
    return picture


def test_a_jars_label_leads_to_its_page(small, charged):
    made = jar(small, 5, 1.0, 70.0)
    svg = small.client.get(f"/api/labels/jars/{made}?at=https://still.lan").text
    [code] = zxingcpp.read_barcodes(painted(svg))
    assert code.text == f"https://still.lan/jar.html?id={made}"
    assert "style" not in svg
    sheet = small.client.get(f"/api/labels/runs/{small.run_id}")
    assert sheet.headers["content-type"].startswith("image/svg+xml")
    assert sheet.text.count("<path") == 1
    refused = small.ask("GET", f"labels/jars/{made}?at=javascript:alert(1)", 422)
    assert refused["error"]["field"] == "at"
