"""The middle and the distinct: as the library's own, which they stand in for."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from calc.arrays import distinct, median

NUMBERS = st.floats(-1e6, 1e6) | st.just(np.nan)


@given(arrays(float, array_shapes(min_dims=1, max_dims=2, min_side=1), elements=NUMBERS))
def test_the_middle_is_the_librarys_to_the_last_bit(values):
    for axis in (None, -1):
        assert np.array_equal(median(values, axis), np.median(values, axis), equal_nan=True)


@pytest.mark.parametrize("values", [[], [4], [2, 2, 2], [9, 1, 9, 4, 1]])
def test_each_is_given_once_and_they_rise(values):
    found = distinct(np.array(values, dtype=int))
    assert found.tolist() == np.unique(values).tolist()
    assert found.dtype == int
