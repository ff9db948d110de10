"""Slopes, rises and levels: by time, robust, exact, and the same however long they run."""

from random import Random

import numpy as np
import pytest

from api.alarms.detectors import Level, Median, Rise, Slope, delay_s, stretched_s


@pytest.mark.parametrize("seed", range(5))
def test_running_sums_give_the_least_squares_slope_of_the_medians(seed):
    dice = Random(seed)
    slope, median, kept, slot = Slope(60), Median(), [], 1_790_000_000
    for _ in range(3000):
        slot += dice.choice((1, 1, 1, 2, 5))
        value = round(dice.uniform(18, 22) * 16) / 16
        found = slope.see(slot, 1, value)
        if (middle := median.see(slot, value)) is not None:
            kept.append(middle)
        inside = [(t, v) for t, v in kept if t >= slot - 60]
        if found is not None:
            t = np.array([t for t, _ in inside], float)
            v = np.array([v for _, v in inside], float) / 10_000
            assert found == pytest.approx(np.polyfit(t - t[0], v, 1)[0], abs=1e-9)
    assert kept


def test_a_slope_counts_time_and_not_samples():
    for period in (1, 2, 10):
        slope = Slope(120)
        found = [slope.see(slot, period, 20 + 0.01 * slot) for slot in range(0, 600, period)]
        assert found[-1] == pytest.approx(0.01, rel=1e-3)


def test_two_bad_readings_in_a_row_do_not_move_a_slope():
    slope = Slope(20)
    for slot in range(100):
        value = 99.0 if slot in {50, 51} else 20.0
        found = slope.see(slot, 1, value)
        assert found is None or abs(found) < 1e-9


def test_a_long_gap_is_forgotten():
    slope = Slope(20)
    for slot in range(60):
        slope.see(slot, 1, 20.0)
    assert slope.see(4000, 1, 90.0) is None


def test_a_window_exceeds_two_cycles_of_the_heats_control():
    slope = Slope(6, control_cycle_s=12.0)
    times = [slot for slot in range(40) if slope.see(slot, 1, 20.0) is not None]
    assert times[0] > 12


def test_a_slow_cadence_stretches_the_window_and_says_what_it_costs():
    assert stretched_s(20, 1) == 20
    assert stretched_s(20, 10) == 50
    assert delay_s(20, 0, 1) == 12
    assert delay_s(20, 0, 10) == 45


def test_a_rise_is_above_the_lowest_of_its_window():
    rise = Rise(30)
    found = [rise.see(slot, 1, 20.0 if slot < 60 else 24.0) for slot in range(80)]
    assert found[59] == 0.0
    assert found[70] == 4.0


def test_a_level_is_of_some_time_ago_and_can_be_held():
    level = Level(600, 120)
    for slot in range(700):
        found = level.see(slot, 20.0)
    assert found == pytest.approx(20.0)
    for slot in range(700, 2000):
        found = level.see(slot, 30.0, held=True)
    assert found == pytest.approx(20.0)
