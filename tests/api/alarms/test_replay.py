"""`wormtub replay`: the alarms of a trace, and one sentence for every row that cannot be read."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from still_course import Course
from typer.testing import CliRunner

from api.cli import app

BEGAN = datetime(2026, 3, 1, 8, tzinfo=UTC)
COLUMNS = ("pot", "head", "coolant_in", "coolant_out", "spout", "room")


def replayed(*words):
    return CliRunner().invoke(app, ["replay", *map(str, words)])


def lines(result):
    return [json.loads(line) for line in result.stdout.splitlines()]


def alarms_of(result):
    return [one for one in lines(result) if one["kind"] == "alarm"]


def row(second, *cells):
    return ",".join([(BEGAN + timedelta(seconds=second)).isoformat(), *map(str, cells)])


@pytest.fixture(scope="module")
def rows():
    """Write a run whose water is lost once it boils."""
    kept = []

    class Kept(Course):
        def step(self, **odd):
            shown = {k: self.read(v) for k, v in {**self.values, **odd}.items()}
            kept.append(row(self.slot, *(shown[name] for name in COLUMNS)))
            self.slot += 1
            return []

    course = Kept(stage="strip").boil()
    course.go(60, coolant_out=40.0)
    course.go(30)
    return kept


@pytest.fixture
def trace_file(tmp_path):
    def written(rows, columns=COLUMNS):
        file = tmp_path / "trace.csv"
        file.write_text("\n".join([",".join(("time", *columns)), *rows]) + "\n")
        return file

    return written


def test_a_trace_raises_its_alarms_as_json_lines(trace_file, rows):
    result = replayed(trace_file(rows), "--stage", "strip", "--json")
    assert result.exit_code == 0, result.stderr
    found = lines(result)
    alarms = [one for one in found if one["kind"] == "alarm"]
    assert {"coolant_surge", "coolant_out_hot"} <= {one["rule"] for one in alarms}
    [first] = [one for one in alarms if one["rule"] == "coolant_out_hot"]
    assert set(first) == {"kind", "rule", "place", "state", "priority", "at", "value", "limit"}
    assert first["state"] == "unacknowledged"
    assert (first["place"], first["priority"], first["limit"]) == ("coolant_out", "high", 70.0)
    assert first["value"] > 70
    estimates = [one for one in found if one["kind"] == "estimate"]
    assert {"vapour_abv", "pot_abv", "minutes_to_end"} < {one["quantity"] for one in estimates}
    for one in estimates:
        assert {"at", "value", "low", "high"} < set(one)
        assert (one["value"] is None) == ("why" in one)
        if one["value"] is not None:
            assert one["low"] <= one["value"] <= one["high"]


def test_bad_rows_are_named_by_their_lines_and_good_alarms_go_on(trace_file, rows):
    spoiled = list(rows)
    spoiled[100] = spoiled[99]  # the same time twice
    spoiled[200] = row(5, *(["20"] * 6))  # long before the one before it
    spoiled[300] = spoiled[300].rsplit(",", 1)[0] + ",warm"
    spoiled[400] = spoiled[400].rsplit(",", 1)[0]
    spoiled[500] = "yesterday" + spoiled[500][25:]
    spoiled[600] = spoiled[600].rsplit(",", 1)[0] + ",850"
    spoiled[700] = "2062" + spoiled[700][4:]  # and what follows it is good
    result = replayed(trace_file(spoiled), "--stage", "strip", "--json")
    assert result.exit_code == 2
    told = result.stderr.splitlines()
    for line, says in (
        (102, "same as the row before"),
        (202, "before the row before it"),
        (302, 'room is "warm"; give a number'),
        (402, "has 6 cells, the first line 7"),
        (502, "is no time"),
        (602, "reaches from -55 to 125"),
        (702, "lies after the rows that follow it"),
    ):
        assert any(f"line {line}" in one and says in one for one in told), (line, told)
    assert len(told) == 7
    assert "coolant_out_hot" in result.stdout


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        (("spout", "room"), "no column pot or head"),
        (("pot", "pot"), 'two columns "pot"'),
    ],
)
def test_missing_columns_are_named(trace_file, columns, says):
    result = replayed(trace_file([row(0, 20, 20)], columns), "--stage", "strip", "--json")
    assert result.exit_code == 2
    assert says in result.stderr


def test_a_probe_without_a_place_is_left_out_and_the_rest_judged(trace_file):
    rows = [row(second, 95.0, 21.5, 150.0, 40.0) for second in range(0, 90, 10)]
    columns = ("pot", "28-000001", "still.coolant_flow", "head")
    result = replayed(trace_file(rows, columns), "--stage", "strip", "--json")
    assert result.exit_code == 0, result.stderr
    assert {one["rule"] for one in alarms_of(result)} == {"foam_prompt", "water_not_proven"}


def test_a_file_without_time_and_one_that_is_not_there_are_told(tmp_path):
    file = tmp_path / "no_time.csv"
    file.write_text("pot,head\n20,20\n")
    assert "no column time" in replayed(file, "--stage", "strip").stderr
    assert "cannot be read" in replayed(tmp_path / "none.csv", "--stage", "strip").stderr


def test_a_stage_or_a_charge_that_cannot_be_is_told(trace_file, rows):
    file = trace_file(rows[:3])
    assert "give mash, ferment, strip or spirit" in replayed(file, "--stage", "boil").stderr
    for option, value in (("--charge-abv", 140), ("--charge-volume-l", -3)):
        result = replayed(file, "--stage", "strip", option, value)
        assert result.exit_code == 2
        assert option in result.stderr


def test_a_charge_too_strong_is_judged_and_jars_are_read(trace_file, rows, tmp_path):
    jars = tmp_path / "jars.csv"
    jars.write_text("time,volume_l,reading_abv,temperature_c\n" + row(1500, 0.7, 71.5, 18) + "\n")
    words = ("--stage", "strip", "--charge-volume-l", 90, "--charge-abv", 52, "--jars", jars)
    result = replayed(trace_file(rows), *words, "--json")
    assert result.exit_code == 0, result.stderr
    [strong] = [
        one
        for one in lines(result)
        if one.get("rule") == "charge_too_strong" and one["state"] == "unacknowledged"
    ]
    assert (strong["value"], strong["limit"]) == (52.0, 40.0)
    jars.write_text("time,volume_l\n")
    assert "no column reading_abv, temperature_c" in replayed(trace_file(rows), *words).stderr


def test_a_mash_and_a_ferment_are_judged_by_their_own_places(trace_file):
    hot = [row(minute * 60, 36.5) for minute in range(60)]
    result = replayed(trace_file(hot, ("ferment",)), "--stage", "ferment", "--json")
    assert [(one["rule"], one["place"]) for one in alarms_of(result)] == [
        ("ferment_too_hot", "ferment"),
        ("ferment_reaching_maximum", "ferment"),
    ]
    assert {one["quantity"] for one in lines(result) if one["kind"] == "estimate"} >= {
        "heat_rate_w", "fermented_percent", "hours_to_end",
    }  # fmt: skip
    steady = [row(second, 65.0 - (second > 1800) * 3.0) for second in range(0, 4800, 10)]
    result = replayed(trace_file(steady, ("tun.mash",)), "--stage", "mash", "--json")
    found = [(one["rule"], one["place"], one["state"]) for one in alarms_of(result)]
    assert ("mash_off_rest", "tun.mash", "unacknowledged") in found
    assert ("mash_rest_reached", "tun.mash", "unacknowledged") in found
