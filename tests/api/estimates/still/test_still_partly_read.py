"""A still of which one probe is missing, or a fact came while nothing could be learned."""

from dataclasses import replace

import pytest

from api.estimates.ground import JarGround, Measured, SpoutReading
from api.estimates.still import words
from api.estimates.still.estimator import StillEstimator

HOUR_S = 3600


def without(run, place, since_s=0.0):
    since = run.ground.from_slot + since_s
    return [
        replace(one, values=one.values | {place: None}) if one.slot >= since else one
        for one in run.steps
    ]


def test_a_head_alone_tells_the_vapour(make, told):
    run = make(start_c=84.0)
    at_s = run.boil_s + HOUR_S
    cold, hot = told(run, run.boil_s - 120, at_s, steps=without(run, "pot"))
    assert cold["vapour_abv"].why == words.HEAD_COLD
    true = run.true("spout_abv", at_s)
    assert hot["vapour_abv"].low < true < hot["vapour_abv"].high
    assert hot["vapour_abv"].low < hot["vapour_abv"].low_68 < true
    assert words.READ_POT in hot["vapour_abv"].narrows
    assert hot["pot_abv"].why == words.NOTHING_YET


def test_a_head_alone_tells_nothing_of_a_run_that_cleans_or_is_pumped_down(make, told):
    run = make(start_c=84.0)
    at_s, steps = run.boil_s + HOUR_S, without(run, "pot")
    [cleans] = told(run, at_s, steps=steps, ground=run.changed(purpose="cleaning"))
    assert cleans["vapour_abv"].why == words.CLEANING
    [pumped] = told(run, at_s, steps=steps, ground=run.changed(vacuum=True))
    assert pumped["vapour_abv"].why == words.VACUUM


def test_a_pot_that_loses_its_probe_leaves_what_the_head_tells(make, told):
    run = make(start_c=84.0)
    at_s = run.boil_s + HOUR_S
    [found] = told(run, at_s, steps=without(run, "pot", at_s - 600))
    assert found["pot_abv"].why == words.NO_POT
    for quantity in ("vapour_abv", "spout_abv"):
        assert found[quantity].low < run.true("spout_abv", at_s) < found[quantity].high
    [blind] = told(run, at_s, steps=[replace(one, values={}) for one in without(run, "pot")])
    assert blind["spout_abv"].value is None


def test_without_a_probe_of_the_head_nothing_is_said_to_rest_on_it(make, told):
    run = make(start_c=84.0)
    [found] = told(run, run.boil_s + HOUR_S, steps=without(run, "head"))
    assert words.FROM_HEAD not in found["spout_abv"].rests_on
    assert words.HANG_HEAD_PROBE in found["spout_abv"].narrows
    assert words.REFLUX_GUESSED in found["reflux_ratio"].rests_on


def test_what_is_entered_while_nothing_can_be_learned_is_learned_after(make, good, names):
    run = make(start_c=84.0)
    boil = run.ground.from_slot + round(run.boil_s)
    odd = range(boil + 900, boil + 1800)  # the head seems hotter than the pot
    steps = [
        replace(one, values=one.values | {"head": one.values["pot"] + 6.0})
        if one.slot in odd
        else one
        for one in run.steps
        if one.slot <= boil + HOUR_S
    ]
    true = run.true("spout_abv", run.boil_s + 1300)
    read = run.changed(
        spout=(SpoutReading(boil + 1300, Measured(true, 0.3)),),
        jars=(JarGround(boil + 1250, None, holds_l=2.0),),
    )
    marked = replace(read, powers_w=(*read.powers_w, (boil + 1500, read.powers_w[0][1])))
    live, entered = StillEstimator(run.still), [(0, run.ground), (1300, read), (1510, marked)]
    for step in steps:
        while entered and step.slot >= boil + entered[0][0]:
            live.know(entered.pop(0)[1], good)
        live.see([step])
        live.tell()
    anew = StillEstimator(run.still)
    anew.know(marked, good)
    anew.see(steps)
    assert names(live)["spout_abv"].value == pytest.approx(names(anew)["spout_abv"].value)
    assert words.FROM_READING in names(live)["spout_abv"].rests_on
    assert names(live)["minutes_to_jar_full"].value is not None


def test_a_jar_that_must_be_full_is_said_to_be(make, told):
    run = make(start_c=84.0)
    began = run.ground.from_slot + round(run.boil_s) + 600
    jar = JarGround(began, None, holds_l=0.5)
    [found] = told(run, run.boil_s + 2 * HOUR_S, ground=run.changed(jars=(jar,)))
    assert found["minutes_to_jar_full"].why == words.JAR_FULL


def test_a_first_mark_of_the_power_tells_nothing_of_what_was_before(make, told):
    run = make(start_c=60.0)
    at_s = run.boil_s + HOUR_S
    late = run.ground.from_slot + round(at_s) - 60
    low_w = 0.5 * run.ground.powers_w[0][1]
    before, after = told(run, at_s - 120, at_s + 60, ground=run.changed(powers_w=((late, low_w),)))
    assert before["heat_w"].low < 1900.0 < before["heat_w"].high
    assert after["heat_w"].low < 950.0 < after["heat_w"].high


def test_minutes_that_are_told_are_never_less_than_none(make, told):
    run = make(start_c=84.0)
    for found in told(run, *(run.end_s - ahead_s for ahead_s in (240, 120, 60, 30))):
        one = found["minutes_to_end"]
        assert one.low is None or one.low >= 0.0
