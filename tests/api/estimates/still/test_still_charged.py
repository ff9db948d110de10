"""A charge that was recorded wrongly: named by where the pot boils, and got over."""

from dataclasses import replace

import pytest

from api.estimates.ground import Measured

NAMED = "The pot's temperature contradicts the charge"
AFTER_S = 3000


def holds(one, true):
    return one.low < true < one.high


@pytest.mark.parametrize("said_abv", [6.0, 12.0, 30.0])
def test_a_strength_that_is_wrong_is_named_and_the_pot_tells(make, told, said_abv):
    run = make(start_c=60.0)
    at_s = run.boil_s + AFTER_S
    found = next(told(run, at_s, ground=run.changed(charge_abv=Measured(said_abv, 0.15))))
    assert found["pot_abv"].contradictions[0].startswith(NAMED)
    assert holds(found["pot_abv"], run.true("pot_abv", at_s))
    assert holds(found["spout_abv"], run.true("spout_abv", at_s))
    left_min = (run.end_s - at_s) / 60.0
    assert holds(found["minutes_to_end"], left_min)


def test_a_strength_that_is_right_is_not_doubted(make, told):
    run = make(start_c=60.0)
    found = next(told(run, run.boil_s + AFTER_S))
    assert found["pot_abv"].contradictions == ()


def test_a_pot_that_boils_is_told_to_boil_whatever_was_charged(make, told):
    run = make(abv=28.0, start_c=60.0, purpose="spirit")
    at_s = run.boil_s + AFTER_S
    found = next(told(run, at_s, ground=run.changed(charge_abv=Measured(9.0, 0.15))))
    assert holds(found["pot_abv"], run.true("pot_abv", at_s))
    assert found["pot_abv"].contradictions[0].startswith(NAMED)


def test_it_is_told_as_well_of_a_still_without_a_probe_of_the_head(make, told):
    run = make(start_c=60.0)
    at_s = run.boil_s + AFTER_S
    steps = [replace(one, values=one.values | {"head": None}) for one in run.steps]
    wrong = run.changed(charge_abv=Measured(12.0, 0.15))
    found = next(told(run, at_s, ground=wrong, steps=steps))
    assert found["pot_abv"].contradictions[0].startswith(NAMED)
    assert holds(found["pot_abv"], run.true("pot_abv", at_s))


def test_a_run_begun_while_it_boils_cooler_than_its_charge_would_is_doubted(make, told):
    run = make(start_c=60.0)
    late_s = run.boil_s + AFTER_S  # half of it is over
    steps = [one for one in run.steps if one.slot - run.ground.from_slot > late_s]
    weak = run.changed(charge_abv=Measured(1.0, 0.1))
    found = next(told(run, late_s + 1200, steps=steps, ground=weak))
    assert found["pot_abv"].contradictions[0].startswith(NAMED)
    assert holds(found["pot_abv"], run.true("pot_abv", late_s + 1200))


def test_a_barometer_that_begins_with_nonsense_is_got_over(make, told):
    run = make(start_c=60.0)
    at_s = run.boil_s + AFTER_S
    [one] = told(run, at_s)
    early = run.ground.from_slot + 60
    steps = [replace(one, pressure_hpa=700.0) if one.slot < early else one for one in run.steps]
    [after] = told(run, at_s, steps=steps)
    assert after["pot_abv"].value == pytest.approx(one["pot_abv"].value, abs=0.2)
