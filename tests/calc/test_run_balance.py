"""The tables a run is stepped with: against the equilibrium, the column and the energy balance."""

import numpy as np
import pytest

from calc.equilibrium import raw_bubble_k, raw_liquid, raw_vapour
from calc.heat import raw_latent_kj_mol
from calc.pressure import ZERO_C
from calc.rayleigh import boil_down
from calc.run_balance import boil_off_mol_s, boiling_table, column_table, logit, unlogit
from calc.stages import richest_top

X = np.array([1e-4, 0.001, 0.01, 0.05, 0.2, 0.5, 0.8])


@pytest.mark.parametrize("hpa", [700.0, 1013.25])
def test_the_table_is_the_equilibrium(hpa):
    table = boiling_table(hpa)
    assert table.temperature_c(X) == pytest.approx(raw_bubble_k(X, hpa) - ZERO_C, abs=0.003)
    assert table.vapour(X) == pytest.approx(raw_vapour(X, hpa), abs=0.0003)
    y = np.array([0.01, 0.1, 0.4, 0.7])
    assert table.liquid_under(y) == pytest.approx(raw_liquid(y, hpa), rel=0.003)


def test_boiling_rises_with_pressure():
    table = boiling_table(1000.0)
    risen = table.temperature_c(X, 25.0)
    assert risen == pytest.approx(raw_bubble_k(X, 1025.0) - ZERO_C, abs=0.01)


def test_the_bubble_line_slopes_as_its_differences():
    table, small = boiling_table(1013.25), 1e-5
    x = X[1:]
    slope = (raw_bubble_k(x + small, 1013.25) - raw_bubble_k(x - small, 1013.25)) / (2.0 * small)
    assert table.warming_k(x) == pytest.approx(slope, rel=0.03, abs=0.05)


@pytest.mark.parametrize(
    ("plates", "ratio", "x"), [(1, 0.05, 0.03), (3, 1.5, 0.1), (6, 2.0, 0.15), (2, 0.5, 0.01)]
)
def test_a_column_is_mccabes_and_thieles(plates, ratio, x):
    # McCabe & Thiele's construction as `calc.stages` climbs it, the pot counted as a stage.
    top = unlogit(column_table(1013.25).top(x, plates, logit(ratio / (1.0 + ratio))))
    assert top == pytest.approx(richest_top(x, plates + 1, ratio, 1013.25), abs=0.004)


def test_a_bare_pot_gives_the_vapour_over_it():
    top = unlogit(column_table(1013.25).top(X[:6], 0.0, 0.0))
    assert top == pytest.approx(raw_vapour(X[:6], 1013.25), abs=0.003)


def test_boiling_off_spends_the_heat():
    gone = boil_off_mol_s(4000.0, 0.03, 0.27, 0.5, 80.0, -240.0)
    vapour_w = gone / 0.5 * 1000.0 * float(raw_latent_kj_mol(0.27))
    warming_w = gone * 80.0 * 240.0 * 0.24
    assert vapour_w + warming_w == pytest.approx(4000.0, rel=1e-12)
    assert boil_off_mol_s(-5.0, 0.03, 0.27, 0.0, 80.0, -240.0) == 0.0


def test_stepped_through_time_it_is_rayleighs():
    # A pot stepped by `boil_off_mol_s` against the integral of d ln(L) = dx / (y - x).
    table = boiling_table(1013.25)
    ethanol, water = 30.0, 970.0
    while ethanol / (ethanol + water) > 0.01:
        x = ethanol / (ethanol + water)
        y = table.vapour(x)
        gone = boil_off_mol_s(4000.0, x, y, 0.0, 80.0, table.warming_k(x)) * 5.0
        ethanol, water = ethanol - gone * y, water - gone * (1.0 - y)
    way = boil_down(0.03, ethanol / (ethanol + water), lambda x: raw_vapour(x, 1013.25))
    assert (ethanol + water) / 1000.0 == pytest.approx(way.left[-1], rel=0.002)
