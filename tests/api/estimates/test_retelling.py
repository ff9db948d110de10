"""A recorded trace told by the estimators that tell live readings."""

import json
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from typer.testing import CliRunner

from api.cli import app
from api.estimates.trace_jars import read_jars

BEGAN = datetime(2026, 3, 1, 8, tzinfo=UTC)


def at(second):
    return (BEGAN + timedelta(seconds=second)).isoformat()


def written(file, columns, rows):
    file.write_text("\n".join([",".join(columns), *(",".join(map(str, row)) for row in rows)]))
    return file


def replayed(*words):
    result = CliRunner().invoke(app, ["replay", *map(str, words), "--json"])
    said = [json.loads(line) for line in result.stdout.splitlines()]
    return result, [one for one in said if one["kind"] == "estimate"]


@pytest.fixture(scope="module")
def heated(tmp_path_factory):
    """A pot that warms by 2 K a minute for 20 minutes, read every second."""
    rows = [[at(s), round((20 + s / 30) * 16) / 16, 20.0, 18.0, 1013.0] for s in range(1200)]
    columns = ("time", "pot", "head", "room", "pressure_hpa")
    return written(tmp_path_factory.mktemp("trace") / "heated.csv", columns, rows)


def test_each_estimate_is_a_line_each_time_it_is_restated(heated):
    charge = ("--charge-volume-l", 60, "--charge-abv", 8)
    result, found = replayed(heated, "--stage", "strip", *charge)
    assert result.exit_code == 0, result.stderr
    assert {"pot_abv", "minutes_to_boil", "alcohol_left_l", "measured_percent"} <= {
        one["quantity"] for one in found
    }
    for one in found:
        wanted = {"kind", "quantity", "at", "value", "low", "high"}
        assert set(one) == wanted | ({"why"} if one["value"] is None else set())
    times = [one["at"] for one in found]
    assert times == sorted(times)
    boils = [one for one in found if one["quantity"] == "minutes_to_boil"]
    assert len(boils) >= 15  # at least once a minute
    seconds = [datetime.fromisoformat(one["at"]).timestamp() for one in boils]
    assert max(b - a for a, b in pairwise(seconds)) <= 60


def test_jars_are_readings_from_when_they_were_full(heated, tmp_path):
    columns = ("time", "volume_l", "reading_abv", "temperature_c")
    jars = written(tmp_path / "jars.csv", columns, [[at(605), 3.0, 62.0, 25.0]])
    charge = ("--charge-volume-l", 60, "--charge-abv", 8, "--jars", jars)
    _, found = replayed(heated, "--stage", "strip", *charge)
    measured = [one for one in found if one["quantity"] == "measured_percent"]
    before = [one for one in measured if one["at"] < at(605)]
    assert before
    assert {one["value"] for one in before} == {None}
    assert 36.0 < measured[-1]["value"] < 38.5  # 3 L at about 60 % of 4.8 L


def test_a_jar_that_cannot_be_corrected_counts_by_its_volume_and_says_so(tmp_path):
    columns = ("time", "volume_l", "reading_abv", "temperature_c")
    rows = [[at(0), 2.0, 62.0, ""], [at(9), "", 60, 20], [at(20), 2.0, "", ""], [at(30), 1, 1, 90]]
    said = []
    found = read_jars(written(tmp_path / "jars.csv", columns, rows), said.append)
    assert [one.abv for one in found] == [None, None, None]
    assert [one.volume_l.value for one in found] == [2.0, 2.0, 1.0]
    assert "line 2 has a reading_abv and no temperature_c" in said[0]
    assert "line 3 has no volume_l; the jar is left out." in said[1]
    assert "line 5:" in said[2]
    assert len(said) == 3


def test_several_vessels_are_told_apart(tmp_path):
    rows = [[at(60 * m), 24.0, 25.0, 18.0] for m in range(30)]
    columns = ("time", "one.ferment", "two.ferment", "room")
    file = written(tmp_path / "two.csv", columns, rows)
    result, found = replayed(file, "--stage", "ferment")
    assert result.exit_code == 0, result.stderr
    assert {one["vessel"] for one in found} == {"one", "two"}


def test_gaps_and_rows_without_readings_pass_through(tmp_path):
    rows = [[at(s), 80.0, 60.0, 1000.0] for s in range(0, 600, 5)]
    rows += [[at(s), "", "", ""] for s in range(600, 900, 5)]
    rows += [[at(s), 81.0, 60.0, 1000.0] for s in range(20_000, 20_300, 5)]
    file = written(tmp_path / "gap.csv", ("time", "pot", "head", "pressure_hpa"), rows)
    result, found = replayed(file, "--stage", "spirit")
    assert result.exit_code == 0, result.stderr
    assert at(20_230) < found[-1]["at"] <= at(20_295)
