"""The ferment against the model it is made of, and the mash against what mashes do."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from logger.plant.cell import mixture
from logger.plant.conversion import GRAINS
from logger.plant.fluid import fluid
from logger.plant.kinetics import AtTemperature, rates
from logger.plant.tank import Tank, TankSize


def published(t_c):
    """Write out Atala et al. 2001 (doi 10.1385/ABAB:91-93:1-9:353), from memory, nothing added."""
    mu = 1.57 * np.exp(-41.47 / t_c) - 1.29e4 * np.exp(-431.4 / t_c)
    x_max = -0.3279 * t_c**2 + 18.484 * t_c - 191.06
    p_max = -0.4421 * t_c**2 + 26.41 * t_c - 279.75
    y_x, y_px = 2.704 * np.exp(-0.1225 * t_c), 0.2556 * np.exp(0.1086 * t_c)

    def slope(_, state):
        x, p, s = state
        fed = s / (4.1 + s)
        grow = mu * fed * np.exp(-0.004 * s) * (1 - x / x_max) * (1 - p / p_max) ** 1.5 * x
        return grow, y_px * grow + 0.1 * x, -grow / y_x - 0.2 * x

    return slope


@pytest.mark.parametrize("t_c", [28.0, 31.0, 34.0, 37.0])
def test_rates_are_the_paper_s(t_c):
    """Growth to the last digit; maintenance is the paper's but for the sugar it needs (ours)."""
    for state in ((2.0, 0.0, 150.0), (10.0, 30.0, 80.0), (20.0, 50.0, 10.0)):
        rate, (cells, ethanol, sugar) = rates(*state, t_c), published(t_c)(0, state)
        hungry = state[0] * 4.1 / (4.1 + state[2])
        assert rate.cells == pytest.approx(cells)
        assert rate.ethanol == pytest.approx(ethanol - 0.1 * hungry)
        assert rate.sugar == pytest.approx(-sugar - 0.2 * hungry)


def test_another_group_s_yeast_is_near():
    """Ghose and Tyagi, Biotechnol. Bioeng. 21 (1979) 1401, at 30 C (from memory).

    They found a largest growth rate of 0.40 a hour, and that growth ends at 87 and making alcohol
    at 114 g/L of it. A constant remembered wrongly would hardly come so close.
    """
    at = AtTemperature.of(30.0)
    assert at.growth_per_h == pytest.approx(0.40, rel=0.1)
    assert 87.0 <= at.most_ethanol_g_l <= 1.1 * 114.0


def test_no_yield_is_more_than_stoichiometry_allows_at_any_temperature():
    """0.511 g of a gram of hexose (Gay-Lussac's equation); the paper's own is never above it."""
    for t_c in np.linspace(28.0, 40.0, 25):
        at = AtTemperature.of(t_c)
        assert 0.35 < at.cells_per_sugar * at.ethanol_per_cells < 0.5114


def test_its_constants_at_34_c():
    """Worked out by hand from the printed expressions."""
    at = AtTemperature.of(34.0)
    assert at.growth_per_h == pytest.approx(0.4238, abs=5e-4)
    assert at.most_cells_g_l == pytest.approx(58.34, abs=0.01)
    assert at.most_ethanol_g_l == pytest.approx(107.12, abs=0.01)
    assert at.cells_per_sugar * at.ethanol_per_cells == pytest.approx(0.431, abs=1e-3)


def isothermal(t_c, sugar_g_l, yeast_g_l, hours):
    size = TankSize(1000.0, 1e12, 0.0)  # so much metal that nothing warms it
    tank = Tank(fluid(), size, t_c)
    tank.liquid.take(mixture(fluid(), 500.0, 0.0, t_c))
    volume_l = 500.0 / (1.0 - sugar_g_l / 1000.0 * 0.62)
    tank.sugar_kg, tank.yeast_kg = sugar_g_l * volume_l / 1000, yeast_g_l * volume_l / 1000
    for _ in range(int(hours * 360)):
        tank.step(10.0, t_c, 12.0)
    return tank


@pytest.mark.parametrize("t_c", [28.0, 34.0])
def test_a_tank_held_at_a_temperature_follows_the_paper_s_curve(t_c):
    """The paper's own equations by a general library; the tank's litres shrink a little."""
    tank = isothermal(t_c, 120.0, 3.0, 5.0)
    peer = solve_ivp(published(t_c), (0, 5.0), (3.0, 0.0, 120.0), rtol=1e-8, atol=1e-8)
    g_l = 1000.0 / tank.volume_l
    assert tank.yeast_kg * g_l == pytest.approx(peer.y[0, -1], rel=0.05)
    assert (tank.liquid.ethanol_kg + tank.lost_kg) * g_l == pytest.approx(peer.y[1, -1], rel=0.05)
    assert tank.sugar_kg * g_l == pytest.approx(peer.y[2, -1], abs=2.0)


def test_no_sugar_gives_more_than_stoichiometry_allows():
    tank = isothermal(22.0, 150.0, 5.0, 60.0)
    assert tank.made_kg <= 0.5114 * tank.used_kg * (1 + 1e-12)
    assert tank.made_kg > 0.4 * tank.used_kg


def test_a_ferment_goes_faster_warm_and_stops_hot():
    used = {t_c: isothermal(t_c, 120.0, 1.0, 6.0).used_kg for t_c in (15.0, 22.0, 32.0, 45.0)}
    assert used[15.0] < used[22.0] < used[32.0]
    assert used[45.0] < 0.1 * used[32.0]


def test_its_heat_is_the_sugar_s():
    """100.4 kJ for a mole of hexose (Williams 1982, Am. J. Enol. Vitic. 33, 149; from memory)."""
    tank = Tank(fluid(), TankSize(500.0, 1.0, 0.0), 30.0)
    tank.liquid.take(mixture(fluid(), 200.0, 0.0, 30.0))
    tank.sugar_kg, tank.yeast_kg = 6.0, 1.0
    began_c = 30.0
    tank.liquid.settle()
    while tank.sugar_kg > 0.01:
        tank.step(10.0, 20.0, 12.0)
    fermented_kg = tank.made_kg / 0.5114
    expected_k = fermented_kg * 557.0 / (200.0 * 4.18)
    assert tank.temperature_c - began_c == pytest.approx(expected_k, rel=0.05)


def mashed(t_c, hours=1.5):
    tank = Tank(fluid(), TankSize(500.0, 1e12, 0.0), t_c)
    tank.liquid.take(mixture(fluid(), 200.0, 0.0, t_c))
    tank.add_grain(GRAINS["rye"], 35.0, t_c)
    tank.add_grain(GRAINS["rye malt"], 30.0, t_c)
    for _ in range(int(hours * 360)):
        tank.step(10.0, t_c, 12.0)
    return tank


def test_a_mash_converts_best_where_mashes_are_held():
    """Common practice, no source: near 60 to 66 C; cold it stays starch, hot it stays dextrin."""
    made = {t_c: mashed(t_c).sugar_kg for t_c in (45.0, 64.0, 76.0)}
    assert made[64.0] > 3 * made[45.0]
    assert made[64.0] > 3 * made[76.0]
    assert mashed(76.0).mash.dextrin_kg > mashed(64.0).mash.dextrin_kg
    starch = 35.0 * 0.58 + 30.0 * 0.57
    assert 0.6 < made[64.0] / (starch * 180.16 / 162.14) < 0.95


def test_some_dextrin_stays_whatever_the_enzymes_do():
    """Amylases leave some eighth of starch about its branches (from memory); none is lost."""
    tank = mashed(62.0, hours=30.0)
    starch_kg = 35.0 * 0.58 + 30.0 * 0.57
    mash = tank.mash
    assert mash.limit_kg == pytest.approx(0.12 * (starch_kg - mash.starch_kg), rel=0.01)
    found_kg = tank.sugar_kg * 162.14 / 180.16 + mash.dissolved_kg + mash.swollen_kg
    assert found_kg + mash.starch_kg == pytest.approx(starch_kg, rel=1e-9)


def test_beta_amylase_is_largely_lost_after_half_an_hour_at_65_c():
    """Summary of a paper of 1990: a tenth or less is left."""
    tank = mashed(65.0, hours=0.5)
    assert tank.mash.beta / (35.0 * 0.1 + 30.0 * 0.8) == pytest.approx(0.1, abs=0.05)
    assert tank.mash.alpha / (35.0 * 0.1 + 30.0 * 0.8) > 0.8
