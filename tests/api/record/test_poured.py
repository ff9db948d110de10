"""No jar gives more than the books say it held, however that is known."""

from itertools import count

import pytest

from calc.contents import contents_by_weight
from tests.api.record.test_record_lots import made

__all__ = ["made"]

NUMBERS = count(600, 10)


@pytest.fixture
def blends(made):
    return [made("blend", name, 5.0, 40.0)["id"] for name in ("blend A", "blend B")]


def read(entering, jar, status=200, /, **body):
    return entering.ask("PUT", f"jars/{jar['id']}", status, version=jar["version"], **body)


@pytest.fixture
def number():
    """Give each test jars of its own: what is stored of an empty jar holds for every run."""
    return next(NUMBERS)


def between(entering, number, **body):
    """Fill three jars, the middle one without a reading of its own, and return that one."""
    told = [{"volume_l": 2.0, "reading_abv": 70.0, "temperature_c": 20.0}, body,
            {"volume_l": 2.0, "reading_abv": 60.0, "temperature_c": 20.0}]  # fmt: skip
    made = [entering.jar(10 + 10 * place, number=number + place) for place in range(3)]
    return [read(entering, jar, **each) for jar, each in zip(made, told, strict=True)][1]


def test_a_weighed_jar_between_two_readings_gives_no_more_than_it_held(entering, blends, number):
    entering.ask("PUT", f"jar-vessels/{number + 1}", 200, tare_kg=0.5, volume_l=3.0)
    jar = between(entering, number, mass_kg=2.3)  # about 2.04 L at 65 % vol
    out = {"from_lot": jar["id"], "volume_l": 1.5}
    entering.move("blend", 41, 201, to_lot=blends[0], **out)
    error = entering.move("blend", 42, 409, to_lot=blends[1], **out)["error"]
    assert error["field"] == "volume_l"
    assert "held 2.0" in error["sentence"]
    assert "comes to 3.000 L" in error["sentence"]
    entering.move("blend", 43, 409, to_lot=blends[1], from_lot=jar["id"], volume_l=30.0)
    entering.move("blend", 44, 201, to_lot=blends[1], from_lot=jar["id"], volume_l=0.5)
    less = read(entering, jar, 409, mass_kg=1.5)["error"]
    assert "correct one of the volumes" in less["sentence"]


def doubts(entering, path):
    return [one["sentence"] for one in entering.get(path)["doubts"]]


def test_a_neighbour_read_later_is_kept_and_the_jar_it_shrinks_is_doubted(entering, blends, number):
    entering.ask("PUT", f"jar-vessels/{number + 1}", 200, tare_kg=0.5, volume_l=3.0)
    jar = between(entering, number, mass_kg=2.3)  # 1.8 kg at 65 % vol
    entering.move("blend", 41, 201, from_lot=jar["id"], to_lot=blends[0], volume_l=2.0)
    [batch] = [one for one in entering.get("batches") if one["name"] == entering.run["batch"]]
    places = (f"lots/{jar['id']}/balance", f"lots/{entering.run_id}/balance",
              f"batches/{batch['id']}/balance", "stock")  # fmt: skip
    assert not any(
        "were poured from it" in one for path in places for one in doubts(entering, path)
    )
    later = next(one for one in entering.run["jars"] if one["number"] == number + 2)
    held = read(entering, later, reading_abv=20.0)  # kept, whatever it does to another
    assert held["reading_abv"] == 20.0
    with_it_l = contents_by_weight(1.8, 45.0).volume_at_20_c_l
    for path in places:
        [said] = [one for one in doubts(entering, path) if "were poured from it" in one]
        assert said.startswith(f"jar {number + 1} of {batch['name']}, spirit run: 2.000 L")
        assert f"it held {with_it_l:.3f} L" in said
        assert f"the readings of jar {number} and jar {number + 2}" in said
        assert f"jar {number + 2} was changed after the pouring" in said
        assert f"See whether the reading of jar {number + 2} is right" in said
    shrunk = next(one for one in entering.run["jars"] if one["id"] == jar["id"])
    tasted = read(entering, shrunk, cut="tails", smell=["wet cardboard"])
    assert tasted["cut"] == "tails"
    less = read(entering, tasted, 409, mass_kg=1.5)["error"]
    assert "correct one of the volumes" in less["sentence"]
    read(entering, held, reading_abv=60.0)
    assert not any(
        "were poured from it" in one for path in places for one in doubts(entering, path)
    )


def test_an_empty_jar_weighed_again_doubts_what_was_poured_by_its_old_weight(
    entering, blends, number
):
    known = entering.ask("PUT", f"jar-vessels/{number}", 200, tare_kg=0.5, volume_l=3.0)
    jar = read(entering, entering.jar(10, number=number), mass_kg=2.3, reading_abv=60.0,
               temperature_c=20.0)  # fmt: skip
    entering.jar(20)
    entering.move("blend", 41, 201, from_lot=jar["id"], to_lot=blends[0], volume_l=1.9)
    entering.ask(
        "PUT", f"jar-vessels/{number}", 200, version=known["version"], tare_kg=0.9, volume_l=3.0
    )
    [said] = doubts(entering, f"lots/{jar['id']}/balance")
    assert "1.900 L were poured" in said
    assert "what its empty jar weighs" in said


def test_a_jar_never_measured_gives_all_there_was_once(entering, blends):
    jar = entering.jar(10)
    entering.jar(20)
    entering.move("blend", 31, 201, from_lot=jar["id"], to_lot=blends[0])
    for more in ({}, {"volume_l": 5.0}):
        error = entering.move("blend", 32, 409, from_lot=jar["id"], to_lot=blends[1], **more)
        assert error["error"]["field"] == "from_lot"
        assert "was poured already" in error["error"]["sentence"]


def test_a_jar_never_measured_gives_no_more_than_fits_in_it(entering, blends, number):
    jar = entering.jar(10, number=number)
    out = {"from_lot": jar["id"], "to_lot": blends[0]}
    error = entering.move("blend", 31, 409, **out, volume_l=61)["error"]
    assert "60 L at most" in error["sentence"]
    entering.ask("PUT", f"jar-vessels/{number}", 200, volume_l=3.0)
    entering.move("blend", 31, 201, **out, volume_l=2.0)
    error = entering.move("blend", 32, 409, **out, mass_kg=1.5)["error"]
    assert (error["field"], "3 L at most" in error["sentence"]) == ("mass_kg", True)


@pytest.mark.parametrize(
    ("empty", "says"),
    [
        ({"volume_l": 3.0}, "can weigh with 3 L in it"),
        ({"volume_l": 3.0, "tare_kg": 0.8}, "do not fit in jar"),
        (None, "can weigh with 60 L in it"),
    ],
)
def test_a_mass_is_held_against_the_jar_as_a_volume_is(entering, number, empty, says):
    if empty:
        entering.ask("PUT", f"jar-vessels/{number}", 200, **empty)
    jar = entering.jar(10, number=number)
    error = read(entering, jar, 422, mass_kg=50.0 if empty else 500.0)["error"]
    assert error["field"] == "mass_kg"
    assert says in error["sentence"]


def test_a_volume_beside_a_mass_is_held_against_the_jar_too(entering, number):
    entering.ask("PUT", f"jar-vessels/{number}", 200, tare_kg=0.5, volume_l=3.0)
    jar = read(entering, entering.jar(10, number=number), mass_kg=2.3, reading_abv=60.0,
               temperature_c=20.0)  # fmt: skip
    error = read(entering, jar, 422, volume_l=9.0)["error"]
    assert (error["field"], "9 L do not fit in jar" in error["sentence"]) == ("volume_l", True)
    assert read(entering, jar, volume_l=1.9)["volume_l"] == 1.9
