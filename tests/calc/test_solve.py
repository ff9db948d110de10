"""Bracketed roots, of one value and of many."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.solve import root


@given(st.floats(-100, 100))
def test_cube_root(value):
    found = root(lambda x: x**3 - value, -5.0, 5.0)
    assert found == pytest.approx(np.cbrt(value), abs=1e-13 if abs(value) > 1 else 1e-4)
    assert isinstance(found, float)


@given(st.lists(st.floats(0.001, 1000), min_size=1, max_size=20))
def test_many_at_once_as_one_by_one(values):
    wanted = np.array(values)
    found = root(lambda x: np.exp(x) - wanted, -10.0, 10.0)
    assert found == pytest.approx(np.log(wanted), abs=1e-12)
    alone = [root(lambda x, v=v: np.exp(x) - v, -10.0, 10.0) for v in values]
    assert found == pytest.approx(alone, abs=1e-12)


def test_a_root_at_a_bound_is_a_root():
    assert root(lambda x: x - 2.0, 2.0, 5.0) == 2.0
    assert root(lambda x: x - 5.0, 2.0, 5.0) == 5.0


def test_falling_functions_and_several_brackets():
    found = root(lambda x: 1.0 - x * np.array([1.0, 2.0, 4.0]), np.zeros(3), np.full(3, 3.0))
    assert found == pytest.approx([1.0, 0.5, 0.25], abs=1e-14)


def test_no_change_of_sign_is_no_root():
    assert np.isnan(root(lambda x: x * x + 1.0, -1.0, 1.0))
    mixed = root(lambda x: x - np.array([0.5, 7.0]), 0.0, 1.0)
    assert mixed[0] == pytest.approx(0.5)
    assert np.isnan(mixed[1])


def test_few_looks_are_enough():
    looks = 0

    def counted(x):
        nonlocal looks
        looks += 1
        return np.exp(x) - 2.0

    assert root(counted, 0.0, 1.0) == pytest.approx(np.log(2.0), abs=1e-14)
    assert looks < 15
