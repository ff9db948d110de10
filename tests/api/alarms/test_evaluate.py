"""What the rules make of readings: rare, in time, and never of a bad reading."""

import pytest
from still_course import Course, ground_of

from api.alarms.evaluate import Condition, Evaluation
from api.alarms.ground import (
    Charge,
    CondenserGround,
    Ground,
    Moment,
    PlannedRest,
    Spot,
    VesselGround,
)
from api.alarms.model import Process, Trigger
from api.alarms.reports import MASH_COOKED, take_report
from api.alarms.rules import Limits, Side
from api.alarms.shipped import SHIPPED
from api.alarms.yeasts import maximum_c

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


def test_the_alarms_of_a_hot_still_need_nobody_to_have_pressed_start():
    course = Course(stage=None).boil()
    assert course.evaluation.vessels["still"].stage == "run"
    course.values["coolant_out"] = 80.0
    course.go(60)
    assert course.raised("coolant_out_hot")


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


def test_an_alarm_whose_measure_fails_is_not_known_and_the_good_ones_go_on(monkeypatch, caplog):
    course = Course().boil()
    broken = course.evaluation.judges[("spout_hot", "c")]
    monkeypatch.setattr(broken, "measure", None)
    course.values |= {"spout": 60.0, "coolant_out": 80.0}
    course.go(30)
    assert course.raised("coolant_out_hot")
    assert not broken.known
    assert len(caplog.records) == 1


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
