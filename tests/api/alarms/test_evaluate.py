"""What the rules make of readings: rare, in time, and never of a bad reading."""

from dataclasses import replace

import pytest
from still_course import Course, ground_of

from api.alarms.evaluate import Condition, Evaluation
from api.alarms.ground import Charge, Moment, Spot
from api.alarms.model import Process, Trigger
from api.alarms.rules import Limits, Side
from api.alarms.shipped import SHIPPED

DAY_S = 86_400


def test_parked_on_its_limit_for_a_day_an_alarm_sounds_once():
    course = Course(noise=0.05).boil()
    judge = course.evaluation.judges[("coolant_out_hot", "c")]
    bare, over, found = 0, False, []
    for slot in range(course.slot, course.slot + DAY_S):
        judge.sight.outlet = course.read(70.0)
        bare += judge.sight.outlet > 70.0 and not over
        over = judge.sight.outlet > 70.0
        judge.see(slot, found)
    assert bare > 10_000  # what a bare comparison would have sounded
    assert [one.what for one in found if one.key == judge.key] == [Trigger.RAISE]


@pytest.mark.parametrize("rule", ["coolant_out_hot", "spout_hot", "coolant_surge", "coolant_jump"])
def test_two_bad_readings_in_a_row_cause_none(rule):
    course = Course().boil()
    before = len(course.raised())
    for place in ("coolant_out", "spout", "head"):
        for wild in (127.0, 99.0, 0.0):
            course.step(**{place: wild})
            course.step(**{place: wild})
            course.go(40)
    assert course.raised()[before:] == []
    assert course.raised(rule) == []


def test_what_weighs_at_a_place_is_not_taken_for_its_temperature():
    """A scale under the spout, and a barometer that somebody hung in the room."""
    plain = ground_of()
    beside = (Spot("scale", "spout", "still", "mass_kg"), Spot("air", "room", None, "pressure_hpa"))
    course = Course(Evaluation(replace(plain, spots=(*plain.spots, *beside)), SHIPPED))
    course.values |= {"scale": 90.0, "air": 1013.0}
    course.boil()
    before = len(course.raised())
    course.go(1200, scale=0.3)  # and no line is called frozen because jars grow heavier
    assert course.raised()[before:] == course.raised("spout_hot") == []
    assert course.evaluation.vessels["still"].room == pytest.approx(20.0, abs=1.0)
    course.values["spout"] = 60.0
    course.go(60)
    assert course.raised("spout_hot")


@pytest.mark.parametrize("period", [1, 2, 10])
def test_two_bad_readings_in_a_row_cause_none_at_any_cadence(period):
    course = Course(period=1).boil()
    course.period = period
    course.go(300)
    before = len(course.raised())
    course.step(coolant_out=95.0, spout=95.0)
    course.step(coolant_out=95.0, spout=95.0)
    course.go(300)
    assert course.raised()[before:] == []


def test_a_run_that_ends_spent_is_no_heat_lost_and_one_that_is_not_is():
    spent = Course(seed=4).boil()
    spent.values["pot"] = 98.5
    spent.go(600)
    spent.go(600, pot=-0.2, head=-2.0, coolant_out=-2.0)
    assert spent.raised("heat_lost") == []
    lost = Course(seed=4).boil()
    began = lost.slot
    lost.go(300, pot=-0.1, head=-1.0)
    [(_, at)] = lost.raised("heat_lost")
    assert at - began < 120


def test_the_alarms_of_a_hot_still_need_nobody_to_have_pressed_start():
    course = Course(stage=None).boil()
    assert course.evaluation.vessels["still"].stage == "run"
    course.values["coolant_out"] = 80.0
    course.go(60)
    assert course.raised("coolant_out_hot")


def test_what_the_record_does_not_tell_is_not_known_and_what_it_tells_is_judged():
    course = Course(heat_source="element", element_cover_l=20.0).boil()
    assert course.raised("element_near") == []
    assert not course.evaluation.judges[("element_near", "still")].known
    course.evaluation.know("still", Charge(volume_l=100.0, collected_l=77.0))
    course.go(60)
    assert course.raised("element_near")
    strong = Course()
    strong.evaluation.know("still", Charge(abv=55.0, fill_fraction=0.65, kind_of_wash="grain"))
    strong.values["pot"] = 35.0
    strong.go(60)
    assert {rule for rule, _ in strong.raised()} >= {"charge_too_strong", "fill_too_high"}
    clear = Course()
    clear.evaluation.know("still", Charge(abv=9.0, fill_fraction=0.65, kind_of_wash="sugar"))
    clear.values["pot"] = 35.0
    clear.go(60)
    assert clear.raised("fill_too_high") == []
    spirit = Course(stage="spirit")
    spirit.evaluation.know("still", Charge(abv=28.0, fill_fraction=0.8, kind_of_wash="grain"))
    spirit.values["pot"] = 35.0
    spirit.go(60)
    assert spirit.raised("fill_too_high") == []  # low wines foam little, whatever the wash was
    spirit.evaluation.know("still", Charge(abv=28.0, fill_fraction=0.88, kind_of_wash="grain"))
    spirit.go(60)
    assert spirit.raised("fill_too_high")


def test_a_receiver_that_was_changed_is_full_no_more():
    course = Course().boil()
    course.evaluation.know("still", Charge(receiver_fraction=0.95))
    course.go(2)
    assert course.raised("receiver_nearly_full")
    course.evaluation.know("still", Charge())
    course.go(2)
    judge = course.evaluation.judges[("receiver_nearly_full", "still")]
    assert judge.state.process is Process.RETURNED


def test_a_cloudy_spout_is_a_boil_over_and_so_is_a_head_that_surges_too_soon():
    course = Course().boil()
    course.evaluation.vessels["still"].cloudy_slot = course.slot
    course.go(10)
    assert course.raised("boil_over")
    early = Course()
    early.values["pot"] = 55.0
    early.go(400, pot=1.0)
    early.values["head"] = 58.0
    early.go(20)
    assert early.raised("boil_over")


def test_a_remote_tap_does_not_reset_the_watch_on_a_hot_still_and_the_chirp_comes_first():
    course = Course().boil()
    sight = course.evaluation.vessels["still"]
    sight.touched_slot = course.slot
    course.go(14 * 60)
    assert course.raised("unattended_soon")
    assert course.raised("unattended") == []
    course.go(2 * 60)
    assert course.raised("unattended")
    sight.touched_slot = course.slot
    course.evaluation.set_limits("unattended", Limits(6.0, 0.0, 0, 0))
    before = len(course.raised("unattended_soon"))
    course.go(5 * 60)
    assert len(course.raised("unattended_soon")) == before + 1  # it comes first, whatever is set
    assert len(course.raised("unattended")) == 1


@pytest.mark.parametrize("side", [Side.ABOVE, Side.BELOW])
def test_a_condition_waits_for_time_and_for_three_readings(side):
    sign = 1.0 if side is Side.ABOVE else -1.0
    condition = Condition(Limits(10.0 * sign, 1.0, 3, 5), side)
    at = {10: [condition.see(slot, 11.0 * sign, 10.0 * sign) for slot in (0, 10, 20)]}
    assert at[10] == [False, False, True]
    assert not condition.see(30, 9.5 * sign, 10.0 * sign)  # within the deadband
    assert [condition.see(s, 8.0 * sign, 10.0 * sign) for s in (40, 41, 42)] == [False] * 3
    assert condition.see(45, 8.0 * sign, 10.0 * sign)


def test_a_stage_that_ends_does_not_hush_what_nobody_has_seen():
    evaluation = Evaluation(ground_of("ferment_only"), SHIPPED)
    course = Course(evaluation, stage=None)
    course.values["pot"] = 20.0
    course.go(5)
    key = ("coolant_out_hot", "c")
    assert course.evaluation.judges[key].state.suppressed
    course = Course().boil()
    course.values["coolant_out"] = 80.0
    course.go(30)
    course.evaluation.lay(ground_of("age"))
    course.values |= {"pot": 30.0, "head": 25.0}
    course.go(400)
    assert course.evaluation.judges[key].state.process is Process.RETURNED
    course.evaluation.turn(key, Trigger.ACKNOWLEDGE, course.slot)
    course.go(2)
    assert course.evaluation.judges[key].state.suppressed


def test_a_scan_without_the_still_raises_nothing_of_it():
    evaluation = Evaluation(ground_of(), SHIPPED)
    assert evaluation.see(Moment(1, 1, {})) == []


def test_an_alarm_whose_measure_fails_is_not_known_and_the_good_ones_go_on(monkeypatch, caplog):
    course = Course().boil()
    broken = course.evaluation.judges[("spout_hot", "c")]
    monkeypatch.setattr(broken, "measure", None)
    course.values |= {"spout": 60.0, "coolant_out": 80.0}
    course.go(30)
    assert course.raised("coolant_out_hot")
    assert not broken.known
    assert len(caplog.records) == 1


def test_a_head_that_cools_slowly_over_a_pot_that_warms_is_no_lost_heat():
    course = Course(seed=6).boil()
    course.go(900, pot=0.03, head=-0.15)  # a column that settles
    assert course.raised("heat_lost") == []
    course.go(300, pot=-0.15, head=-1.0)
    assert course.raised("heat_lost")
