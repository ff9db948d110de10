"""What the rules make of the probes themselves."""

import pytest
from still_course import Course

from api.alarms.ground import Charge, Moment


def test_a_refused_reading_is_no_number_and_changes_nothing():
    course = Course().boil()
    before = len(course.raised())
    for _ in range(8):
        course.step(coolant_out=None, spout=None, head=None, pot=None)
    course.go(30)
    assert course.raised()[before:] == []


def test_a_refused_probe_is_told_after_ten_seconds_and_a_gone_one_after_thirty():
    course = Course().boil()
    for _ in range(14):
        course.step(spout=None)
    assert course.raised("probe_refused")
    course = Course().boil()
    del course.values["spout"]
    began = course.slot
    course.go(60)
    [(_, at)] = course.raised("probe_stale")
    assert at - began in range(28, 32)


def test_frozen_needs_another_probe_that_moved():
    course = Course().boil()
    stuck = course.read(course.values["head"])
    for place_moves in (0.0, 0.2):
        for _ in range(1200):
            course.values["pot"] += place_moves / 60.0
            shown = {k: course.read(v) for k, v in course.values.items()} | {"head": stuck}
            course.changes += course.evaluation.see(Moment(course.slot, 1, shown))
            course.slot += 1
        assert bool(course.raised("probe_frozen")) == bool(place_moves)


def test_a_still_without_a_probe_in_the_head_does_not_guess_when_vapour_comes():
    course = Course()
    for place in ("head", "spout"):
        del course.values[place]
    course.values |= {"pot": 45.0, "coolant_in": 20.0, "coolant_out": 20.0}
    course.go(2760, pot=1.0)  # to 91 °C, where the wash does not boil yet
    assert course.raised("no_outlet_rise") == []
    assert course.evaluation.judges[("water_not_proven", "c")].state.sounds
    course.go(600, coolant_out=2.0)
    assert not course.evaluation.judges[("water_not_proven", "c")].state.sounds


def test_a_head_whose_probe_fails_before_vapour_leaves_the_watch_on_the_pot():
    course = Course()
    course.values |= {"pot": 60.0, "head": 25.0}
    course.go(400, pot=2.0)
    course.values |= {"pot": 95.0, "head": None, "spout": 55.0}
    course.go(200)
    assert {rule for rule, _ in course.raised()} >= {"probe_refused", "spout_hot"}


def test_the_neck_alone_asks_for_proof_of_water_where_the_pot_has_no_probe():
    course = Course()
    del course.values["pot"]
    course.values |= {"coolant_in": 20.0, "coolant_out": 20.0}
    course.go(400)
    course.go(120, head=3.0)
    assert course.raised("water_not_proven")


def test_probes_of_a_boiling_still_that_contradict_each_other_are_told():
    for places in (("pot", "head"), ("coolant_in", "coolant_out")):
        course = Course(seed=6).boil()
        course.values["pot"] += 4.0
        course.go(200)
        assert course.raised("probes_do_not_fit") == []
        first, second = places
        values = course.values
        values[first], values[second] = values[second], values[first]
        course.go(200)
        assert course.raised("probes_do_not_fit")
    slipped = Course(seed=6).boil()
    slipped.values["pot"] = 45.0
    slipped.go(200)
    assert slipped.raised("probes_do_not_fit")


@pytest.mark.parametrize(("abv", "boils_c"), [(8.0, 93.5), (None, 97.0)])
def test_a_head_that_stays_cold_over_a_boiling_pot_is_told(abv, boils_c):
    course = Course()
    course.values["pot"] = boils_c - 10.0
    course.evaluation.know("still", Charge(abv=abv))
    course.go(600)
    assert course.raised("head_stays_cold") == []
    course.values["pot"] = boils_c
    course.go(660)
    assert course.raised("head_stays_cold")


def test_a_pot_that_cools_after_its_run_is_not_missed_at_the_head():
    course = Course(seed=2).boil()
    course.evaluation.know("still", Charge(abv=8.0))
    course.values |= {"pot": 97.5, "head": 96.5}
    course.go(900)
    course.go(1500, pot=-0.14, head=-1.8)  # still above where its charge began to boil
    assert course.values["pot"] > 93.0
    assert course.values["head"] < 55.0
    course.go(900, pot=-0.14, head=-0.5)
    assert course.raised("head_stays_cold") == []
