"""What the rules make of mashes and ferments."""

import pytest
from still_course import Course

from api.alarms.evaluate import Evaluation
from api.alarms.ground import Ground, PlannedRest, Spot, VesselGround
from api.alarms.reports import MASH_COOKED, take_report
from api.alarms.rules import Limits
from api.alarms.shipped import SHIPPED
from api.alarms.yeasts import maximum_c


def test_a_mash_in_the_pot_covers_them_for_a_time_and_not_above_eighty():
    course = Course(stage="mash", since_slot=1000)
    course.values |= {"pot": 65.0, "coolant_in": 20.0, "coolant_out": 20.0}
    course.go(900)
    assert [rule for rule, _ in course.raised() if rule != "mash_rest_reached"] == []
    short = Course(stage="mash", since_slot=1000)
    short.evaluation.set_limits("open_mash_long", Limits(30.0, 0.0, 0, 0))
    short.values |= {"pot": 65.0, "coolant_in": 20.0, "coolant_out": 20.0}
    short.go(1900)
    assert short.raised("water_not_proven")  # covered no longer than the rule says
    course.go(600, pot=2.0)
    assert course.raised("water_not_proven")


def test_a_mash_that_somebody_says_is_being_cooked_is_covered_until_vapour_comes():
    course = Course(stage="mash", since_slot=1000)
    course.values |= {"pot": 65.0, "coolant_in": 20.0, "coolant_out": 20.0}
    course.go(60)
    take_report(course.evaluation.vessels["still"], MASH_COOKED, course.slot)
    course.values["pot"] = 90.0
    course.go(300)
    assert course.evaluation.vessels["still"].stage == "mash"
    assert course.raised() == []
    course.values["head"] = 88.0  # the lid is on, and it is distilled
    course.go(120)
    assert course.evaluation.vessels["still"].stage == "run"
    assert course.raised("no_outlet_rise")


def test_what_was_said_of_an_earlier_mash_covers_no_later_one():
    course = Course(stage="mash", since_slot=2000)
    course.slot = 2100
    take_report(course.evaluation.vessels["still"], MASH_COOKED, 1900)
    course.values["pot"] = 90.0
    course.go(30)
    assert course.evaluation.vessels["still"].stage == "run"


def mash_of(rest, place="mash"):
    vessel = VesselGround("m", "mash tun", "mash_tun", stage="mash", run_id="m")
    course = Course(Evaluation(Ground((Spot(place, place, "m"),), (vessel,)), SHIPPED), period=10)
    course.values = {place: 58.0}
    course.evaluation.vessels["m"].rest = rest
    return course


def test_a_rest_that_is_written_down_is_judged_by_its_own_range_and_minutes():
    course = mash_of(PlannedRest(62.0, 67.0, 40.0, from_slot=1000))
    course.go(15 * 60, mash=0.3)  # 58 to 62.5 °C: on its way
    assert course.raised() == []
    course.go(15 * 60, mash=0.2)  # to 65.5 °C, all within the plan
    assert course.raised() == []
    course.go(5 * 60, mash=0.5)
    [(rule, _)] = course.raised()
    assert rule == "mash_off_rest"
    course.go(8 * 60)
    [(_, at)] = course.raised("mash_rest_reached")
    assert at - 1000 in range(2400, 2430)
    assert not course.evaluation.judges[("mash_off_rest", "m")].state.sounds  # its time is over


def test_a_rest_that_has_ended_is_judged_no_more():
    course = mash_of(PlannedRest(62.0, 67.0, None, from_slot=1000, to_slot=1600))
    course.values["mash"] = 64.0
    course.go(700)
    course.go(3600, mash=-0.4)
    assert course.raised() == []


def test_a_ferment_that_warms_fast_is_noted_and_told_two_hours_before_its_yeasts_maximum():
    vessel = VesselGround("f", "fermenter 1", "fermenter", stage="ferment")
    ground = Ground((Spot("ferment", "ferment", "f"),), (vessel,))
    course = Course(Evaluation(ground, SHIPPED), period=10)
    course.values = {"ferment": 26.0}
    course.go(3 * 3600)
    assert course.changes == []
    began = course.slot
    course.go(5 * 3600, ferment=1.6 / 60)  # 26 to 34 °C
    noted = [one for one in course.changes if one.what == "noted"]
    assert [one.key.rule for one in noted] == ["ferment_rising"]
    [(_, at)] = course.raised("ferment_reaching_maximum")
    reaches = began + (35.0 - 26.0) / 1.6 * 3600
    assert reaches - at > 5400  # the slope's hour and the delay cost less than half an hour of it
    [(_, hot_at)] = course.raised("ferment_too_hot")
    assert at < hot_at < reaches - 1800  # in time to cool


@pytest.mark.parametrize(
    ("yeast", "as_set", "calls_at"),
    [
        (None, None, 33.0),
        ("Our own strain", None, 33.0),  # tells nothing
        ("Spirit yeast, dry", None, 36.0),
        ("heat-tolerant", None, 40.0),
        ("ordinary or spirit", None, 33.0),
        ("heat-tolerant", 34.0, 34.0),  # what an owner has set stands
    ],
)
def test_a_ferment_is_judged_by_what_the_yeast_that_is_named_stands(yeast, as_set, calls_at):
    vessel = VesselGround("f", "fermenter 1", "fermenter", stage="ferment")
    course = Course(Evaluation(Ground((Spot("ferment", "ferment", "f"),), (vessel,)), SHIPPED))
    course.period = 10
    course.evaluation.vessels["f"].yeast_maximum_c = maximum_c(yeast)
    if as_set is not None:
        course.evaluation.set_limits("ferment_too_hot", Limits(as_set, 0.5, 600, 600))
    course.values = {"ferment": calls_at - 0.6}
    course.go(900)
    assert course.raised("ferment_too_hot") == []
    course.values = {"ferment": calls_at + 0.3}
    course.go(1800)
    assert course.raised("ferment_too_hot")
    ahead = course.evaluation.judges[("ferment_reaching_maximum", "f")]
    assert ahead.limit == (maximum_c(yeast) or 35.0)


def test_a_fall_at_night_of_ferment_and_room_alike_is_no_alarm():
    vessel = VesselGround("f", "fermenter 1", "fermenter", stage="ferment")
    ground = Ground((Spot("ferment", "ferment", "f"), Spot("room", "room")), (vessel,))
    course = Course(Evaluation(ground, SHIPPED), period=10)
    course.values = {"ferment": 27.0, "room": 22.0}
    course.go(6 * 3600, ferment=-0.5 / 60, room=-1.5 / 60)
    assert course.raised() == []
