"""Casks by weight and by balance of alcohol."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.ageing import angels_share, angels_share_curve, cask_by_weight, cask_loss
from calc.alcoholometry import abw_from_abv, density
from calc.contents import weight_in_air
from calc.errors import OutOfRangeError


@given(st.floats(1, 700), st.floats(0, 100), st.floats(5, 150))
def test_cask_filled_by_volume_is_found_by_weight(litres, abv, tare):
    rho = density(abw_from_abv(abv), 20.0)
    full = tare + weight_in_air(litres * rho / 1000, rho)
    found = cask_by_weight(full, tare, abv)
    assert found.volume_at_20_c_l == pytest.approx(litres, rel=1e-9)
    assert found.pure_alcohol_l == pytest.approx(litres * abv / 100, rel=1e-9, abs=1e-9)


def test_cask_lighter_than_empty_is_refused():
    with pytest.raises(OutOfRangeError, match=r"must lie above the empty cask's 50 kg"):
        cask_by_weight(49.0, 50.0, 60.0)


def test_two_per_cent_a_year_is_found_again():
    # Loss of about 2 % a year: trade figure. 200 L at 60 % vol lose it for five years.
    left = 120.0 * 0.98**5
    found = cask_loss(200.0, 60.0, left / 0.6, 60.0, 5.0)
    assert found.loss_percent_per_year == pytest.approx(2.0, abs=1e-9)
    assert found.lost_pure_alcohol_l == pytest.approx(120.0 - left, abs=1e-9)
    assert found.loss_percent == pytest.approx(100 * (1 - 0.98**5), abs=1e-9)
    assert found.abv_change == 0


def test_more_alcohol_than_was_filled_is_a_mistake():
    assert cask_loss(200.0, 60.0, 201.0, 60.0, 5.0).loss_percent < 0
    with pytest.raises(OutOfRangeError, match="Check both gaugings"):
        cask_loss(200.0, 60.0, 200.0, 70.0, 5.0)


def test_angels_take_the_usual_share_of_the_usual_cask():
    found = angels_share(200.0, 60.0, 200.0, 1.0)
    assert found.loss_percent_per_year == pytest.approx(2.0)
    assert found.pure_alcohol_l == pytest.approx(120.0 * 0.98)
    assert found.lost_pure_alcohol_l + found.pure_alcohol_l == pytest.approx(120.0, rel=1e-12)


def test_angels_take_more_of_a_small_cask():
    # An eighth of the volume has half the diameter, twice the surface for each litre.
    assert angels_share(25.0, 60.0, 25.0, 1.0).loss_percent_per_year == pytest.approx(4.0)


def test_a_share_that_takes_all_is_refused():
    with pytest.raises(OutOfRangeError, match=r"takes all of a cask of 1 L"):
        angels_share(1.0, 60.0, 1.0, 1.0, 20.0)


def test_angels_curve_ends_at_the_number():
    drawn = angels_share_curve(50.0, 60.0, 50.0, 3.0)
    end = angels_share(50.0, 60.0, 50.0, 3.0).pure_alcohol_l
    assert drawn["pure_alcohol_l"][-1] == pytest.approx(end)
    assert drawn["pure_alcohol_l"][0] == pytest.approx(30.0)
    assert (np.diff(drawn["pure_alcohol_l"]) < 0).all()
