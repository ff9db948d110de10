"""Runs written as recorded traces: the export's form, the truth beside, the same by seed."""

import csv
from datetime import datetime
from itertools import pairwise

import pytest

from logger.errors import PlantError
from logger.plant import trace
from logger.plant.practice import KINDS


def rows(path):
    return list(csv.DictReader(path.read_text().splitlines()))


def test_a_run_is_a_recorded_trace_with_its_truth_beside_it(tmp_path):
    said, true = (rows(path) for path in trace.write("spirit", 4, tmp_path, every_s=30))
    assert list(said[0]) == [
        "time", "pot", "column", "head", "coolant_in", "coolant_out", "spout", "room",
        "pressure_hpa",
    ]  # fmt: skip
    assert [row["time"] for row in said] == [row["time"] for row in true]
    times = [datetime.fromisoformat(row["time"]) for row in said]
    assert all((later - one).total_seconds() == 30 for one, later in pairwise(times))
    assert times[0].utcoffset() is not None
    assert all((float(row["head"]) * 16).is_integer() for row in said)  # a probe's own steps
    late = len(said) * 2 // 3
    assert float(said[late]["pot"]) == pytest.approx(
        float(true[late]["still.temperature_c"]), abs=1
    )
    assert {row["still.stage"] for row in true} == {"spirit", "empty"}
    charged, left = (float(true[at]["still.pure_alcohol_l"]) for at in (0, -1))
    assert 0.6 < float(true[-1]["over_fraction"]) < 1.0
    assert left < 0.4 * charged


@pytest.mark.parametrize("kind", sorted(KINDS.keys() - {"spirit"}))
def test_every_kind_names_its_places_plainly(tmp_path, kind):
    said, true = trace.write(kind, 1, tmp_path, every_s=600)
    place = {"mash": "mash", "ferment": "ferment"}.get(kind, "pot")
    assert {place, "room", "pressure_hpa"} <= rows(said)[0].keys()
    assert len(rows(said)) == len(rows(true)) > 10


def test_a_seed_makes_the_same_run_and_another_one_another(tmp_path):
    def made(seed, folder):
        (tmp_path / folder).mkdir()
        return [
            path.read_bytes() for path in trace.write("mash", seed, tmp_path / folder, every_s=60)
        ]

    assert made(7, "a") == made(7, "b") != made(8, "c")


def test_a_fault_midway_is_in_readings_and_truth(tmp_path):
    calm, _ = trace.write("mash", 3, tmp_path, every_s=60)
    before = rows(calm)
    said, true = trace.write("mash", 3, tmp_path, during="fault door-open for 30 min", every_s=60)
    assert {row["troubles"] for row in rows(true)} == {"", "door-open"}
    assert [row["room"] for row in rows(said)] != [row["room"] for row in before]


def test_what_cannot_be_practised_is_told(tmp_path):
    with pytest.raises(PlantError, match="cannot be practised; there are mash, ferment"):
        trace.write("cider", 1, tmp_path)
    with pytest.raises(PlantError, match="sing"):
        trace.write("mash", 1, tmp_path, during="sing")
    assert not list(tmp_path.iterdir())
