"""Jars: one press each, read when there is time, corrected at once, classed next day."""

import pytest

from calc.alcoholometer import true_strength
from calc.contents import contents_by_volume, contents_by_weight


def read(entering, jar, /, status=200, **body):
    return entering.ask("PUT", f"jars/{jar['id']}", status, version=jar["version"], **body)


def test_the_next_jar_ends_the_one_before_it(entering):
    first = entering.jar(10)
    assert (first["number"], first["ended_at"]) == (1, None)
    second = entering.jar(25, number=2)
    assert second["number"] == 2
    shown = entering.run["jars"]
    assert [one["ended_at"] for one in shown] == ["2026-09-21T12:25:00Z", None]
    assert shown[0]["version"] == 1  # nothing of it was changed: it is read off the next
    assert entering.now["open_jar"]["number"] == 2
    assert entering.now["next_number"] == 3
    entering.ask("POST", f"jars/{second['id']}/undo", 200, version=1)
    assert entering.now["open_jar"]["number"] == 1
    entering.mark("end", 40)
    assert entering.run["jars"][0]["ended_at"] == "2026-09-21T12:40:00Z"
    assert entering.now["open_jar"] is None


def test_a_reading_is_corrected_by_calc_to_the_last_digit(entering):
    jar = read(entering, entering.jar(10), volume_l=0.5, reading_abv=72.5, temperature_c=27.3)
    abv = true_strength(72.5, 27.3).abv_at_20_c
    held = contents_by_volume(0.5, abv, 27.3)
    assert jar["abv"] == abv
    assert jar["volume_at_20_c_l"] == held.volume_at_20_c_l
    assert jar["pure_alcohol_l"] == pytest.approx(held.pure_alcohol_l, abs=1e-12)
    assert (jar["abv_basis"], jar["abv_error"]) == ("read", 0.3)


def test_an_instrument_for_60_f_is_read_as_one(entering):
    jar = read(
        entering, entering.jar(10), reading_abv=60.0, temperature_c=25.0,
        instrument="alcoholometer_60f",
    )  # fmt: skip
    assert jar["abv"] == true_strength(60.0, 25.0, 15.56).abv_at_20_c
    jar = read(entering, jar, instrument="density_meter")
    assert jar["abv"] == 60.0


def test_a_jar_is_weighed_with_its_tare(entering):
    jar = entering.jar(10, number=7)
    jar = read(entering, jar, mass_kg=1.412, reading_abv=70.0, temperature_c=20.0)
    assert jar["volume_at_20_c_l"] is None  # the empty jar was never weighed
    entering.ask("PUT", "jar-vessels/7", 200, tare_kg=0.512, volume_l=1.0)
    held = contents_by_weight(1.412 - 0.512, jar["abv"])
    [shown] = entering.run["jars"]
    assert shown["volume_at_20_c_l"] == held.volume_at_20_c_l
    assert entering.get("jar-vessels/7")["tare_kg"] == 0.512
    error = read(entering, jar, 422, mass_kg=0.4)["error"]
    assert (error["field"], "less than the empty jar" in error["sentence"]) == ("mass_kg", True)


def test_a_jar_between_two_that_were_read_has_a_strength_between(entering):
    for number, reading in enumerate((78.0, None, None, 72.0, None), 1):
        jar = entering.jar(10 * number)
        body = {} if reading is None else {"reading_abv": reading, "temperature_c": 20.0}
        read(entering, jar, volume_l=0.5, **body)
    jars = entering.run["jars"]
    assert [one["abv"] for one in jars] == pytest.approx([78.0, 76.0, 74.0, 72.0, 72.0])
    assert [one["abv_basis"] for one in jars] == ["read", "between", "between", "read", "expected"]
    assert jars[1]["abv_error"] > jars[0]["abv_error"]
    assert [one["running_is_expected"] for one in jars] == [False] * 4 + [True]
    assert jars[3]["running_pure_alcohol_l"] == pytest.approx(0.39 + 0.38 + 0.37 + 0.36)


def test_a_missing_volume_leaves_the_running_total_unknown(entering):
    read(entering, entering.jar(10), reading_abv=70.0, temperature_c=20.0)
    read(entering, entering.jar(20), volume_l=0.5, reading_abv=70.0, temperature_c=20.0)
    shown = entering.run
    assert [one["running_pure_alcohol_l"] for one in shown["jars"]] == [None, None]
    assert shown["totals"]["jars_without_volume"] == 1


def test_the_share_of_the_charge_and_the_fill_are_told(entering):
    assert entering.run["charge"] is None
    entering.move(
        "charge", 0, to_lot=entering.run_id, volume_l=42.0, reading_abv=30.0, temperature_c=20.0
    )
    read(entering, entering.jar(10), volume_l=1.0, reading_abv=63.0, temperature_c=20.0)
    shown = entering.run
    assert shown["charge"]["pure_alcohol_l"] == pytest.approx(12.6)
    assert shown["fill_fraction"] == pytest.approx(0.7)
    assert shown["jars"][0]["share_of_charge"] == pytest.approx(0.05)
    assert entering.now["share_of_charge"] == pytest.approx(0.05)


def test_the_rate_says_when_the_open_jar_is_full(entering):
    entering.ask("PUT", "jar-vessels/3", 200, tare_kg=0.5, volume_l=1.0)
    for number in (1, 2):
        jar = entering.jar(60 + 10 * number)
        read(entering, jar, volume_l=0.4, reading_abv=70.0, temperature_c=20.0)
    entering.jar(90)
    now = entering.now
    assert now["rate_ml_min"] == pytest.approx(40.0)
    assert now["rate_from"] == "jars"
    assert now["jar_full_at"] == "2026-09-21T13:55:00Z"
    assert (now["jar_volume_l"], now["volume_step_l"]) == (1.0, 0.05)


def test_a_cleaning_run_shows_no_strength(entering):
    """Not what was typed either; should it have been another run, that is still there."""
    run = entering.run
    body = {"vessel_id": run["vessel_id"], "batch": run["batch"], "started_at": run["started_at"]}
    path = f"occupancies/{run['id']}"
    entering.ask("PUT", path, 200, stage="cleaning", version=1, **body)
    typed = {"volume_l": 1.0, "reading_abv": 20.0, "temperature_c": 20.0}
    jar = read(entering, entering.jar(10), **typed)
    assert (jar["abv"], jar["pure_alcohol_l"], jar["reading_abv"]) == (None, None, None)
    gone = entering.move("discard", 20, from_lot=jar["id"], **typed | {"volume_l": 0.5})
    into = entering.move("charge", 5, to_lot=run["id"], **typed)
    for move in (gone, into):
        assert (move["reading_abv"], move["at_20_c"]["abv"]) == (None, None)
        assert move["at_20_c"]["pure_alcohol_l"] is None
    shown = entering.run
    assert (shown["charge"]["volume_l"], shown["charge"]["abv"]) == (pytest.approx(1.0), None)
    entering.ask("PUT", path, 200, stage="sacrificial", version=2, **body)
    assert entering.get(f"jars/{jar['id']}")["reading_abv"] == 20.0
    entering.ask("PUT", path, 200, stage="cleaning", version=3, **body)
    assert entering.run["shows_strength"] is False
    assert entering.now["expected_why"] == "A cleaning run shows no strength."
    assert entering.now["fitting_mark"] == "first_drop"


def test_a_jar_is_classed_next_day_and_that_is_undone(entering):
    jar = entering.jar(10, cut="heads")
    jar = read(entering, jar, cut="hearts", text="pears after all", smell=["pear"])
    assert (jar["cut"], jar["smell"]) == ("hearts", ["pear"])
    jar = entering.ask("POST", f"jars/{jar['id']}/undo", 200, version=2)
    assert (jar["cut"], jar["text"], jar["version"]) == ("heads", "", 3)


def test_what_is_left_out_of_a_change_stays(entering):
    jar = read(entering, entering.jar(10), volume_l=0.5, reading_abv=70, temperature_c=21)
    jar = read(entering, jar, cut="hearts")
    assert (jar["volume_l"], jar["reading_abv"], jar["cut"]) == (0.5, 70.0, "hearts")
    jar = read(entering, jar, volume_l=None)
    assert jar["volume_l"] is None


def test_an_end_that_follows_from_the_next_jar_is_not_taken_for_entered(entering):
    first = entering.jar(10)
    second = entering.jar(20)
    shown = entering.run["jars"][0]
    read(entering, first, began_at=shown["began_at"], ended_at=shown["ended_at"], cut="heads")
    entering.ask("PUT", f"jars/{second['id']}", 200, version=1, began_at="2026-09-21T12:22:00Z")
    assert entering.run["jars"][0]["ended_at"] == "2026-09-21T12:22:00Z"
    read(entering, entering.run["jars"][0], ended_at="2026-09-21T12:18:00Z")
    assert entering.run["jars"][0]["ended_at"] == "2026-09-21T12:18:00Z"


CASES = [
    ({"reading_abv": 70}, "temperature_c", "needs the temperature it was read at"),
    ({"reading_abv": 99.5, "temperature_c": 20}, "reading_abv", "no more than 97.2"),
    ({"reading_abv": 120, "temperature_c": 20}, "reading_abv", "at most 100"),
    (
        {"reading_abv": 85, "temperature_c": 20, "instrument": "refractometer"},
        "reading_abv",
        "shows 0 to 80",
    ),
    ({"reading_abv": 0.5, "temperature_c": 35}, "reading_abv", "must lie between"),
    ({"reading_abv": 70, "temperature_c": 60}, "temperature_c", "at most 40"),
    ({"volume_l": 1.2}, "volume_l", "do not fit in jar 1, which holds 1 L"),
    ({"number": 77, "volume_l": 61}, "volume_l", "in jar 77 are more than still"),
    ({"volume_l": -1}, "volume_l", "more than 0"),
    ({"text": "x" * 100_000}, "text", "at most 2000 characters"),
    ({"began_at": "2026-09-21T11:59:00Z"}, "at", "before the run"),
    ({"began_at": "2026-09-22T11:59:00Z"}, "began_at", "lies in the future"),
    ({"ended_at": "2026-09-21T12:05:00Z"}, "ended_at", "give a later end"),
    ({"cut": "middle"}, "cut", "cut is"),
    ({"colour": "pale"}, "colour", "is not known here"),
]


def test_what_cannot_be_a_jar_is_told_at_its_field(entering):
    entering.ask("PUT", "jar-vessels/1", 200, tare_kg=0.5, volume_l=1.0)
    jar = entering.jar(10)
    for change, field, says in CASES:
        error = read(entering, jar, 422, **change)["error"]
        assert error["field"] == field, (change, error)
        assert says in error["sentence"], change
    assert entering.run["jars"][0]["version"] == 1


def test_no_number_is_no_volume(entering):
    jar = entering.jar(10)
    for number in (b"1e999", b"NaN", b"-Infinity"):
        answer = entering.client.put(
            f"/api/jars/{jar['id']}", content=b'{"volume_l": %b, "version": 1}' % number,
            headers={"content-type": "application/json"},
        )  # fmt: skip
        assert answer.status_code == 422
        assert answer.json()["error"]["field"] == "volume_l"
