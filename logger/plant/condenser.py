"""A condenser: vapour in at the warm end, water in at the cold end, heat from one to the other."""

from dataclasses import dataclass
from math import exp
from typing import Final

from logger.plant.cell import NOTHING, Flow
from logger.plant.fluid import Fluid, Liquid

WATER_J_KG_K: Final = 4186.0
_LUMPS: Final = 4
_WARMEST_LAST: Final = tuple(reversed(range(_LUMPS)))
_TO_ROOM_W_K: Final = 0.8  # of the whole jacket
_DRAIN_S: Final = 15.0  # how fast a jacket runs empty when its hose comes off
_DRY: Final = 0.02  # of its heat exchange is left to an empty jacket


@dataclass(frozen=True, slots=True)
class CondenserSize:
    """What a condenser is built like."""

    exchange_w_k: float = 600.0  # condensing, whole surface
    cooling_w_k: float = 140.0  # cooling the liquid after it has condensed
    water_kg: float = 3.0
    metal_j_k: float = 1500.0


class Condenser:
    """The state of a condenser: the temperature of its water from the warm end to the cold end."""

    def __init__(self, fluid: Fluid, size: CondenserSize, temperature_c: float) -> None:
        self.fluid = fluid
        self.size = size
        self.water_c = [temperature_c] * _LUMPS
        self.filled = 1.0  # of its jacket
        self.liquid_c = temperature_c  # of what last ran off
        self.to_water_j = self.to_room_j = 0.0  # since the beginning
        self._heat = [0.0] * _LUMPS

    @property
    def outlet_c(self) -> float:
        """The water's temperature where it leaves."""
        return self.water_c[0]

    @property
    def heat_j(self) -> float:
        """Heat in water and metal, from 0 C; water that drains takes its own along."""
        return self._lump_j_k * sum(self.water_c)

    @property
    def _lump_j_k(self) -> float:
        size = self.size
        return (size.water_kg * WATER_J_KG_K * self.filled + size.metal_j_k) / _LUMPS

    def condense(self, vapour: Flow, at_c: float, hpa: float, dt_s: float) -> tuple[Flow, Flow]:
        """Take vapour; give the liquid that runs off, and the vapour that goes on."""
        heat = self._heat = [0.0] * _LUMPS
        mol = vapour.ethanol_mol + vapour.water_mol
        if mol <= 0.0:
            return NOTHING, NOTHING
        x = vapour.fraction
        boils_c = min(self.fluid.boil(x, hpa).temperature_c, at_c)
        liquid = self.fluid.liquid(x)
        latent = vapour.heat_j / mol - liquid.heat(boils_c)
        exchange = self._wet * self.size.exchange_w_k / _LUMPS * dt_s
        wanted = left = mol * latent
        liquid_c = boils_c
        for i, water_c in enumerate(self.water_c):
            passes = exchange * (boils_c - water_c)
            if passes > 0.0:
                heat[i] = passes = min(left, passes)
                left -= passes
            if left <= 0.0:
                liquid_c = self._cool(i, liquid_c, liquid, mol, dt_s)
        part = 1.0 - left / wanted
        given = sum(heat)
        self.liquid_c = liquid_c if left <= 0.0 else boils_c
        gone_on = vapour.share(1.0 - part) if part < 1.0 else NOTHING
        condensed = Flow(
            vapour.ethanol_mol - gone_on.ethanol_mol,
            vapour.water_mol - gone_on.water_mol,
            vapour.heat_j - gone_on.heat_j - given,
        )
        return condensed, gone_on

    def _cool(self, i: int, liquid_c: float, liquid: Liquid, mol: float, dt_s: float) -> float:
        """Cool the condensate along one lump; gives its temperature there after."""
        exchange = self._wet * self.size.cooling_w_k / _LUMPS * dt_s
        water_c = self.water_c[i]
        part = exp(-exchange / (mol * liquid.capacity(liquid_c)))
        cooled = water_c + (liquid_c - water_c) * part
        self._heat[i] += mol * (liquid.heat(liquid_c) - liquid.heat(cooled))
        return cooled

    def chill(self, flow: Flow, from_c: float, dt_s: float) -> Flow:
        """Cool a liquid that comes over without being boiled: foam, carried over."""
        if flow.mol <= 0.0:
            return flow
        liquid, liquid_c, before = self.fluid.liquid(flow.fraction), from_c, sum(self._heat)
        for i in range(_LUMPS):
            liquid_c = self._cool(i, liquid_c, liquid, flow.mol, dt_s)
        self.liquid_c = liquid_c
        return flow._replace(heat_j=flow.heat_j - (sum(self._heat) - before))

    @property
    def _wet(self) -> float:
        return max(self.filled, _DRY)

    def run_water(self, flow_l_min: float, inlet_c: float, room_c: float, dt_s: float) -> None:
        """Let the water through that takes the heat away, from the cold end to the warm end."""
        self._drain_or_fill(flow_l_min, inlet_c, dt_s)
        capacity = self._lump_j_k
        through = flow_l_min / 60.0 * WATER_J_KG_K * dt_s
        to_room = _TO_ROOM_W_K / _LUMPS * dt_s
        water_c, heat, comes_c = self.water_c, self._heat, inlet_c
        for i in _WARMEST_LAST:
            held = capacity * water_c[i] + heat[i]
            after = (held + through * comes_c + to_room * room_c) / (capacity + through + to_room)
            self.to_room_j += to_room * (after - room_c)
            water_c[i] = comes_c = after
        self.to_water_j += through * (comes_c - inlet_c)
        self._heat = [0.0] * _LUMPS

    def _drain_or_fill(self, flow_l_min: float, inlet_c: float, dt_s: float) -> None:
        """Fill a jacket that ran empty as soon as water runs; heat comes with it."""
        if flow_l_min > 0.0 and self.filled < 1.0:
            self._change(
                min(1.0, self.filled + dt_s * flow_l_min / 60.0 / self.size.water_kg), inlet_c
            )

    def drain(self, dt_s: float) -> None:
        """Run empty through the open end."""
        self._change(self.filled * exp(-dt_s / _DRAIN_S), None)

    def _change(self, filled: float, inlet_c: float | None) -> None:
        """Change how full the jacket is; draining water leaves at its own temperature."""
        lump_kg = self.size.water_kg / _LUMPS
        moved_j_k = (filled - self.filled) * lump_kg * WATER_J_KG_K
        before = self._lump_j_k
        self.filled = filled
        for i, water_c in enumerate(self.water_c):
            if inlet_c is None:
                self.to_water_j -= moved_j_k * water_c
            else:
                self.to_water_j -= moved_j_k * inlet_c
                self.water_c[i] = (before * water_c + moved_j_k * inlet_c) / self._lump_j_k
