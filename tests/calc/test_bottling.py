"""Bottles, tolerances and duty against the regulations and one official example."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.bottling import bottles, duty, fill_tolerance, label_tolerance
from calc.errors import OutOfRangeError


def test_duty_of_a_hundred_cases():
    # HMRC internal manual HMEXSH5030: 100 cases x 12 x 0.70 L x 40 % = 336 L of pure alcohol.
    found = duty(100 * 12 * 0.70, 40.0, 31.64)
    assert found.pure_alcohol_l == pytest.approx(336.0, abs=1e-9)
    assert found.duty_money == pytest.approx(336 * 31.64)


@pytest.mark.parametrize(
    ("found", "verdict"),
    [
        (39.69, "Out of tolerance: more than 0.3 % vol below the label."),
        (39.7, "Within tolerance."),
        (40.0, "Within tolerance."),
        (40.3, "Within tolerance."),
        (40.31, "Out of tolerance: more than 0.3 % vol above the label."),
    ],
)
def test_strength_on_the_label(found, verdict):
    # Regulation (EU) 1169/2011, Annex XII; 27 CFR 19.356: 0.3 % vol either way.
    checked = label_tolerance(40.0, found)
    assert checked.verdict == verdict
    assert (checked.lowest_abv, checked.highest_abv) == pytest.approx((39.7, 40.3))


@pytest.mark.parametrize(
    ("nominal", "tolerance"),
    # Council Directive 76/211/EEC, Annex I: 700 mL retrieved, the others from memory.
    [(700, 15), (1000, 15), (500, 15), (350, 10.5), (200, 9), (100, 4.5), (50, 4.5), (1750, 26.25)],
)
def test_tolerable_negative_error_of_the_european_union(nominal, tolerance):
    found = fill_tolerance(float(nominal), float(nominal), 40.0)
    assert found.tolerance_ml == pytest.approx(tolerance)
    assert found.verdict == "Enough."


@pytest.mark.parametrize(
    ("content", "verdict"),
    [
        (700.0, "Enough."),
        (685.0, "Short, within the tolerable error"),
        (684.9, "Short by more than the tolerable error"),
        (669.9, "Short by more than twice the tolerable error"),
    ],
)
def test_fill_of_a_700_ml_bottle(content, verdict):
    # Council Directive 76/211/EEC, Annex I: tolerable negative error 15 mL at 700 mL.
    assert fill_tolerance(700.0, content, 40.0).verdict.startswith(verdict)


@pytest.mark.parametrize(
    ("content", "within"), [(734.9, False), (735.0, True), (765.0, True), (765.1, False)]
)
def test_fill_of_a_750_ml_bottle_in_the_united_states(content, within):
    # 27 CFR 19.356: within 2 % of 750 mL.
    found = fill_tolerance(750.0, content, 40.0, rules="us")
    assert found.verdict.startswith("Within") is within
    assert found.tolerance_ml == pytest.approx(15.0)


def test_a_size_not_known_is_not_guessed():
    with pytest.raises(OutOfRangeError, match=r"only 750 mL is known here.*27 CFR 19\.356"):
        fill_tolerance(375.0, 375.0, 40.0, rules="us")


def test_warm_bottles_are_short_at_20_c():
    full = bottles(100.0, 40.0, 28.0).fill_ml
    assert full > 700.0
    assert fill_tolerance(700.0, full, 40.0, 28.0).difference_ml == pytest.approx(0.0, abs=1e-9)
    assert fill_tolerance(700.0, 700.0, 40.0, 28.0).difference_ml == pytest.approx(-4.0, abs=0.2)


@given(
    st.floats(0, 5000), st.floats(0, 100), st.floats(0, 40), st.sampled_from([50, 500, 700, 750])
)
def test_bottles_and_what_is_left_hold_all_the_alcohol(volume, abv, temperature, nominal):
    found = bottles(volume, abv, temperature, float(nominal))
    assert 0 <= found.left_over_l < nominal / 1000 + 1e-9
    held = found.bottle_count * found.bottle_pure_alcohol_l + found.left_over_l * abv / 100
    assert held == pytest.approx(found.pure_alcohol_l, rel=1e-9, abs=1e-9)


def test_a_volume_that_just_fills_its_bottles_fills_them():
    # 2.1 / 0.7 is a hair under three in binary.
    assert bottles(2.1, 40.0).bottle_count == 3
    assert bottles(2.1, 40.0).left_over_l == pytest.approx(0.0, abs=1e-9)
