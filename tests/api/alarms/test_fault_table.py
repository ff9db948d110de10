"""Each fault of the plant raises its alarm in time, and a clean batch stays quiet.

A small table on runs drawn by seeds that nothing was fitted to; tests/bench/alarm_faults.py has the
large one.
"""

import pytest

from tests.api.alarms.fault_runs import FAULTS, befall, boiling, clean
from tests.api.alarms.fault_scenes import (
    boils_over,
    ferment_wrapped,
    stays_as_it_was,
    water_forgotten,
    water_off_too_soon,
)

SEED = 71_003


@pytest.mark.parametrize("kind", ["strip", "spirit"])
def test_faults_of_a_still_that_boils_are_told_in_time(kind):
    at_boil = boiling(kind, SEED)
    assert at_boil is not None
    found = [one for fault in FAULTS if (one := befall(at_boil, fault, kind))]
    assert [one for one in found if one.missed or one.false] == []
    assert len(found) >= 8


@pytest.mark.parametrize(
    "scene", [water_forgotten, boils_over, water_off_too_soon, stays_as_it_was]
)
def test_faults_of_a_still_at_other_times_are_told_in_time(scene):
    found = next(one for seed in range(SEED, SEED + 20) if (one := scene("strip", seed)))
    assert not found.missed, found


def test_a_ferment_that_grows_too_hot_is_told_in_time():
    found = next(
        one for seed in range(SEED, SEED + 20) if (one := ferment_wrapped("ferment", seed))
    )
    assert not found.missed, found


@pytest.mark.parametrize("kind", ["mash", "strip"])
def test_clean_runs_raise_at_most_one_alarm_above_low(kind):
    assert len(clean(kind, SEED)) <= 1
