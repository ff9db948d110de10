"""Minutes in range are counted from readings; gaps are not. Exact sums, by hand."""

import pytest

from api.record.rests import Sample, held


def samples(*pairs):
    return [Sample(at_s, value) for at_s, value in pairs]


def test_minutes_are_counted_below_in_and_above():
    every_10_s = samples(*[(10.0 * n, 60.0 + n / 6.0) for n in range(60)])  # one kelvin a minute
    found = held(every_10_s, 62.0, 66.0, 600.0)
    assert found.below_min == pytest.approx(2.0)
    assert found.in_range_min == pytest.approx(4.0, abs=0.17)  # 66.0 itself is in the range
    assert found.above_min == pytest.approx(4.0, abs=0.17)
    assert found.unknown_min == 0.0
    assert (found.lowest_c, found.highest_c) == (60.0, 60.0 + 59 / 6.0)


def test_a_gap_counts_for_nothing():
    found = held(samples((0, 64.0), (10, 64.0), (600, 64.0)), 62.0, 66.0, 610.0)
    assert found.in_range_min == pytest.approx(20 / 60)
    assert found.unknown_min == pytest.approx(590 / 60)


def test_refused_readings_are_bridged_only_for_a_moment():
    short = held(samples((0, 64.0), (10, None), (20, 64.0)), 62.0, 66.0, 30.0)
    assert short.in_range_min == pytest.approx(0.5)
    long = held(samples((0, 64.0), *[(10 * n, None) for n in range(1, 9)], (90, 64.0)), 62, 66, 100)
    assert long.unknown_min == pytest.approx(1.5)


def test_without_a_good_reading_all_is_unknown():
    found = held(samples((0, None), (10, None)), 62.0, 66.0, 60.0)
    assert (found.in_range_min, found.unknown_min) == (0.0, 1.0)
    assert found.lowest_c is None
    assert held([], 62.0, 66.0, 60.0).unknown_min == 0.0


def test_a_slow_cadence_is_not_a_gap():
    found = held(samples((0, 64.0), (30, 64.0), (60, 64.0)), 62.0, 66.0, 90.0)
    assert found.in_range_min == pytest.approx(1.5)
