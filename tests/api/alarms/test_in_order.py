"""Rows of a trace that are out of order cost only themselves."""

from itertools import combinations, pairwise
from random import Random

import pytest

from api.alarms.in_order import AFTER, BEFORE, SAME, out_of_order


def told(*times):
    return out_of_order(enumerate(times, 1))


@pytest.mark.parametrize(
    ("times", "left_out"),
    [
        ((), {}),
        ((1, 2, 3), {}),
        ((1, 2, 90, 91, 92, 3, 4, 5, 6), {3: AFTER, 4: AFTER, 5: AFTER}),
        ((1, 90, 2, 80, 3, 70, 4, 5), {2: AFTER, 4: AFTER, 6: AFTER}),
        ((10, 11, 1, 2, 12, 13), {3: BEFORE, 4: BEFORE}),
        ((1, 2, 2, 2, 3), {3: SAME, 4: SAME}),
        ((90, 1, 2, 3), {1: AFTER}),
        ((5, 4, 3), {2: BEFORE, 3: BEFORE}),  # all reversed: the first stays
    ],
)
def test_a_row_out_of_order_is_left_out_and_no_other(times, left_out):
    assert told(*times) == left_out


def test_no_fewer_rows_than_must_are_left_out():
    dice = Random(8)
    for _ in range(60):
        times = [dice.randrange(9) for _ in range(dice.randrange(2, 9))]
        out = told(*times)
        kept = [time for line, time in enumerate(times, 1) if line not in out]
        assert all(a < b for a, b in pairwise(kept)), times
        most = max(
            size
            for size in range(1, len(times) + 1)
            for some in combinations(times, size)
            if all(a < b for a, b in pairwise(some))
        )
        assert len(kept) == most, times
