"""Buckets are aligned, whole, and as narrow as their number allows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.store.grid import Grid

DAY_S = 86_400
SLOT = 1_767_225_600


@pytest.mark.parametrize(
    ("seconds", "buckets", "step_s", "bucket_s"),
    [
        (600, 1000, 1, 1),
        (600, 60, 10, 20),  # 61 buckets of 10 s would be touched
        (9_000, 1000, 1, 10),
        (43_200, 1000, 10, 50),
        (7 * DAY_S, 1000, 600, 1200),
        (3 * DAY_S, 1000, 60, 300),
        (30 * DAY_S, 1000, 600, 3000),
        (365 * DAY_S, 1000, 600, 31_800),
    ],
)
def test_widths_snap_to_the_summaries(seconds, buckets, step_s, bucket_s):
    grid = Grid.over(SLOT + 7, SLOT + 7 + seconds, buckets)
    assert (grid.step_s, grid.bucket_s) == (step_s, bucket_s)


@given(
    st.integers(0, 1 << 32), st.integers(1, 400 * DAY_S), st.integers(2, 10_000), st.integers(0, 99)
)
def test_any_range_is_covered_by_few_enough_whole_buckets(begin, seconds, buckets, at):
    end = begin + seconds
    grid = Grid.over(begin, end, buckets)
    assert 1 <= grid.buckets <= buckets
    assert grid.bucket_s % grid.step_s == 0
    assert grid.first_slot % grid.bucket_s == 0
    assert grid.first_slot <= begin < grid.first_slot + grid.bucket_s
    assert grid.end_slot - grid.bucket_s < end <= grid.end_slot
    entry = at * grid.entries // 100
    assert grid.entry(grid.slot(entry)) == entry


@given(st.integers(0, 5000), st.integers(1, 5000), st.integers(0, 9000), st.integers(0, 9000))
def test_a_grid_within_a_range_keeps_the_buckets_that_touch_it(begin, seconds, low, high):
    grid = Grid.over(begin, begin + seconds, 20)
    kept = grid.within(low, high)
    starts = range(grid.first_slot, grid.end_slot, grid.bucket_s)
    touching = [start for start in starts if start < high and start + grid.bucket_s > low]
    assert kept.buckets == (len(touching) if low < high else 0)
    if kept.buckets:
        assert kept.first_slot == touching[0]
