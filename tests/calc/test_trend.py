"""The slope of a reading: true to time, blind to single bad readings, silent where it must be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.errors import OutOfRangeError
from calc.trend import slope_per_minute, slopes_per_minute

SECOND = np.arange(0.0, 61.0)


def noisy(seconds, seed, slope_k_min=0.0, from_s=0.0):
    """A probe's readings: white noise of 0.05 K on steps of 1/16, a ramp from some time on."""
    rng = np.random.default_rng(seed)
    true = 78.3 + slope_k_min / 60.0 * np.clip(seconds - from_s, 0.0, None)
    return np.round((true + rng.normal(0.0, 0.05, seconds.size)) * 16) / 16


@given(
    st.lists(st.floats(0.5, 20.0), min_size=6, max_size=40),
    st.floats(-30.0, 30.0),
    st.floats(-5.0, 120.0),
)
def test_a_straight_line_has_its_slope_however_uneven_the_times(gaps, slope, level):
    times = np.cumsum(gaps)
    values = level + slope / 60.0 * times
    window = times[-1] - times[0] + 1.0
    assert slope_per_minute(times, values, window) == pytest.approx(slope, abs=1e-7)


# numpy's own least-squares line, where no median has anything to mend.
@given(st.floats(0.1, 3.0))
def test_agrees_with_the_general_least_squares_line(bend):
    values = 20.0 + 0.01 * SECOND + bend * (SECOND / 60.0) ** 2  # monotone: medians change nothing
    expected = np.polyfit(SECOND[1:-1], values[1:-1], 1)[0] * 60.0
    assert slope_per_minute(SECOND, values, 60.0) == pytest.approx(expected, rel=1e-9)


def test_only_the_window_counts():
    values = np.where(SECOND < 30, 5.0 * SECOND, 150.0 + 0.1 * (SECOND - 30))
    assert slope_per_minute(SECOND, values, 30.0) == pytest.approx(6.0)


@pytest.mark.parametrize("at", range(1, 60))
def test_one_wild_reading_leaves_hardly_a_mark(at):
    values = 20.0 + SECOND / 60.0
    values[at] = 85.0
    assert slope_per_minute(SECOND, values, 60.0) == pytest.approx(1.0, abs=0.02)


def test_refused_readings_are_left_out_not_taken_for_numbers():
    values = 20.0 + SECOND / 60.0
    values[10:40] = np.nan
    assert slope_per_minute(SECOND, values, 60.0) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(
    ("times", "values"),
    [
        ([], []),
        ([0.0], [20.0]),
        ([0.0, 20.0, 40.0, 60.0], [20.0, 21.0, 22.0, 23.0]),  # four are too few
        (SECOND, np.full(61, np.nan)),
        (SECOND[:20], SECOND[:20]),  # they span a third of the window
    ],
)
def test_too_few_good_readings_tell_nothing(times, values):
    assert slope_per_minute(times, values, 60.0) is None


def test_an_old_trend_is_not_a_live_one():
    values = 20.0 + SECOND / 60.0
    assert slope_per_minute(SECOND, values, 60.0, now_s=70.0) == pytest.approx(1.0)
    assert slope_per_minute(SECOND, values, 60.0, now_s=100.0) is None


def test_readings_after_now_do_not_count():
    values = np.where(SECOND > 40, 100.0, 20.0)
    assert slope_per_minute(SECOND, values, 30.0, now_s=40.0) == 0.0


# Simulated figures of the alarm notes: head 0.3 K/min caught by 0.15 K/min over 120 s, no false
# alarm, delay p50 61 s and p95 70 s.
def test_a_quiet_probe_never_trips_the_limit_of_the_head():
    times = np.arange(0.0, 6 * 3600.0)
    values = noisy(times, seed=4)
    tripped = [
        end
        for end in range(120, times.size, 5)
        if abs(slope_per_minute(times[end - 120 : end + 1], values[end - 120 : end + 1], 120.0))
        > 0.15
    ]
    assert tripped == []


def test_a_climbing_head_is_caught_in_the_time_that_was_simulated():
    times = np.arange(0.0, 400.0)
    delays = []
    for seed in range(40):
        values = noisy(times, seed, slope_k_min=0.3, from_s=150.0)
        delays.append(
            next(
                end - 150
                for end in range(150, times.size)
                if slope_per_minute(times[: end + 1], values[: end + 1], 120.0) > 0.15
            )
        )
    assert np.percentile(delays, 50) == pytest.approx(61, abs=4)
    assert np.percentile(delays, 95) <= 75


@pytest.mark.parametrize(
    ("times", "values", "options", "part"),
    [
        ([0, 1, 2], [1, 2], {}, "one reading for each time"),
        ([0, 2, 1, 3, 4], [1, 2, 3, 4, 5], {}, "must rise"),
        ([0, 1, 1, 3, 4], [1, 2, 3, 4, 5], {}, "must rise"),
        ([0, 1, 2, 3, np.nan], [1, 2, 3, 4, 5], {}, "must rise"),
        ([0, 1, 2, 3, 4], [1, 2, 3, 4, 5], {"window_s": 0.0}, "above 0 s"),
        ([0, 1, 2, 3, 4], [1, 2, 3, 4, 5], {"window_s": np.inf}, "above 0 s"),
        ([0, 1, 2, 3, 4], [1, 2, 3, 4, 5], {"fewest": 3}, "it needs 4"),
    ],
)
def test_what_makes_no_trend_is_refused(times, values, options, part):
    with pytest.raises(OutOfRangeError, match=part):
        slope_per_minute(times, values, **{"window_s": 60.0} | options)


def test_all_slopes_at_once_are_the_slopes_one_by_one():
    random = np.random.default_rng(7)
    steps = random.choice([1.0, 2.0, 10.0, 60.0, 3600.0], size=400, p=[0.4, 0.3, 0.2, 0.09, 0.01])
    times = np.cumsum(steps)
    values = np.cumsum(random.normal(0.0, 0.2, size=times.size)) + 60.0
    all_at_once = slopes_per_minute(times, values, 45.0)
    for place in range(times.size):
        alone = slope_per_minute(times[: place + 1], values[: place + 1], 45.0)
        if alone is None:
            assert np.isnan(all_at_once[place])
        else:
            assert all_at_once[place] == pytest.approx(alone, rel=1e-6, abs=1e-6)
