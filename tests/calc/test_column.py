"""A batch column: closed forms, published equilibrium, reflux, height and what it delivers."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from calc.alcoholometry import abv_from_mole_fraction, mole_fraction_from_abv
from calc.catalogue import calculate, curve
from calc.column import minimum_reflux, reflux_for_strength, reflux_stages, total_reflux_stages
from calc.column_output import column_output, column_stages, height_per_plate
from calc.equilibrium import raw_vapour, vapour_over
from calc.errors import OutOfRangeError
from calc.heat import raw_latent_kj_mol
from calc.stages import climb, equilibrium_at, least_reflux

ATMOSPHERE = 1013.25
CAREY_LEWIS = Path(__file__).parents[1] / "data" / "vle_carey_lewis_1932_101kPa.csv"


def constant(alpha: float):
    """Return the equilibrium of a constant relative volatility."""
    return lambda x: alpha * x / (1 + (alpha - 1) * x)


def measured():
    """Return a smooth line through Carey & Lewis's (1932) own points: no model between."""
    lines = [s for s in CAREY_LEWIS.read_text().splitlines() if not s.startswith("#")]
    rows = [(float(r["x"]), float(r["y"])) for r in csv.DictReader(lines)]
    x, y = zip((0.0, 0.0), *rows, strict=True)
    return PchipInterpolator(x, y)


def test_fenske_by_the_figure():
    # Fenske (1932), doi 10.1021/ie50269a003: alpha 2.5 from 0.05 to 0.95 takes 6.4269.
    assert climb(0.05, 0.95, math.inf, constant(2.5)).stages == pytest.approx(6.4269, abs=5e-5)


@given(st.floats(1.2, 12), st.floats(0.01, 0.6), st.floats(0.65, 0.99))
def test_fenske_at_any_constant_volatility(alpha, x_pot, x_top):
    exact = math.log(x_top * (1 - x_pot) / (x_pot * (1 - x_top))) / math.log(alpha)
    assert climb(x_pot, x_top, math.inf, constant(alpha)).stages == pytest.approx(exact, rel=1e-10)


@given(st.floats(1.5, 12), st.floats(0.01, 0.5), st.floats(0.85, 0.99))
def test_least_reflux_at_any_constant_volatility(alpha, x_pot, x_top):
    # McCabe & Thiele (1925), doi 10.1021/ie50186a023: without a tangent the pinch is at the pot.
    y = constant(alpha)(x_pot)
    exact = max(0.0, (x_top - y) / (y - x_pot))
    assert least_reflux(x_pot, x_top, constant(alpha)) == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize(("top_abv", "low", "high"), [(93.0, 4.1, 4.3), (95.0, 6.6, 6.9)])
def test_stages_at_total_reflux_from_30_percent(top_abv, low, high):
    # Two models of the equilibrium, at 101.325 kPa (computed, handed over).
    found = calculate("total-reflux-stages", pot_abv=30.0, top_abv=top_abv, pressure_hpa=ATMOSPHERE)
    assert low <= found["stages"] <= high


@pytest.mark.parametrize(("pot_abv", "top_abv", "within"), [(30, 93, 0.25), (12, 90, 0.2)])
def test_stages_on_the_measured_equilibrium(pot_abv, top_abv, within):
    # Carey & Lewis (1932), Ind. Eng. Chem. 24, 882: their points and a smooth line between.
    line = measured()
    x_pot, x_top = mole_fraction_from_abv(pot_abv), mole_fraction_from_abv(top_abv)
    for ratio in (math.inf, 5.0):
        theirs = climb(x_pot, x_top, ratio, lambda x: float(line(x)))
        ours = climb(x_pot, x_top, ratio, equilibrium_at(ATMOSPHERE))
        assert ours.stages == pytest.approx(theirs.stages, abs=within)
    assert minimum_reflux(pot_abv, top_abv) == pytest.approx(
        least_reflux(x_pot, x_top, line), rel=0.16
    )


def test_quick_equilibrium_is_the_exact_one():
    x = np.linspace(1e-4, 0.9999, 2001)
    for hpa in (600.0, ATMOSPHERE, 1100.0):
        quick = [equilibrium_at(hpa)(v) for v in x]
        assert np.abs(quick - raw_vapour(x, hpa)).max() < 1e-6


def test_pinch_is_a_tangent_near_the_azeotrope():
    # From a strong pot the line from the top touches the equilibrium far above the pot.
    x_pot, x_top = mole_fraction_from_abv(60.0), mole_fraction_from_abv(96.0)
    y = vapour_over(x_pot, ATMOSPHERE)
    at_the_pot = (x_top - y) / (y - x_pot)
    found = minimum_reflux(60.0, 96.0, ATMOSPHERE)
    assert found > 1.2 * at_the_pot
    vapour_of = equilibrium_at(ATMOSPHERE)
    assert climb(x_pot, x_top, 0.995 * found, vapour_of) is None
    assert climb(x_pot, x_top, 1.02 * found, vapour_of) is not None


@given(st.floats(1, 85), st.floats(0.2, 0.95), st.floats(600, 1100))
def test_just_above_the_minimum_works_and_just_below_does_not(pot_abv, share, hpa):
    vapour = abv_from_mole_fraction(vapour_over(mole_fraction_from_abv(pot_abv), hpa))
    top_abv = vapour + share * (96.3 - vapour)
    least = minimum_reflux(pot_abv, top_abv, hpa)
    x_pot, x_top = mole_fraction_from_abv(pot_abv), mole_fraction_from_abv(top_abv)
    assert climb(x_pot, x_top, 1.02 * least, equilibrium_at(hpa)) is not None
    assert climb(x_pot, x_top, 0.99 * least, equilibrium_at(hpa)) is None


@given(st.floats(5, 80), st.floats(1.05, 50))
def test_more_reflux_never_takes_more_stages(pot_abv, factor):
    top_abv = 95.5
    least = minimum_reflux(pot_abv, top_abv)
    ratio = factor * least
    if not 0.01 <= ratio <= 500:
        return
    found = reflux_stages(pot_abv, top_abv, ratio)
    more = reflux_stages(pot_abv, top_abv, 2 * ratio)
    assert found.stages >= more.stages - 1e-9 >= found.stages_at_total_reflux - 1e-6
    assert found.minimum_reflux_ratio == pytest.approx(least, rel=1e-12)
    assert found.stages_at_total_reflux == pytest.approx(
        total_reflux_stages(pot_abv, top_abv), abs=1e-9
    )


@given(st.floats(5, 60), st.floats(3, 30), st.floats(0.5, 50), st.floats(600, 1100))
def test_what_a_column_draws_is_the_most_its_stages_reach(pot_abv, stages, ratio, hpa):
    found = column_output(pot_abv, stages, ratio, 2.0, 0.0, hpa)
    x_pot, x_top = mole_fraction_from_abv(pot_abv), mole_fraction_from_abv(found.top_abv)
    reached = climb(x_pot, x_top - 1e-6, ratio, equilibrium_at(hpa))
    beyond = climb(x_pot, x_top + 1e-6, ratio, equilibrium_at(hpa))
    assert reached is not None
    assert reached.stages <= stages
    assert beyond is None or beyond.stages >= stages
    more = column_output(pot_abv, stages, 2 * ratio, 2.0, 0.0, hpa)
    assert more.top_abv >= found.top_abv - 1e-9
    assert more.spout_ml_min < found.spout_ml_min


@given(st.floats(10, 60), st.floats(5, 20), st.floats(91, 95))
def test_reflux_for_a_strength_gives_that_strength(pot_abv, stages, top_abv):
    if total_reflux_stages(pot_abv, top_abv) > stages:
        with pytest.raises(OutOfRangeError, match=r"even at total reflux"):
            reflux_for_strength(pot_abv, top_abv, stages)
        return
    ratio = reflux_for_strength(pot_abv, top_abv, stages)
    if 0.01 <= ratio <= 1000:
        drawn = column_output(pot_abv, stages, ratio, 2.0)
        assert drawn.top_abv == pytest.approx(top_abv, abs=1e-3)


def test_rates_balance():
    found = column_output(30.0, 8.0, 3.0, 2.0, 0.5)
    y_pot = vapour_over(mole_fraction_from_abv(30.0), ATMOSPHERE)
    moles_s = 1.5 / raw_latent_kj_mol(y_pot)
    assert found.returned_ml_min == pytest.approx(3 * found.spout_ml_min)
    assert found.pure_alcohol_ml_min == pytest.approx(found.spout_ml_min * found.top_abv / 100)
    y_top = mole_fraction_from_abv(found.top_abv)
    grams = moles_s * (y_top * 46.06844 + (1 - y_top) * 18.01528)
    assert found.vapour_kg_h == pytest.approx(3.6 * grams, rel=1e-6)
    # An ideal gas at the head, by its molar volume at 0 C and 1013.25 hPa (CODATA 2018).
    litres_s = moles_s * 22.41396954 * (found.head_temperature_c + 273.15) / 273.15
    assert found.vapour_m3_h == pytest.approx(3.6 * litres_s, rel=1e-6)


def test_height_per_plate_and_back():
    plate = height_per_plate(0.6, 30.0, 93.0, ATMOSPHERE)
    assert column_stages(0.6, plate) == pytest.approx(
        total_reflux_stages(30.0, 93.0, ATMOSPHERE), rel=1e-12
    )
    # 0.10 to 0.25 m for 6 mm rings (from memory).
    assert 0.1 < plate < 0.25


def test_staircase_of_the_diagram_touches_both_lines():
    drawn = curve("reflux-stages", pot_abv=30.0, top_abv=93.0, reflux_ratio=3.0)
    steps = [
        (x, vapour, line, step)
        for x, vapour, line, step in zip(
            drawn["liquid_mole_fraction"],
            drawn["vapour_mole_fraction"],
            drawn["operating_mole_fraction"],
            drawn["stage_mole_fraction"],
            strict=True,
        )
        if step is not None
    ]
    on_equilibrium = sum(abs(step - vapour) < 1e-6 for _, vapour, _, step in steps)
    assert on_equilibrium == math.ceil(reflux_stages(30.0, 93.0, 3.0).stages)
    assert all(line - 1e-6 <= step <= vapour + 1e-6 for _, vapour, line, step in steps[1:])


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: total_reflux_stages(30.0, 98.0), r"the azeotrope's 97\.28 % vol, which no column"),
        (lambda: total_reflux_stages(30.0, 20.0), r"top_abv.*between the pot's 30 and the azeo"),
        (lambda: reflux_stages(30.0, 95.0, 1.0), r"reflux_ratio.*takes more than 1\.3"),
        (lambda: reflux_for_strength(30.0, 95.0, 4.0), r"stages.*takes 6\.6 even at total reflux"),
        (lambda: height_per_plate(0.6, 30.0, 60.0), r"the packing did nothing"),
        (lambda: column_output(30.0, 8.0, 3.0, 1.0, 1.0), r"heat_loss_kw.*nothing boils"),
    ],
)
def test_what_no_column_does_is_refused(call, words):
    with pytest.raises(OutOfRangeError, match=words):
        call()
