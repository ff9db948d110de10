"""Stretches of minutes to years that nobody read: how far the run went in them."""

from dataclasses import replace

import pytest

from api.estimates.still import words

BEFORE_S = 900.0  # of boiling, until nobody reads


@pytest.fixture(scope="module")
def run(make):
    return make(start_c=84.0)


def later(run, gap_s, steps=()):
    """Steps up to the gap, others in between, and the run going on after it as it stood."""
    at = run.steps[0].slot + run.boil_s + BEFORE_S
    seen = [one for one in run.steps if one.slot <= at]
    return [*seen, *steps, *(replace(s, slot=s.slot + gap_s) for s in run.steps if s.slot > at)]


def test_a_still_that_stood_as_long_as_nobody_read_it(run, told):
    at_s = run.boil_s + BEFORE_S
    before, found = told(run, at_s, at_s + 21_600 + 60, steps=later(run, 21_600))
    assert found["pot_abv"].low < run.true("pot_abv", at_s + 60) < found["pot_abv"].high
    assert found["collected_l"].low < before["collected_l"].value + 0.05
    assert found["collected_l"].value < before["collected_l"].value + 0.3
    assert found["recovered_percent"].contradictions == ()


def test_a_pot_found_cold_may_have_run_and_tells_when_it_boils_again(run, told):
    at_s = run.boil_s + BEFORE_S
    first = run.steps[0].slot + round(at_s) + 10_800
    boils_c = run.true("pot_temperature_c", at_s)
    cold = {"head": 22.0, "room": 20.0}
    warming = [
        replace(run.steps[0], slot=first + 10 * i, values={"pot": 60.0 + 0.2 * i} | cold)
        for i in range(1, round((boils_c - 60.0) / 0.2))
    ]
    gap_s = 10_800 + 10 * len(warming)
    steps = later(run, gap_s, warming)
    asked_s = at_s, at_s + 10_860, at_s + 10_800 + 600, at_s + gap_s + 900
    before, found, warms, again = told(run, *asked_s, steps=steps)
    over, wide = before["recovered_percent"].high, found["recovered_percent"]
    assert found["pot_abv"].value is None
    assert wide.low < over < wide.value + 15.0 < 90.0 < wide.high
    left_min = (boils_c - 60.0 - 0.2 * 60) / 0.2 / 6.0
    assert warms["minutes_to_boil"].low < left_min < warms["minutes_to_boil"].high
    assert warms["pot_abv"].why == warms["minutes_to_first_drop"].why == words.NOT_BOILING
    assert again["pot_abv"].low < run.true("pot_abv", at_s + 900) < again["pot_abv"].high
    known = again["recovered_percent"]
    assert known.high - known.low < 15.0


def test_a_pot_without_a_heads_probe_boils_where_it_warms_no_more(run, told):
    def headless(one):
        return replace(one, values=one.values | {"head": None})

    at_s = run.boil_s + BEFORE_S
    steps = [headless(one) for one in later(run, 7200)]
    found = next(told(run, at_s + 7200 + 600, steps=steps))
    assert found["pot_abv"].low < run.true("pot_abv", at_s + 600) < found["pot_abv"].high


def test_a_clock_put_right_by_years_is_one_stretch(run, told):
    at_s, years = run.boil_s + BEFORE_S, 30 * 31_557_600
    found = next(told(run, at_s + years + 60, steps=later(run, years)))
    assert found["pot_abv"].low < run.true("pot_abv", at_s + 60) < found["pot_abv"].high


def test_probes_that_were_swapped_for_minutes_are_recovered_from(make, told):
    """The head is cooler than the pot by what reflux takes; crossed, the pot seems to cool."""
    run = make(start_c=84.0)
    crossed_s = run.boil_s + BEFORE_S, run.boil_s + BEFORE_S + 480.0

    def shown(step):
        pot, head = step.values["pot"], min(step.values["head"], 85.0)
        if crossed_s[0] < step.slot - run.steps[0].slot <= crossed_s[1]:
            pot, head = head, pot
        return replace(step, values=step.values | {"pot": pot, "head": head})

    steps = [shown(step) for step in run.steps]
    at_s = crossed_s[1] + 420.0
    ground = run.changed(powers_w=())
    crossed, healed = told(run, crossed_s[1] - 10.0, at_s, steps=steps, ground=ground)
    assert "may be swapped" in crossed["pot_abv"].why
    assert healed["pot_abv"].low < run.true("pot_abv", at_s) < healed["pot_abv"].high
