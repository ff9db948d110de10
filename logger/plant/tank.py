"""A mash tun or fermenter: liquid, grain, sugar and yeast at one temperature, in a room."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from logger.plant.activity import log_gammas
from logger.plant.cell import Cell, Flow, liquid_flow
from logger.plant.conversion import SUGAR_PER_STARCH, WATER_SHARE, Grain, Mash
from logger.plant.fluid import (
    ETHANOL_KG_MOL,
    WATER_KG_MOL,
    ZERO_C,
    Fluid,
    pure_hpa,
)
from logger.plant.kinetics import rates

SOLIDS_J_KG_K: Final = 1600.0  # dry grain; Pauls & Whites, Brewing Room Book 1984/85, appendix 4
SUGAR_J_KG_K: Final = 1250.0  # from memory
SUGAR_L_KG: Final = 0.62
SLAKING_J_KG: Final = 20_000.0  # grain of 4 % moisture as it wets; same appendix
# 100.4 kJ for a mole of hexose: L. A. Williams, Am. J. Enol. Vitic. 33 (1982) 149 (from memory).
HEAT_J_KG_HEXOSE: Final = 557_000.0
ETHANOL_KG_KG_HEXOSE: Final = 0.5114  # stoichiometric
CO2_KG_KG_ETHANOL: Final = 0.9553
CO2_KG_MOL: Final = 0.04401
_GAMMA_AT: Final = 0.025  # mole fraction of an ordinary wash


@dataclass(frozen=True, slots=True)
class TankSize:
    """What a tank is built like."""

    volume_l: float = 900.0
    metal_j_k: float = 40_000.0
    loss_w_k: float = 12.0
    coil_w_k: float = 350.0
    covered: bool = True


class Tank:
    """A vessel with whatever is in it."""

    def __init__(self, fluid: Fluid, size: TankSize, room_c: float) -> None:
        self.fluid = fluid
        self.size = size
        self.liquid = Cell(fluid, size.metal_j_k, room_c)
        self.mash = Mash()
        self.sugar_kg = self.yeast_kg = self.other_kg = 0.0
        self.heat_w = 0.0
        self.cool_to_c: float | None = None
        self.warm_to_c: float | None = None
        self.vigour = 1.0
        self.made_kg = self.lost_kg = self.co2_kg = 0.0  # ethanol made, and gone with the gas
        self.used_kg = 0.0  # sugar that has fermented, of what is in it now
        self.heat_in_j = self.lost_j = 0.0

    @property
    def temperature_c(self) -> float:
        """Everything in it is stirred by its own convection: one temperature."""
        return self.liquid.temperature_c

    @property
    def volume_l(self) -> float:
        """Liquid with its sugar, at 20 C; grain floats in it besides."""
        return self.liquid.volume_l + self.sugar_kg * SUGAR_L_KG

    @property
    def fermentable_kg(self) -> float:
        """Sugar, and what the mash may yet give."""
        return self.sugar_kg + self.mash.convertible_kg * SUGAR_PER_STARCH

    def add_grain(self, grain: Grain, mass_kg: float, temperature_c: float) -> None:
        """Stir grain in: its own warmth, and what it gives off as it wets."""
        self.mash.add(grain, mass_kg)
        self._add_solid(mass_kg * SOLIDS_J_KG_K, temperature_c, mass_kg * SLAKING_J_KG)

    def add_sugar(self, mass_kg: float, temperature_c: float) -> None:
        """Stir sugar in, as hexose."""
        self.sugar_kg += mass_kg
        self._add_solid(mass_kg * SUGAR_J_KG_K, temperature_c, 0.0)

    def pitch(self, mass_kg: float) -> None:
        """Pitch dry yeast."""
        self.yeast_kg += mass_kg

    def _add_solid(self, capacity_j_k: float, temperature_c: float, wetting_j: float) -> None:
        self.liquid.metal_j_k += capacity_j_k
        brought = capacity_j_k * temperature_c + wetting_j
        self.liquid.heat_j += brought
        self.heat_in_j += brought
        self.liquid.settle()

    def step(
        self,
        dt_s: float,
        room_c: float,
        coolant_c: float,
        *,
        loss_share: float = 1.0,
        coil: bool = True,
    ) -> None:
        """Go on by a step."""
        liquid = self.liquid
        self.lost_j += liquid.cool(self.size.loss_w_k * loss_share, room_c, dt_s)
        self._heat(dt_s)
        if coil:
            self._cool(dt_s, coolant_c)
        if liquid.mol > 0.0:
            self._convert(dt_s)
            self._ferment(dt_s)
        liquid.settle()

    def _heat(self, dt_s: float) -> None:
        warm_enough = self.warm_to_c is not None and self.temperature_c >= self.warm_to_c
        if self.heat_w > 0.0 and not warm_enough:
            self.liquid.heat_j += self.heat_w * dt_s
            self.heat_in_j += self.heat_w * dt_s

    def _cool(self, dt_s: float, coolant_c: float) -> None:
        """Run water through the coil down to the temperature asked for."""
        liquid = self.liquid
        if self.cool_to_c is None or liquid.temperature_c <= self.cool_to_c:
            return
        most = liquid.capacity_j_k * (liquid.temperature_c - self.cool_to_c)
        taken = self.size.coil_w_k * max(liquid.temperature_c - coolant_c, 0.0) * dt_s
        taken = min(taken, most)
        liquid.heat_j -= taken
        self.lost_j += taken

    def _convert(self, dt_s: float) -> None:
        """Turn starch into sugar, which takes up water."""
        liquid = self.liquid
        made_kg = self.mash.step(liquid.temperature_c, dt_s)
        if made_kg <= 0.0:
            return
        self.sugar_kg += made_kg
        bound = liquid_flow(
            self.fluid, 0.0, made_kg * WATER_SHARE / WATER_KG_MOL, liquid.temperature_c
        )
        liquid.take(Flow(0.0, -bound.water_mol, -bound.heat_j))
        self.lost_j += bound.heat_j

    def _ferment(self, dt_s: float) -> None:
        volume_l = self.volume_l
        if self.yeast_kg <= 0.0 or volume_l <= 0.0:
            return
        self._tire(dt_s)
        g_l = 1000.0 / volume_l
        liquid = self.liquid
        rate = rates(
            self.yeast_kg * g_l, liquid.ethanol_kg * g_l, self.sugar_kg * g_l, liquid.temperature_c
        )
        hours_kg = self.vigour * dt_s / 3600.0 * volume_l / 1000.0
        used = min(rate.sugar * hours_kg, self.sugar_kg)
        part = used / (rate.sugar * hours_kg) if rate.sugar > 0.0 and hours_kg > 0.0 else 0.0
        made = min(rate.ethanol * hours_kg * part, ETHANOL_KG_KG_HEXOSE * used)
        cells = rate.cells * hours_kg * part
        gas = made * CO2_KG_KG_ETHANOL
        self.sugar_kg -= used
        self.used_kg += used
        self.yeast_kg += cells
        self.other_kg += used - made - gas - cells
        self.made_kg += made
        self.co2_kg += gas
        heat_j = HEAT_J_KG_HEXOSE * made / ETHANOL_KG_KG_HEXOSE
        heat_j += self._in_solution_j(made / ETHANOL_KG_MOL)
        liquid.take(Flow(made / ETHANOL_KG_MOL, 0.0, heat_j))
        self.heat_in_j += heat_j
        self._strip(gas)

    def _in_solution_j(self, ethanol_mol: float) -> float:
        """Give the heat that ethanol made in the liquid holds; its mixing is in the reaction's."""
        liquid, mol = self.liquid, self.liquid.mol
        t, x = liquid.temperature_c, (liquid.ethanol_mol + ethanol_mol) / (mol + ethanol_mol)
        before = mol * self.fluid.liquid(liquid.fraction).heat(t)
        return (mol + ethanol_mol) * self.fluid.liquid(x).heat(t) - before

    def _tire(self, dt_s: float) -> None:
        """Lose yeast to heat: half of it in about 5 h at 40 C (common practice, no source)."""
        t = self.liquid.temperature_c
        if t > 36.0:
            self.yeast_kg *= float(np.exp(-dt_s / 3600.0 * 0.035 * 2.0 ** ((t - 36.0) / 2.0)))

    def _strip(self, gas_kg: float) -> None:
        """Let the gas carry off the ethanol that saturates it."""
        liquid = self.liquid
        if gas_kg <= 0.0 or liquid.ethanol_mol <= 0.0:
            return
        share = liquid.fraction * _partial_share(round(liquid.temperature_c))
        gone = min(gas_kg / CO2_KG_MOL * share, liquid.ethanol_mol)
        flow = liquid_flow(self.fluid, gone, 0.0, liquid.temperature_c)
        liquid.take(Flow(-gone, 0.0, -flow.heat_j))
        self.lost_j += flow.heat_j
        self.lost_kg += gone * ETHANOL_KG_MOL

    def pour(self, part: float) -> Flow:
        """Let out a part of the liquid, dissolved matter and grain counted apart."""
        return self.liquid.give(self.liquid.mol * part)

    def take_over(self, other: "Tank") -> None:
        """Take everything another tank holds, grain and heat included."""
        brought = other.liquid.metal_j_k - other.size.metal_j_k
        self.liquid.take(other.pour(1.0))
        self.liquid.metal_j_k += brought
        self.liquid.heat_j += brought * other.temperature_c
        other.liquid.heat_j -= brought * other.temperature_c
        other.liquid.metal_j_k = other.size.metal_j_k
        self.mash.take_all(other.mash)
        for name in ("sugar_kg", "yeast_kg", "other_kg", "used_kg"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
            setattr(other, name, 0.0)
        self.liquid.settle()
        other.liquid.settle()

    def drop_solids(self) -> None:
        """Take out what is not liquid, with its heat."""
        capacity = self.liquid.metal_j_k - self.size.metal_j_k
        self.liquid.metal_j_k = self.size.metal_j_k
        self.liquid.heat_j -= capacity * self.liquid.temperature_c
        self.lost_j += capacity * self.liquid.temperature_c
        self.mash = Mash()
        self.sugar_kg = self.yeast_kg = self.other_kg = self.used_kg = 0.0


_SHARES: dict[int, float] = {}


def _partial_share(temperature_c: int) -> float:
    """Give ethanol's partial pressure per mole fraction, in atmospheres, in a weak wash."""
    if temperature_c not in _SHARES:
        kelvin = temperature_c + ZERO_C
        gamma = float(np.exp(log_gammas(_GAMMA_AT, kelvin)[0]))
        _SHARES[temperature_c] = gamma * float(pure_hpa(kelvin)[0]) / 1013.25
    return _SHARES[temperature_c]
