"""Looks into a plant and says what is true."""

from calc.alcoholometry import density
from logger.plant.cell import Cell
from logger.plant.fluid import ETHANOL_KG_L
from logger.plant.parameters import STILL
from logger.plant.plant import Plant
from logger.plant.tank import Tank
from logger.plant.truth import Holding, Truth

_WATER_KG_L = float(density(0.0, 20.0)) / 1000.0
_OTHER_L_KG = 0.62  # dissolved matter


def truth(plant: Plant) -> Truth:
    """Say everything that estimates may be held against."""
    still, fluid = plant.still, plant.fluid
    pot = still.pot
    vapour = 0.0
    if still.vapour_mol_s > 0.0 and pot.mol > 0.0:
        vapour = fluid.abv(fluid.boil(pot.fraction, still.hpa).vapour)
    collected = plant.collected_kg / ETHANOL_KG_L
    vessels = {name: _in_tank(tank) for name, tank in plant.tanks.items()}
    return Truth(
        t_s=plant.t_s,
        vessels=vessels | {STILL: _holding(pot)},
        lots={name: _holding(lot) for name, lot in plant.lots.items()},
        stages=dict(plant.stages),
        vapour_abv=vapour,
        spout_abv=spout_abv(plant),
        spout_l_min=spout_l_min(plant),
        heat_w=still.heat_w,
        condensing_w=plant.condensing_w,
        still_hpa=still.hpa,
        pressure_hpa=plant.pressure_hpa,
        collected_l=plant.collected_l,
        collected_pure_l=collected,
        over_fraction=plant.collected_kg / plant.charge_kg if plant.charge_kg else 0.0,
        column_pure_l=sum(cell.pure_alcohol_l for cell in still.cells[1:]),
        vented_pure_l=still.vented_ethanol_kg / ETHANOL_KG_L,
        with_gas_pure_l=sum(tank.lost_kg for tank in plant.tanks.values()) / ETHANOL_KG_L,
        taken_pure_l=plant.taken_ethanol_kg / ETHANOL_KG_L,
        foam_l=still.foam.volume_l,
        troubles=tuple(plant.cases),
    )


def spout_abv(plant: Plant) -> float:
    """Say the strength of what runs off; 0 while nothing does."""
    flow = plant.still.run_off
    return plant.fluid.abv(flow.fraction) if flow.mol > 0.0 else 0.0


def spout_l_min(plant: Plant) -> float:
    """Say how fast it runs, as volume at 20 C."""
    flow = plant.still.run_off
    return flow.mol * plant.fluid.litres_mol(flow.fraction) * 60.0 / plant.still.step_s


def gravity(tank: Tank) -> float:
    """Give the specific gravity of the liquid with what is dissolved in it, 20 C / 20 C."""
    liquid = tank.liquid
    dissolved = tank.sugar_kg + tank.mash.dissolved_kg + tank.other_kg
    litres = liquid.volume_l + dissolved * _OTHER_L_KG
    if litres <= 0.0:
        return 1.0
    return (liquid.ethanol_kg + liquid.water_kg + dissolved) / litres / _WATER_KG_L


def _in_tank(tank: Tank) -> Holding:
    liquid = tank.liquid
    if liquid.mol <= 0.0:
        return Holding(liquid.temperature_c, 0.0, 0.0, 0.0)
    volume_l = tank.volume_l
    used = tank.used_kg
    return Holding(
        liquid.temperature_c,
        volume_l,
        100.0 * liquid.pure_alcohol_l / volume_l,
        liquid.pure_alcohol_l,
        sugar_g_l=1000.0 * tank.sugar_kg / volume_l,
        sg=gravity(tank),
        fraction_done=used / (used + tank.fermentable_kg) if used > 0.0 else 0.0,
    )


def _holding(cell: Cell) -> Holding:
    return Holding(cell.temperature_c, cell.volume_l, cell.abv, cell.pure_alcohol_l)
