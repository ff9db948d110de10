"""What a quantity refuses, and functions that take one value or many."""

from typing import Annotated

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.errors import OutOfRangeError, QuantityError, WormtubError
from calc.quantities import ABV, Abv, Quantity, checked, elementwise, quantity_of

LENGTH = Quantity("length_m", "Length", "m", 0, 2_000_000, 2)


@elementwise
def _doubled(length_m: Annotated[float, LENGTH]) -> float:
    return 2.0 * length_m


@given(st.floats(0, 2_000_000))
def test_values_within_pass(value):
    LENGTH.check(value, "length_m")
    assert _doubled(value) == 2 * value


@pytest.mark.parametrize("value", [-0.001, 2_000_000.5, float("nan"), float("inf")])
def test_values_beyond_are_named_with_the_limits_in_full(value):
    with pytest.raises(OutOfRangeError, match=r"must lie between 0 and 2000000 m\.$") as caught:
        LENGTH.check(value, "length_m")
    assert str(caught.value).startswith(f"Length (length_m) is {value:.10g} m; ")
    assert caught.value.quantity == "length_m"
    assert isinstance(caught.value, ValueError)
    assert isinstance(caught.value, WormtubError)


@pytest.mark.parametrize("value", ["long", object(), {"m": 1}])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(QuantityError, match=r"^Length \(length_m\) is .*; give a number in m\.$"):
        LENGTH.check(value, "length_m")


def test_one_bad_element_is_the_one_named():
    with pytest.raises(OutOfRangeError, match="is -3 m;"):
        _doubled(np.array([1.0, -3.0, 2.0]))


def test_arrays_come_back_as_arrays_and_numbers_as_floats():
    assert type(_doubled(np.float64(1.5))) is float
    assert list(_doubled(np.array([1.0, 2.0]))) == [2.0, 4.0]


def test_checked_looks_at_optional_and_many():
    @checked
    def mean(abvs: tuple[Abv, ...], spare: Abv | None = None) -> float:
        return sum(abvs) / len(abvs)

    assert mean((40.0, 60.0)) == 50.0
    with pytest.raises(OutOfRangeError, match=r"\(abvs\) is 101 % vol"):
        mean((40.0, 101.0))
    with pytest.raises(OutOfRangeError, match=r"\(spare\) is -1 % vol"):
        mean((40.0,), -1.0)


def test_a_narrower_or_renamed_quantity_keeps_the_rest():
    assert ABV.within(10, 20).called("Wash").name == "abv"
    assert (ABV.within(10, 20).low, ABV.called("Wash").high) == (10, 100)
    assert quantity_of(Abv | None) is ABV
    assert quantity_of(int) is None
