"""The plant's still against closed forms and the calculations it knows nothing of."""

from dataclasses import replace
from math import exp, log

import pytest

from calc.simple_distillation import simple_distillation
from logger.plant.cell import Cell, mixture
from logger.plant.condenser import Condenser, CondenserSize
from logger.plant.fluid import fluid
from logger.plant.still import Still
from logger.plant.still_size import StillSize
from logger.plant.weather import Room

IDEAL = StillSize(  # no holdup, no losses, nothing in the way
    volume_l=60.0, metal_j_k=1e-3, loss_w_k=0.0, stages=0, neck=False,
    drop_hpa_per_mol2_s2=0.0, element_cover_l=0.0, spout_holdup_l=1e-3,
)  # fmt: skip


def boil_down(still, volume_l, abv, hpa, until_abv):
    still.pot.take(mixture(fluid(), volume_l, abv, 20.0))
    still.pot.settle()
    still.power_w, still.water_l_min["product"] = 3000.0, 5.0
    collected = Cell(fluid(), 1e-3, 20.0)
    for _ in range(40_000):
        still.step(1.0, 20.0, 12.0, hpa)
        collected.take(still.run_off)
        if still.run_off.mol > 0.0 and fluid().abv(still.run_off.fraction) < until_abv:
            return collected
    pytest.fail("the spout never fell so far")


@pytest.mark.parametrize(
    ("volume_l", "abv", "hpa", "end"),
    [(25.0, 9.0, 1013.25, 10.0), (40.0, 28.0, 1013.25, 20.0), (30.0, 8.0, 940.0, 8.0)],
)
def test_without_holdup_and_losses_it_boils_down_as_rayleigh_says(volume_l, abv, hpa, end):
    """Within the difference of two published models: 2 % of volume and 0.7 % vol."""
    collected = boil_down(Still(fluid(), IDEAL, 20.0), volume_l, abv, hpa, end)
    expected = simple_distillation(volume_l, abv, hpa, end_spout_abv=end)
    assert collected.volume_l == pytest.approx(expected.collected_volume_l, rel=0.02)
    assert collected.abv == pytest.approx(expected.collected_abv, abs=0.7)


def test_rayleigh_s_integral_holds_on_its_way():
    """ln(L0/L) is the integral of dx/(y - x): the definition of differential distillation."""
    still = Still(fluid(), IDEAL, 20.0)
    still.pot.take(mixture(fluid(), 25.0, 9.0, 92.0))
    still.pot.settle()
    still.power_w, still.water_l_min["product"] = 3000.0, 5.0
    while still.vapour_mol_s < 0.05:
        still.step(1.0, 20.0, 12.0, 1013.25)
    began, integral, before = still.pot.mol, 0.0, still.pot.fraction
    for _ in range(3000):
        still.step(1.0, 20.0, 12.0, 1013.25)
        middle = (before + still.pot.fraction) / 2
        y = fluid().boil(middle, 1013.25).vapour
        integral += (before - still.pot.fraction) / (y - middle)
        before = still.pot.fraction
    assert integral == pytest.approx(log(began / still.pot.mol), rel=0.005)


def test_cooling_follows_its_closed_form():
    """T - room = (T0 - room) exp(-t UA / C), water whose heat capacity is nearly constant."""
    size = replace(IDEAL, loss_w_k=20.0, metal_j_k=5000.0)
    still = Still(fluid(), size, 20.0)
    still.pot.take(mixture(fluid(), 50.0, 0.0, 60.0))
    still.pot.heat_j += 5000.0 * 40.0
    still.pot.settle()
    capacity = still.pot.capacity_j_k
    began_k = still.pot.temperature_c - 20.0
    for _ in range(3600 * 3):
        still.step(1.0, 20.0, 12.0, 1013.25)
    expected = 20.0 + began_k * exp(-3 * 3600.0 * 20.0 / capacity)
    assert still.pot.temperature_c == pytest.approx(expected, abs=0.05)


def test_a_room_cools_by_its_closed_form():
    room = Room(25.0, kept_c=-50.0)
    for _ in range(720):
        room.step(10.0, 5.0, 0.0)
    expected = 5.0 + 20.0 * exp(-7200.0 * room.loss_w_k / room.capacity_j_k)
    assert room.temperature_c == pytest.approx(expected, abs=0.02)


def test_at_total_reflux_three_plates_are_four_stages_with_the_pot():
    """Stage to stage by hand: at total reflux each vapour is the liquid above it."""
    size = StillSize(
        stages=3, loss_w_k=0.0, stage_loss_w_k=0.0, neck_loss_w_k=0.0, drop_hpa_per_mol2_s2=0.0,
        stage_holdup_l=1.0, reflux=CondenserSize(exchange_w_k=5000.0),
    )  # fmt: skip
    still = Still(fluid(), size, 70.0)
    still.pot.take(mixture(fluid(), 200.0, 30.0, 80.0))
    still.pot.settle()
    still.power_w, still.water_l_min["reflux"] = 6000.0, 12.0
    for _ in range(3 * 3600):
        still.step(1.0, 20.0, 12.0, 1013.25)
    x = still.pot.fraction
    for _ in range(4):
        x = fluid().boil(x, still.hpa).vapour
    top = fluid().boil(still.stages[-1].fraction, still.hpa).vapour
    assert fluid().abv(top) == pytest.approx(fluid().abv(x), abs=0.5)


def test_a_condenser_takes_what_the_vapour_gives():
    condenser = Condenser(fluid(), CondenserSize(), 12.0)
    vapour_j = fluid().vapour_heat(0.5, 80.0)
    flow = (
        mixture(fluid(), 1.0, 50.0, 80.0)
        .share(0.0)
        ._replace(ethanol_mol=0.1, water_mol=0.1, heat_j=0.2 * vapour_j)
    )
    took = 0.0
    for _ in range(2000):
        liquid, rest = condenser.condense(flow, 80.0, 1013.25, 1.0)
        took = flow.heat_j - liquid.heat_j
        condenser.run_water(5.0, 12.0, 20.0, 1.0)
    assert rest.mol == 0.0
    assert liquid.mol == pytest.approx(0.2, rel=1e-12)
    rise_k = condenser.outlet_c - 12.0
    to_room = 0.2 * sum(water_c - 20.0 for water_c in condenser.water_c)
    assert rise_k * 5.0 / 60.0 * 4186.0 == pytest.approx(took - to_room, rel=1e-3)


def test_dissolved_matter_raises_the_boiling_point():
    """0.512 K for a mole in a kilogram of water (ebullioscopic constant, handbook)."""
    boils_c = []
    for solids_kg in (0.0, 5.0):
        still = Still(fluid(), IDEAL, 20.0)
        still.pot.take(mixture(fluid(), 20.0, 0.0, 99.0))
        still.pot.settle()
        still.solids_kg, still.power_w = solids_kg, 3000.0
        for _ in range(200):
            still.step(1.0, 20.0, 12.0, 1013.25)
        boils_c.append(still.pot.temperature_c)
    molal = 5.0 / 0.25 / still.pot.water_kg
    assert boils_c[1] - boils_c[0] == pytest.approx(0.512 * molal, rel=0.02)
