"""Nobody takes more from a lot than was there, beyond what the measurements are good to."""

import pytest

from tests.api.record.small import STRENGTH

READ = {"reading_abv": 40.0, **STRENGTH}


@pytest.fixture
def pool(small):
    """A feints pool of 80 L at 40 % vol, measured to half a litre; and the id of its measure."""
    pool = small.lot("feints", "feints pool", batch=None)
    small.measure(pool, 5, volume_l=80.0, volume_error_l=0.5, **READ)
    return pool


def take(small, lot, minute, status, litres, **more):
    body = {"from_lot": lot, "volume_l": litres, "volume_error_l": 0.5} | more
    return small.move("use", minute, status, **body)


def held_l(small, lot):
    return small.ask("GET", f"lots/{lot}/balance")["held"]["volume_l"]


def test_a_shortage_beyond_both_errors_is_refused_at_the_field(small, pool):
    error = take(small, pool, 10, 422, 95.0)["error"]
    assert error["field"] == "volume_l"
    assert error["sentence"] == (
        "feints pool held 80.0 L by its book and 95.0 L would be taken from it (the "
        "measurements are good to 1.41 L): correct the amount, or enter first what came into it "
        "or what was found in it."
    )  # 2 sqrt(0.5² + 0.5²)
    error = take(small, pool, 10, 422, 9999.0, volume_error_l=None)["error"]
    assert "9999.0 L would be taken from it: correct" in error["sentence"]
    assert held_l(small, pool) == pytest.approx(80.0)
    take(small, pool, 10, 422, 81.5)
    take(small, pool, 10, 201, 81.3)  # within the errors: one of both was read a little wrong


def test_what_is_weighed_out_is_refused_at_the_mass(small, pool):
    heavy = {"from_lot": pool, "mass_kg": 95.0}
    assert small.move("use", 10, 422, **heavy)["error"]["field"] == "mass_kg"
    small.move("use", 10, 201, **heavy | {"mass_kg": 70.0})


def test_what_was_entered_first_makes_room_for_it(small, pool):
    take(small, pool, 10, 422, 95.0)
    small.move("receive", 9, to_lot=pool, volume_l=20.0, **READ)
    first = take(small, pool, 10, 201, 95.0)
    take(small, pool, 11, 422, 95.0)
    small.measure(pool, 11, volume_l=90.0, volume_error_l=0.5, **READ)
    take(small, pool, 12, 201, 90.0)
    small.ask("DELETE", f"transfers/{first['id']}?version=1")
    assert held_l(small, pool) == pytest.approx(0.0, abs=1e-9)


def test_what_was_taken_later_counts_until_it_was_gauged(small, pool):
    take(small, pool, 30, 201, 70.0)
    error = take(small, pool, 10, 422, 20.0)["error"]
    assert "would leave its book 10.0 L short by 2026-09-21 12:30" in error["sentence"]
    small.measure(pool, 20, volume_l=75.0, volume_error_l=0.5, **READ)
    take(small, pool, 10, 201, 20.0)


def test_a_correction_that_takes_less_is_taken_also_where_the_book_is_short(small, pool):
    came = small.move("receive", 6, to_lot=pool, volume_l=40.0, **READ)
    gone = take(small, pool, 10, 201, 115.0)
    path = f"transfers/{gone['id']}"
    small.ask("PUT", f"transfers/{came['id']}", kind="receive", volume_l=10.0, version=1)
    small.ask("PUT", path, 422, kind="use", volume_l=118.0, version=1)
    small.ask("PUT", path, kind="use", volume_l=100.0, version=1)
    assert small.ask("GET", f"lots/{pool}/balance")["doubts"]  # short still, and told


def test_a_lot_of_which_nothing_is_known_is_not_judged(small):
    bought = small.lot("spirit", "bought")
    take(small, bought, 10, 201, 5.0)
    well = small.lot("water", "the well", batch=None)
    take(small, well, 10, 201, 500.0)


def test_bottles_and_samples_are_taken_from_no_more_than_there_was(small, pool):
    filled = {"lot_id": pool, "name": "lot 9", "reading_abv": 40.0, "temperature_c": 20.0}
    error = small.say("bottle_fill", 10, 422, count=200, volume_l=0.5, **filled)["error"]
    assert (error["field"], "100.0 L would be taken" in error["sentence"]) == ("volume_l", True)
    error = small.say("sample", 10, 422, lot_id=pool, volume_l=100.0)["error"]
    assert error["field"] == "volume_l"
