"""What the rules make of a condenser's water and of the spout."""

import pytest
from still_course import Course, ground_of

from api.alarms.evaluate import Evaluation
from api.alarms.ground import CondenserGround, Ground, Spot
from api.alarms.model import Process
from api.alarms.shipped import SHIPPED


def test_water_that_stops_with_the_probe_on_the_hose_is_told_within_a_minute():
    course = Course(seed=3).boil()
    began = course.slot
    level, inlet = course.values["coolant_out"], 12.0
    for second in range(120):
        course.values["coolant_out"] = 20.0 + (level - 20.0) * 0.5 ** (second / 104.0)
        course.values["coolant_in"] = 20.0 + (inlet - 20.0) * 0.5 ** (second / 277.0)
        course.step()
    [(_, at)] = course.raised("coolant_loss")
    assert at - began < 75


def test_water_that_stops_is_told_where_the_outlet_runs_as_warm_as_the_room():
    course = Course(seed=5).boil()
    course.values["coolant_out"] = 20.5
    course.go(1200)
    began = course.slot
    warmer = Course(seed=5).boil()  # the same inlet, and water that runs
    for second in range(180):
        drifts_k = 8.0 * (1.0 - 0.5 ** (second / 277.0))
        course.step(coolant_in=12.0 + drifts_k)
        warmer.step(coolant_in=12.0 + drifts_k, coolant_out=warmer.values["coolant_out"] + drifts_k)
    [(_, at)] = course.raised("coolant_loss")
    assert at - began < 120
    assert warmer.raised("coolant_loss") == []


def test_water_is_proven_by_an_outlet_that_follows_an_inlet_unlike_the_room():
    course = Course()
    course.go(120)
    course.values["pot"] = 55.0
    course.go(200, pot=1.0)
    assert course.raised("water_not_proven") == []  # 12 against 20 in the room
    same = Course()
    same.values |= {"coolant_in": 20.0, "coolant_out": 20.0}
    same.values["pot"] = 45.0
    same.go(600, pot=1.0)
    assert same.raised("water_not_proven")
    sight = same.evaluation.vessels["still"]
    sight.waters[0].reported()
    same.go(30)
    assert same.evaluation.judges[("water_not_proven", "c")].state.process is Process.RETURNED


@pytest.mark.parametrize(
    ("outlet", "inlet", "told"), [(48.0, 12.0, 0), (48.0, None, 0), (20.1, 19.8, 1)]
)
def test_a_still_that_boiled_before_anybody_watched_is_judged_by_its_water_as_it_is(
    outlet, inlet, told
):
    course = Course()
    course.values |= {"pot": 92.0, "head": 91.0, "coolant_out": outlet, "coolant_in": inlet}
    course.go(600)
    assert len(course.raised("no_outlet_rise")) == told


def test_vapour_without_a_rise_at_the_outlet_is_told_after_ninety_seconds():
    course = Course()
    course.values["pot"] = 80.0
    course.go(300, pot=2.0)
    course.values |= {"pot": 91.0, "head": 90.0}
    began = course.slot
    course.go(120)
    [(_, at)] = course.raised("no_outlet_rise")
    assert at - began in range(88, 96)


def refluxed(stage):
    """A still whose reflux condenser is 20 K below the vapour that has come a while ago."""
    plain = ground_of(stage)
    reflux = CondenserGround("r", "reflux condenser", "still", "reflux", "reflux_out")
    spots = (*plain.spots, Spot("reflux_out", "reflux_out", "still"))
    ground = Ground(spots, plain.vessels, (*plain.condensers, reflux))
    course = Course(Evaluation(ground, SHIPPED))
    course.values |= {"pot": 80.0, "reflux_out": 20.0}
    course.go(300, pot=2.0)
    course.values |= {"pot": 91.0, "head": 80.0}
    course.go(120, reflux_out=20.0)
    return course


@pytest.mark.parametrize(("stage", "calls"), [("strip", True), (None, False), ("spirit", False)])
def test_a_reflux_condenser_may_take_all_the_vapour_but_in_a_strip(stage, calls):
    course = refluxed(stage)
    assert bool(course.raised("no_outlet_rise")) == calls
    course.values["reflux_out"] = 78.0
    course.go(600)  # full reflux, and little water for it
    assert bool(course.raised("no_outlet_rise")) == calls


@pytest.mark.parametrize("stage", [None, "spirit"])
def test_a_reflux_condenser_as_hot_as_vapour_under_a_head_that_climbs_has_no_water(stage):
    course = refluxed(stage)
    course.values["reflux_out"] = 78.0
    began = course.slot
    course.go(90, head=0.6)
    [(_, at)] = course.raised("no_outlet_rise")
    assert at - began < 80


def test_a_worm_tub_is_judged_by_its_spout_alone():
    course = Course(kind="worm_tub").boil()
    course.values |= {"coolant_out": 85.0, "spout": 45.0}
    course.go(90)
    rules = {rule for rule, _ in course.raised()}
    assert "spout_hot" in rules
    assert not rules & {"coolant_out_warm", "coolant_out_hot"}


def test_a_spout_is_warm_by_what_the_inlet_is():
    course = Course().boil()
    course.values |= {"coolant_in": 26.0, "spout": 34.0}
    course.go(120)
    assert course.raised("spout_warm") == []  # 36 with an inlet at 26
    course.values["coolant_in"] = 15.0
    course.go(120)
    assert course.raised("spout_warm")
