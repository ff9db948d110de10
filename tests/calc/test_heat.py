"""Heat and cooling: figures of the trade, general libraries, and balances."""

import math
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97
from scipy.integrate import solve_ivp

from calc.catalogue import calculate, curve
from calc.cooling import condensers, coolant_flow, tank_warming
from calc.element import element_cover, energy_cost
from calc.errors import OutOfRangeError
from calc.heat import (
    heat_up,
    raw_latent_kj_mol,
    specific_heat,
    spout_rate,
)


def test_spout_rate_per_kilowatt():
    # 35, 43, 69 mL/min at 40, 60, 90 % vol for each net kW (computed, handed over).
    for abv, ml_min in ((40.0, 35), (60.0, 43), (90.0, 69)):
        assert spout_rate(1.0, abv).spout_ml_min == pytest.approx(ml_min, abs=0.6)


def test_cooling_water_of_the_trade():
    # L/min = 14.3 kW / dT (computed, handed over; 14.4 at 20 C by IAPWS-IF97).
    for duty, rise in ((1.0, 1.0), (2.0, 30.0)):
        assert coolant_flow(duty, rise) == pytest.approx(14.3 * duty / rise, rel=0.01)
    water = IAPWS97(T=293.15, P=0.2)
    assert coolant_flow(1.0, 10.0) == pytest.approx(
        60 / (water.rho * water.cp / 1000 * 10), rel=1e-3
    )


def test_recirculated_tank_of_the_trade():
    # 2 kW warms 200 L by 8.6 K/h (computed, handed over).
    assert tank_warming(200.0, 2.0).warming_k_h == pytest.approx(8.6, abs=0.05)


def test_latent_heats():
    # 846 and 2257 kJ/kg (retrieved); water by IAPWS-IF97.
    assert raw_latent_kj_mol(1.0) / 46.06844 * 1000 == pytest.approx(846)
    water = IAPWS97(P=0.101325, x=1).h - IAPWS97(P=0.101325, x=0).h
    assert raw_latent_kj_mol(0.0) / 18.01528 * 1000 == pytest.approx(water, rel=1e-3)


def test_specific_heats_of_the_pure_liquids(flash):
    for celsius in (20.0, 50.0, 78.0):
        water = IAPWS97(T=celsius + 273.15, P=0.2).cp
        assert specific_heat(0.0, celsius) == pytest.approx(water, rel=0.005)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            ethanol = flash.correlations.HeatCapacityLiquids[0](celsius + 273.15)
        assert specific_heat(1.0, celsius) == pytest.approx(ethanol / 46.06844, rel=0.02)


@pytest.mark.parametrize(
    ("abw", "celsius", "cal"),
    [(0.10, 41, 1.02), (0.25, 41, 1.03), (0.60, 41, 0.875), (0.80, 41, 0.748), (0.10, 23, 1.02)],
)
def test_specific_heats_of_mixtures(abw, celsius, cal):
    # Perry's Chemical Engineers' Handbook, in cal/(g K) (from memory).
    assert specific_heat(abw, celsius) == pytest.approx(4.184 * cal, rel=0.015)


def test_a_wash_without_losses():
    # 7.3 MJ from 20 C for 25 L of 9 % vol with specific heats that add (computed, handed over);
    # a wash holds 4 % more.
    found = heat_up(25.0, 9.0, 2.0)
    assert found.energy_kwh * 3.6 == pytest.approx(7.3 * 1.04, rel=0.02)
    assert found.duration_min == pytest.approx(found.energy_kwh / 2.0 * 60)
    assert found.lost_kwh == 0.0


def test_losses_by_an_independent_integration():
    found = heat_up(
        25.0, 9.0, 2.0, 15.0, 80.0, heat_loss_w_k=8.0, room_temperature_c=18.0, vessel_mass_kg=10.0
    )
    lossless = heat_up(25.0, 9.0, 2.0, 15.0, 80.0, vessel_mass_kg=10.0)
    held = lossless.energy_kwh * 3600 / 65.0
    solved = solve_ivp(
        lambda _, t: (2.0 - 0.008 * (t - 18.0)) / held,
        (0, found.duration_min * 60),
        [15.0],
        rtol=1e-10,
        atol=1e-10,
    )
    assert solved.y[0, -1] == pytest.approx(80.0, abs=1e-6)
    assert found.energy_kwh - found.lost_kwh == pytest.approx(lossless.energy_kwh, rel=1e-12)


@given(st.floats(1, 1000), st.floats(0, 95), st.floats(0, 60), st.floats(0.01, 20))
def test_small_losses_tend_to_none(volume_l, abv, start, loss):
    without = heat_up(volume_l, abv, 50.0, start, 70.0)
    tiny = heat_up(volume_l, abv, 50.0, start, 70.0, heat_loss_w_k=1e-7 * loss)
    assert tiny.duration_min == pytest.approx(without.duration_min, rel=1e-7)


def test_the_vapour_gives_the_heat_back_at_the_condensers():
    found = condensers(
        2.0, 90.0, 15.0, 35.0, reflux_ratio=3.0, reflux_coolant_out_c=60.0, margin=1.0
    )
    # All the heat but what cooling the spirit down adds.
    assert found.reflux_duty_kw == pytest.approx(1.5)
    assert 0.5 < found.product_duty_kw < 0.62
    assert found.product_flow_l_min == pytest.approx(coolant_flow(found.product_duty_kw, 20.0))
    assert found.reflux_flow_l_min == pytest.approx(coolant_flow(1.5, 45.0))
    doubled = condensers(
        2.0, 90.0, 15.0, 35.0, reflux_ratio=3.0, reflux_coolant_out_c=60.0, margin=2.0
    )
    assert doubled.product_flow_l_min == pytest.approx(2 * found.product_flow_l_min)
    assert doubled.product_duty_kw == found.product_duty_kw


def test_a_pot_still_has_no_reflux_condenser():
    found = condensers(3.0, 40.0, 12.0, 50.0)
    assert (found.reflux_duty_kw, found.reflux_flow_l_min) == (0.0, 0.0)
    spout = spout_rate(3.0, 40.0)
    kg_s = spout.vapour_kg_h / 3600
    cooled = kg_s * specific_heat(0.333, 58.0) * (spout.head_temperature_c - 20.0)
    assert found.product_duty_kw == pytest.approx(3.0 + cooled, rel=0.01)


@given(
    st.floats(10, 5000), st.floats(0.1, 50), st.floats(0, 30), st.floats(31, 80), st.floats(0, 500)
)
def test_a_tank_by_an_independent_integration(volume_l, duty, start, limit, loss):
    found = tank_warming(volume_l, duty, start, limit, loss, 20.0)
    if found.duration_h is None:
        assert found.settles_at_c <= limit + 1e-9
        assert "never gets that warm" in found.why
        return
    assert found.why is None
    seconds = found.duration_h * 3600
    solved = solve_ivp(
        lambda _, t: (duty - loss / 1000 * (t - 20.0)) / (volume_l * 4.177),
        (0, seconds),
        [start],
        rtol=1e-9,
        atol=1e-9,
    )
    assert solved.y[0, -1] == pytest.approx(limit, abs=1e-4)


def test_tank_line_ends_at_the_limit():
    for loss in (0.0, 20.0):
        drawn = curve(
            "tank-warming",
            tank_volume_l=200.0,
            duty_kw=2.0,
            start_temperature_c=15.0,
            limit_temperature_c=35.0,
            heat_loss_w_k=loss,
        )
        assert drawn["temperature_c"][0] == 15.0
        assert drawn["temperature_c"][-1] == pytest.approx(35.0)
        assert (np.diff(drawn["temperature_c"]) > 0).all()


def test_energy_and_its_cost():
    found = energy_cost(2.0, 3.5, 0.30, 0.5)
    assert (found.energy_kwh, found.cost) == pytest.approx((14.0, 4.2))


def test_element_cover_is_the_cylinder_under_the_line():
    found = element_cover(25.0, 30.0, 8.0, 3.0)
    assert found.cover_volume_l == pytest.approx(math.pi * 1.5**2 * 1.1)
    assert found.cover_volume_l + found.most_collected_l == pytest.approx(25.0)
    dished = element_cover(25.0, 30.0, 8.0, 3.0, 2.0, 5.0)
    assert dished.cover_volume_l == pytest.approx(2.0 + math.pi * 1.5**2 * 0.6)


@pytest.mark.parametrize("abv", [5.0, 9.0, 15.0, 30.0, 40.0])
def test_what_boils_on_still_covers_the_element(abv):
    # Volumes do not add: what is left may be less than charge less collected, but it stands hot.
    cover = element_cover(25.0, 30.0, 8.0)
    run = calculate(
        "simple-distillation",
        volume_l=25.0,
        abv=abv,
        pressure_hpa=1013.25,
        end_collected_volume_l=cover.most_collected_l,
    )
    at_20, boiling = IAPWS97(T=293.15, P=0.101325).rho, IAPWS97(T=373.1, P=0.101325).rho
    assert run["residue_volume_l"] >= cover.cover_volume_l - 0.002 * 25.0
    assert run["residue_volume_l"] * at_20 / boiling > 1.03 * cover.cover_volume_l


@pytest.mark.parametrize(
    ("name", "asked", "words"),
    [
        (
            "heat-up-time",
            {"volume_l": 25.0, "abv": 9.0, "power_kw": 0.5, "heat_loss_w_k": 10.0},
            r"power_kw.*loses 0\.7\d kW, so it never gets there",
        ),
        (
            "heat-up-time",
            {"volume_l": 25.0, "abv": 9.0, "power_kw": 2.0, "end_temperature_c": 95.0},
            r"end_temperature_c.*boils at 92\.8",
        ),
        (
            "heat-up-time",
            {"volume_l": 25.0, "abv": 9.0, "power_kw": 2.0, "start_temperature_c": 95.0},
            r"start_temperature_c.*must lie below the end",
        ),
        (
            "spout-rate",
            {"power_kw": 1.0, "abv": 40.0, "heat_loss_kw": 1.0},
            r"heat_loss_kw.*nothing boils",
        ),
        (
            "condensers",
            {"power_kw": 2.0, "abv": 40.0, "coolant_in_c": 40.0, "product_coolant_out_c": 35.0},
            r"product_coolant_out_c.*between 40\.5 °C",
        ),
        (
            "condensers",
            {"power_kw": 2.0, "abv": 40.0, "coolant_in_c": 25.0, "product_coolant_out_c": 45.0},
            r"spout_temperature_c.*cannot be cooler",
        ),
        (
            "tank-warming",
            {"tank_volume_l": 100.0, "duty_kw": 1.0, "limit_temperature_c": 10.0},
            r"limit_temperature_c.*above the start",
        ),
        (
            "element-cover",
            {"volume_l": 5.0, "pot_diameter_cm": 30.0, "element_top_cm": 8.0},
            r"volume_l.*needs 7\.8 L over it",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_do(name, asked, words):
    with pytest.raises(OutOfRangeError, match=words):
        calculate(name, **asked)
