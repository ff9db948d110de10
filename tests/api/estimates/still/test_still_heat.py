"""The heat a charge holds: between what was measured cold and what its equilibrium says warm."""

import numpy as np
import pytest

from api.estimates.ground import Measured, ProbeGround, RunGround, StillGround
from api.estimates.still.members import Chance, Row, begin, frame_of
from calc.activity import REFERENCE_K, A, B, C
from calc.alcoholometry import mole_fraction_from_abv
from calc.heat import GAS_J_MOL_K

WARM_K = 333.15
WATER_J_MOL_K, ETHANOL_J_MOL_K = 75.4, 127.0  # at 60 °C; CRC Handbook, from memory


def excess_j_mol(x, kelvin):
    """The excess energy of `calc.activity`'s own form."""
    u = 1000.0 / kelvin - 1000.0 / REFERENCE_K
    terms = ((a + b * u + c * u * u) * (2.0 * x - 1.0) ** k
             for k, (a, b, c) in enumerate(zip(A, B, C, strict=True)))  # fmt: skip
    return GAS_J_MOL_K * kelvin * x * (1.0 - x) * sum(terms)


def by_equilibrium_j_mol_k(x):
    """Heat held is -T d2G/dT2 (Gibbs and Helmholtz)."""
    below, here, above = (excess_j_mol(x, WARM_K + step) for step in (-2.0, 0.0, 2.0))
    beyond = -WARM_K * (above - 2.0 * here + below) / 4.0
    return (1.0 - x) * WATER_J_MOL_K + x * ETHANOL_J_MOL_K + beyond


@pytest.mark.parametrize("abv", [12.0, 20.0, 28.0])
def test_it_is_taken_between_the_table_and_the_equilibrium(abv):
    run = RunGround("one", "spirit", 0, Measured(40.0, 0.4), Measured(abv, 0.05))
    frame = frame_of(StillGround(volume_l=60.0), run, 1000.0)
    s = begin(frame, Chance.new(), 20.0, (ProbeGround(), ProbeGround()), 0.7)
    x = float(mole_fraction_from_abv(abv))
    table = float(frame.boiling.held_j_mol_k(x))
    off, error = float(np.mean(s[Row.LN_HELD])), float(np.std(s[Row.LN_HELD]))
    taken = table * np.exp(off)
    assert by_equilibrium_j_mol_k(x) < taken < table
    assert abs(np.log(by_equilibrium_j_mol_k(x) / taken)) < error
    assert abs(off) < error
