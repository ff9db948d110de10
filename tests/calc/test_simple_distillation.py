"""Boiling a pot down: closed form, an independent integration, the balance, and plans of runs."""

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from calc.alcoholometry import abv_from_mole_fraction, mole_fraction_from_abv
from calc.catalogue import calculate, curve
from calc.equilibrium import raw_vapour
from calc.errors import OutOfRangeError, QuantityError
from calc.mixture import Mixture
from calc.pot_still import wash_to_spirit
from calc.rayleigh import boil_down
from calc.simple_distillation import simple_distillation

ATMOSPHERE = 1013.25


def closed_form(alpha: float, x0: float, x: float) -> float:
    """Return ln(L0/L) for a constant relative volatility."""
    return math.log(x0 * (1 - x) / (x * (1 - x0))) / (alpha - 1) + math.log((1 - x) / (1 - x0))


def test_constant_relative_volatility_by_the_figure():
    # Rayleigh's equation in closed form; worked figure handed over: 0.90317397.
    assert closed_form(2.16, 0.5, 0.33) == pytest.approx(0.90317397, abs=5e-9)
    way = boil_down(0.5, 0.33, lambda x: 2.16 * x / (1 + 1.16 * x))
    assert -math.log(way.left[-1]) == pytest.approx(0.90317397, abs=1e-8)


@given(st.floats(1.5, 12), st.floats(0.01, 0.9), st.floats(0.001, 0.99))
@example(1.5, 0.9, 0.5)  # a rich charge that hardly enriches: ln(x) alone is too coarse for it
def test_constant_relative_volatility_in_closed_form(alpha, x0, share):
    way = boil_down(x0, x0 * share, lambda x: alpha * x / (1 + (alpha - 1) * x))
    exact = closed_form(alpha, x0, x0 * share)
    assert -math.log(way.left[-1]) == pytest.approx(exact, abs=1e-10, rel=1e-10)


def test_losses_without_a_power_change_nothing():
    lossless = simple_distillation(25.0, 9.0, ATMOSPHERE, end_spout_abv=10.0)
    lossy = simple_distillation(25.0, 9.0, ATMOSPHERE, end_spout_abv=10.0, heat_loss_kw=2.0)
    assert lossy == lossless
    assert lossy.heat_up_min is None


@pytest.mark.parametrize(
    ("abv", "end", "within"),
    [(9.0, 0.85, 1e-9), (40.0, 5.0, 1e-9), (90.0, 60.0, 1e-9), (95.0, 90.0, 1e-8)],
)
def test_an_independent_integration_agrees(abv, end, within):
    # Rayleigh's equation as an ordinary differential equation, by scipy's eighth-order method.
    x0, x1 = mole_fraction_from_abv(abv), mole_fraction_from_abv(end)
    solved = solve_ivp(
        lambda x, _: [1 / (raw_vapour(x, ATMOSPHERE) - x)],
        (x0, x1),
        [0.0],
        method="DOP853",
        rtol=1e-11,
        atol=1e-12,
    )
    way = boil_down(x0, x1, lambda x: raw_vapour(x, ATMOSPHERE))
    assert math.log(way.left[-1]) == pytest.approx(solved.y[0, -1], abs=within)


def test_twenty_five_litres_of_wash():
    # Two published models: 6.36 L of 33.0 and 6.46 L of 32.3 % vol, residue 18.5 L of 0.85,
    # recovery 93 %, pot 92.9 to 99.1 C (computed, handed over).
    found = calculate(
        "simple-distillation", volume_l=25.0, abv=9.0, pressure_hpa=ATMOSPHERE, end_spout_abv=10.0
    )
    assert found["collected_volume_l"] == pytest.approx(6.4, abs=0.1)
    assert found["collected_abv"] == pytest.approx(32.6, abs=0.6)
    assert found["residue_volume_l"] == pytest.approx(18.5, abs=0.2)
    assert found["residue_abv"] == pytest.approx(0.85, abs=0.05)
    assert found["recovery"] == pytest.approx(0.93, abs=0.005)
    assert found["pot_temperature_start_c"] == pytest.approx(92.9, abs=0.15)
    assert found["pot_temperature_end_c"] == pytest.approx(99.1, abs=0.05)
    # Heat-up 7.3 MJ is for specific heats that add; a wash holds 4 % more. Vaporisation 11.7 MJ.
    assert found["heat_up_kwh"] * 3.6 == pytest.approx(7.3 * 1.04, rel=0.02)
    assert found["boiling_kwh"] * 3.6 == pytest.approx(11.7, rel=0.03)


charges = st.floats(0.5, 95)


@given(st.floats(0.1, 1e5), charges, st.floats(600, 1100), st.floats(0.02, 0.98))
def test_alcohol_and_water_balance(volume_l, abv, hpa, share):
    first = abv_from_mole_fraction(raw_vapour(mole_fraction_from_abv(abv), hpa))
    found = simple_distillation(volume_l, abv, hpa, end_spout_abv=max(0.1, share * first))
    alcohol = found.collected_volume_l * found.collected_abv
    alcohol += found.residue_volume_l * found.residue_abv
    assert alcohol == pytest.approx(volume_l * abv, rel=1e-9)
    collected = Mixture.of_volume(found.collected_volume_l, found.collected_abv)
    residue = Mixture.of_volume(found.residue_volume_l, found.residue_abv)
    charge = Mixture.of_volume(volume_l, abv)
    assert collected.mass_kg + residue.mass_kg == pytest.approx(charge.mass_kg, rel=1e-9)
    assert found.recovery == pytest.approx(collected.ethanol_kg / charge.ethanol_kg, rel=1e-9)
    assert 0 < found.recovery < 1
    # Volumes do not add, by a hundredth or so.
    assert found.collected_volume_l + found.residue_volume_l == pytest.approx(volume_l, rel=0.04)


@given(charges, st.floats(600, 1100), st.floats(0.05, 0.9))
def test_all_four_ends_meet(abv, hpa, share):
    by_pot = simple_distillation(20.0, abv, hpa, end_pot_abv=max(0.01, share * abv))
    for end in (
        {"end_spout_abv": by_pot.last_spout_abv},
        {"end_pot_temperature_c": by_pot.pot_temperature_end_c},
        {"end_collected_volume_l": by_pot.collected_volume_l},
    ):
        found = simple_distillation(20.0, abv, hpa, **end)
        assert found.collected_volume_l == pytest.approx(by_pot.collected_volume_l, abs=1e-6)
        assert found.collected_abv == pytest.approx(by_pot.collected_abv, abs=1e-6)


def test_volume_scales_and_nothing_else_does():
    small, large = (simple_distillation(v, 9.0, 950.0, 10.0) for v in (1.0, 1000.0))
    assert large.collected_volume_l == pytest.approx(1000 * small.collected_volume_l, rel=1e-12)
    assert large.collected_abv == pytest.approx(small.collected_abv, rel=1e-12)
    assert large.boiling_kwh == pytest.approx(1000 * small.boiling_kwh, rel=1e-12)


def test_a_run_to_the_last_drop_collects_all_the_alcohol():
    found = simple_distillation(25.0, 9.0, ATMOSPHERE, end_collected_volume_l=20.0)
    assert found.recovery == pytest.approx(1.0, abs=1e-6)
    assert found.collected_volume_l == pytest.approx(20.0, abs=1e-9)


def test_time_follows_power_and_loss():
    slow = simple_distillation(25.0, 9.0, ATMOSPHERE, 10.0, power_kw=1.0)
    fast = simple_distillation(25.0, 9.0, ATMOSPHERE, 10.0, power_kw=2.0)
    lossy = simple_distillation(25.0, 9.0, ATMOSPHERE, 10.0, power_kw=2.0, heat_loss_kw=1.0)
    assert slow.boiling_h == pytest.approx(2 * fast.boiling_h, rel=1e-12)
    assert slow.heat_up_min == pytest.approx(2 * fast.heat_up_min, rel=1e-12)
    assert lossy.boiling_h == pytest.approx(slow.boiling_h, rel=1e-12)
    assert fast.heat_up_min < lossy.heat_up_min < slow.heat_up_min
    assert lossy.heat_up_kwh == pytest.approx(fast.heat_up_kwh, rel=1e-9)
    assert simple_distillation(25.0, 9.0, ATMOSPHERE, 10.0).boiling_h is None


def test_line_is_the_run_on_its_way():
    asked = {"volume_l": 25.0, "abv": 9.0, "pressure_hpa": ATMOSPHERE, "end_spout_abv": 10.0}
    drawn, found = curve("simple-distillation", **asked), calculate("simple-distillation", **asked)
    assert drawn["collected_volume_l"][0] == 0.0
    assert drawn["collected_volume_l"][-1] == pytest.approx(found["collected_volume_l"])
    assert drawn["collected_abv"][-1] == pytest.approx(found["collected_abv"])
    assert drawn["pot_temperature_c"][0] == pytest.approx(found["pot_temperature_start_c"])
    for falling in ("spout_abv", "pot_abv", "collected_abv"):
        assert (np.diff(drawn[falling]) < 0).all()
    # The mean of the spout, weighed by pure alcohol, is what is collected.
    assert drawn["spout_abv"][0] == pytest.approx(drawn["collected_abv"][0])


@pytest.mark.parametrize(
    ("end", "words"),
    [
        ({"end_spout_abv": 60.0}, r"end_spout_abv.*the spout begins at 53\.9"),
        ({"end_pot_abv": 9.5}, r"end_pot_abv.*the charge has 9\.00"),
        ({"end_pot_temperature_c": 90.0}, r"end_pot_temperature_c.*boils from 92\.79.* 99\.97"),
        ({"end_pot_temperature_c": 105.0}, r"end_pot_temperature_c.*boils from 92\.79.* 99\.97"),
        ({"end_collected_volume_l": 25.5}, r"end_collected_volume_l.*spent after 24\.8"),
    ],
)
def test_an_end_off_the_way_is_refused_with_what_is_on_it(end, words):
    with pytest.raises(OutOfRangeError, match=words):
        simple_distillation(25.0, 9.0, ATMOSPHERE, **end)


@pytest.mark.parametrize("ends", [{}, {"end_spout_abv": 10.0, "end_pot_abv": 1.0}])
def test_a_run_ends_once(ends):
    with pytest.raises(QuantityError, match=rf"give one of end_spout_abv.*; {len(ends)} are given"):
        simple_distillation(25.0, 9.0, ATMOSPHERE, **ends)


def test_from_wash_to_spirit():
    plan = wash_to_spirit(100.0, 9.0, 25.0, ATMOSPHERE)
    one = simple_distillation(25.0, 9.0, ATMOSPHERE, 10.0)
    assert plan.stripping_runs == 4
    assert plan.low_wines_volume_l == pytest.approx(4 * one.collected_volume_l, rel=1e-9)
    # HMRC SPIR4100: low wines about 25 % vol; common practice 20 to 30 and more with clean wash.
    assert 20 < plan.low_wines_abv < 35
    assert plan.low_wines_pure_alcohol_l == pytest.approx(9.0 * plan.recovery, rel=1e-9)
    # Pot-still hearts run from about 72 to 60 % vol (Russell, Whisky, 2003, chapter 5).
    assert plan.hearts_start_abv > 72 > plan.hearts_abv > plan.hearts_end_abv
    assert plan.hearts_end_abv == pytest.approx(60, abs=4)
    # Common practice, no source: foreshots 1-2, hearts 50-70 % of the pure alcohol.
    assert plan.hearts_pure_alcohol_low_l == pytest.approx(0.5 * plan.low_wines_pure_alcohol_l)
    assert plan.hearts_pure_alcohol_high_l == pytest.approx(0.7 * plan.low_wines_pure_alcohol_l)
    foreshots = plan.foreshots_high_l * plan.hearts_start_abv / 100
    assert foreshots == pytest.approx(0.02 * plan.low_wines_pure_alcohol_l, rel=0.1)
    for cut in ("foreshots", "heads", "hearts", "tails"):
        assert 0 < getattr(plan, f"{cut}_low_l") < getattr(plan, f"{cut}_high_l")


def test_a_plan_that_cannot_be_is_refused():
    with pytest.raises(OutOfRangeError, match=r"strip_end_spout_abv.*begins at 2\d\.\d % vol"):
        wash_to_spirit(100.0, 2.0, 25.0, ATMOSPHERE, strip_end_spout_abv=40.0)
    with pytest.raises(OutOfRangeError, match=r"spirit_end_spout_abv.*not complete"):
        wash_to_spirit(100.0, 9.0, 25.0, ATMOSPHERE, spirit_end_spout_abv=60.0)
