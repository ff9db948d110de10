"""A ferment that never begins, begins late, or had begun before its yeast was written down.

Truth is the logistic ferment of `test_ferment_estimator`, its yeast asleep for some hours first or
for good.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from api.estimates.estimator import Step
from api.estimates.ferment import words
from api.estimates.ferment.beginning import NEVER, overdue
from api.estimates.ferment.estimator import FermentEstimator
from api.estimates.ground import FermentGround, GravityReading, Measured, ProbeGround

BEGINS = 1_800_000_000
LITRES, KJ_L, LOSS_W_K, KJ_K = 120.0, 83.0, 6.0, 520.0
MIDDLE_H, WIDTH_H = 22.0, 4.5
NEVER_H = 1000.0
CALLED = 80.0  # %, where the shipped rule calls
GROUND = FermentGround(
    run_id="ferment", from_slot=BEGINS, vessel_volume_l=160.0, material="stainless-steel",
    volume_l=LITRES, pitched_slot=BEGINS, original_sg=Measured(1.066, 0.001),
    kind_of_wash="sugar", on_grain=False,
)  # fmt: skip
PROBES = {place: ProbeGround(calibrated=True, error_c=0.1) for place in ("ferment", "room")}


def share(hour, asleep_h=0.0):
    """Give the share fermented."""
    middle, first = np.exp((asleep_h + MIDDLE_H - hour) / WIDTH_H), np.exp(MIDDLE_H / WIDTH_H)
    return max(0.0, (1.0 / (1.0 + middle) - 1.0 / (1.0 + first)) * (1.0 + 1.0 / first))


@cache
def steps(to_h, asleep_h=0.0, start_c=24.0, poured_h=None, cooled_to_c=None):
    """Give a minute's steps; poured: four kelvins warmer at once; cooled: by 8 K in an hour."""
    noise, wash_c, made = np.random.default_rng(3), start_c, []
    for i in range(int(to_h * 60)):
        hour = i / 60
        room_c = 19.0 + 1.5 * np.sin(hour * 2 * np.pi / 24)
        shown = round((wash_c + 0.02 * noise.standard_normal()) * 16) / 16
        made.append(Step(BEGINS + 60 * (i + 1), {"ferment": shown, "room": room_c}))
        gained = (share(hour + 1 / 60, asleep_h) - share(hour, asleep_h)) * LITRES * KJ_L
        wash_c += (gained - LOSS_W_K * (wash_c - room_c) * 0.06) / KJ_K
        if poured_h is not None and i == poured_h * 60:
            wash_c += 4.0
        if cooled_to_c is not None and hour < 6.0 and wash_c > cooled_to_c:
            wash_c = max(wash_c - 8 / 60, cooled_to_c)
    return made


def told(to_h, ground=GROUND, **course):
    estimator = FermentEstimator()
    estimator.know(ground, PROBES)
    estimator.see(steps(to_h, **course))
    return {one.quantity: one for one in estimator.tell()}


def pitched(late_h):
    return replace(GROUND, pitched_slot=BEGINS + late_h * 3600)


SAME = GravityReading(BEGINS + 30 * 3600, Measured(1.066, 0.001))


@pytest.mark.parametrize(
    ("ground", "start_c", "hour"),
    [
        (GROUND, 24.0, 37),
        (GROUND, 20.0, 37),
        (replace(GROUND, gravities=(SAME,)), 24.0, 37),
        (replace(GROUND, pitched_slot=None), 24.0, 60),  # less is known of it
    ],
)
def test_what_never_begins_has_no_peak_and_no_end_and_is_called(ground, start_c, hour):
    found = told(hour, ground, asleep_h=NEVER_H, start_c=start_c)
    for name in ("hours_to_peak", "hours_since_peak", "hours_to_end"):
        assert (found[name].value, found[name].why) == (None, words.NOT_BEGUN)
    stuck = found["stuck_percent"]
    assert stuck.value > CALLED
    assert words.BEGINS_SELDOM.format(washes=1.0 / NEVER) in stuck.rests_on


def test_within_a_day_it_may_yet_begin():
    found = told(20, asleep_h=NEVER_H, start_c=20.0)
    assert found["hours_to_end"].why == words.NOT_YET
    assert found["stuck_percent"].value < 50.0


def test_what_cools_far_and_never_begins_is_told_no_peak():
    """A third of it might have fermented, for what its cooling tells: nobody can be sure."""
    found = told(44, asleep_h=NEVER_H, start_c=31.0)
    assert found["fermented_percent"].low < 5.0
    assert found["hours_since_peak"].value is None
    assert found["hours_since_peak"].why in {
        words.PEAK_UNSURE, words.NOT_BEGUN, words.PEAK_AHEAD,
    }  # fmt: skip


def test_without_any_gravity_it_says_so_and_calls_nothing_stuck():
    found = told(40, replace(GROUND, original_sg=None), asleep_h=NEVER_H, start_c=20.0)
    assert found["hours_to_end"].why == found["hours_to_peak"].why == words.NOT_BEGUN
    assert (found["stuck_percent"].value, found["stuck_percent"].why) == (None, words.NO_GRAVITY)


def test_what_nobody_saw_begin_is_not_said_to_lie_there():
    before = replace(GROUND, from_slot=BEGINS - 5 * 86_400, pitched_slot=BEGINS - 4 * 86_400)
    found = told(40, before, asleep_h=NEVER_H, start_c=20.0)
    assert found["hours_to_end"].why not in {words.NOT_BEGUN, words.NOT_YET}


@pytest.mark.parametrize("asleep_h", [10.0, 20.0, 24.0])
def test_yeast_that_sleeps_for_a_day_is_never_called_stuck(asleep_h):
    estimator = FermentEstimator()
    estimator.know(GROUND, PROBES)
    whole, seen = steps(asleep_h + 20.0, asleep_h, 20.0), 0
    for hour in range(6, int(asleep_h) + 20, 2):
        estimator.see(whole[seen : hour * 60])
        seen = hour * 60
        found = {one.quantity: one for one in estimator.tell()}
        assert found["stuck_percent"].value < CALLED, hour
        assert found["hours_since_peak"].value is None
    fermented = found["fermented_percent"].value
    assert fermented == pytest.approx(100.0 * share(seen / 60, asleep_h), abs=5.0)


def test_it_is_overdue_half_a_day_after_the_longest_usual_wait():
    assert overdue(0.0) < 0.05
    assert 0.3 < overdue(24.0) < 0.5
    assert overdue(36.0) > CALLED / 100.0


@pytest.mark.parametrize("late_h", [6, 12])
def test_yeast_written_down_late_is_named_and_what_came_before_counts(late_h):
    found = told(26, pitched(late_h))["fermented_percent"]
    assert found.contradictions == (words.HEAT_BEFORE,)
    assert {words.HEAT_COUNTS} <= set(found.rests_on)
    assert words.PITCH_UNKNOWN not in found.rests_on
    assert words.CORRECT_PITCH in found.narrows
    assert found.low < 100.0 * share(26.0) < found.high


def test_it_is_named_as_soon_as_the_yeast_is_written_down():
    found = told(12, replace(GROUND, pitched_slot=BEGINS + 12 * 3600 - 900))
    assert found["hours_to_end"].contradictions == (words.HEAT_BEFORE,)


def test_late_yeast_known_afterwards_is_as_if_known_from_the_start():
    after = FermentEstimator()
    after.know(replace(GROUND, pitched_slot=None), PROBES)
    after.see(steps(26))
    after.tell()
    after.know(pitched(12), PROBES)
    assert {one.quantity: one for one in after.tell()} == told(26, pitched(12))


@pytest.mark.parametrize(
    "before",
    [
        {"start_c": 24.0},
        {"start_c": 15.0},  # the room warms it
        {"start_c": 50.0},
        {"start_c": 58.0, "cooled_to_c": 24.0},  # a coil
        {"start_c": 18.0, "poured_h": 5},  # hot water
    ],
)
def test_a_wash_that_warms_or_cools_before_its_yeast_made_no_heat(before):
    found = told(16, pitched(12), asleep_h=12.0, **before)["fermented_percent"]
    assert found.contradictions == ()
    assert words.HEAT_COUNTS not in found.rests_on
