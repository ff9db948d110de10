"""The still: a pot, a column that holds up liquid, condensers, and what runs from the spout."""

from math import exp
from typing import Final

from logger.plant.cell import NOTHING, Cell, Flow
from logger.plant.condenser import Condenser
from logger.plant.fluid import ETHANOL_KG_MOL, Fluid
from logger.plant.foam import SIMMER_K, Foam
from logger.plant.still_size import StillSize

EBULLIOSCOPIC_K_KG_MOL: Final = 0.512  # of water; handbook value, from memory
SOLIDS_KG_MOL: Final = 0.25  # dissolved matter of a finished wash: dextrins and glycerol; assumed
SOLIDS_L_KG: Final = 0.62
CLEAR_FOAM: Final = 0.08
_EXPANDED: Final = 1.04  # a hot charge against its volume at 20 C
_TURNOVER: Final = 0.12  # of the smallest holdup that may pass in one step
_SHORTEST_S: Final = 0.1
_MOL_L: Final = 40.0  # of a liquid between water and spirit, about
_K_HPA: Final = 0.028  # how boiling rises with pressure, about
_LATENT_J_MOL: Final = 40_000.0  # about
_PRESSURE_LAG_S: Final = 10.0
_SPOUT_LOSS_W_K: Final = 0.3
_OVER: Final = 0.5  # of the foam that leaves the pot, what reaches the spout


def _least_holdup_l(size: StillSize) -> float:
    """Give the smallest holdup of the column; a bare pot has none to watch."""
    neck = (size.neck_holdup_l,) if size.neck else ()
    return min((*neck, *([size.stage_holdup_l] * bool(size.stages))), default=1.0)


class Still:
    """A still in some state; `step` is one step of time."""

    def __init__(self, fluid: Fluid, size: StillSize, room_c: float) -> None:
        self.fluid = fluid
        self.size = size
        self.pot = Cell(fluid, size.metal_j_k, room_c)
        self.stages = [Cell(fluid, size.stage_metal_j_k, room_c) for _ in range(size.stages)]
        self.neck = Cell(fluid, size.neck_metal_j_k, room_c) if size.neck else None
        self.product = Condenser(fluid, size.product, room_c)
        self.reflux = Condenser(fluid, size.reflux, room_c) if size.reflux else None
        self.spout = Cell(fluid, 60.0, room_c)
        self.foam = Foam(CLEAR_FOAM)
        self.solids_kg = 0.0
        self.power_w = 0.0  # what it is set to
        self.heat_w = 0.0  # what reaches the charge
        self.water_l_min = {"product": 0.0, "reflux": 0.0}
        self.hose_on = True
        self.vent_hpa = 0.0  # what a blocked way out adds
        self.vapour_mol_s = 0.0  # up from the pot
        self.run_off = NOTHING  # of the last step
        self.vented = NOTHING  # since the beginning
        self.heat_in_j = self.lost_j = 0.0  # since the beginning
        self.hpa = 1013.25
        self.step_s = 1.0  # the last step's length
        self._least_mol = _MOL_L * _least_holdup_l(size)
        self._clock_s = 0.0
        self._part_s = 1.0  # how long `vapour_mol_s` was the flow
        self._out_mol_s = 0.0  # vapour, as the pressure feels it

    @property
    def cells(self) -> list[Cell]:
        """Every place that holds liquid, from the pot to the spout."""
        necks = [] if self.neck is None else [self.neck]
        return [self.pot, *self.stages, *necks, self.spout]

    @property
    def vented_ethanol_kg(self) -> float:
        """What has left as vapour, since the beginning."""
        return self.vented.ethanol_mol * ETHANOL_KG_MOL

    @property
    def head_c(self) -> float:
        """Where the head probe sits."""
        if self.neck is None or (self.size.head_probe == "before_reflux" and self.stages):
            return (self.stages[-1] if self.stages else self.pot).temperature_c
        return self.neck.temperature_c

    @property
    def column_c(self) -> float:
        """Half-way up the column."""
        middle = self.stages[(len(self.stages) - 1) // 2] if self.stages else self.neck
        return (middle or self.pot).temperature_c

    @property
    def fill_l(self) -> float:
        """What stands in the pot, hot as it may be, with what is dissolved in it."""
        hot = 1.0 + (_EXPANDED - 1.0) * max(self.pot.temperature_c - 20.0, 0.0) / 70.0
        return self.pot.volume_l * hot + self.solids_kg * SOLIDS_L_KG

    def step(self, dt_s: float, room_c: float, inlet_c: float, barometer_hpa: float) -> None:
        """Go on by a step; a fast column is given shorter ones."""
        self.step_s = dt_s
        parts = self._parts(dt_s)
        off = NOTHING
        for _ in range(parts):
            self._step(dt_s / parts, room_c, inlet_c, barometer_hpa)
            off = off.plus(self.run_off)
        self.run_off = off

    def _parts(self, dt_s: float) -> int:
        vapour = max(self.vapour_mol_s, self.heat_w / 45_000.0)
        if vapour <= 0.0:
            return 1
        longest_s = max(_TURNOVER * self._least_mol / vapour, _SHORTEST_S)
        return int(dt_s / longest_s) + 1

    def _step(self, dt_s: float, room_c: float, inlet_c: float, barometer_hpa: float) -> None:
        self._clock_s += dt_s
        self.hpa = barometer_hpa + self._above_barometer_hpa()
        self._part_s = dt_s
        self._heat(dt_s)
        self._lose(dt_s, room_c)
        vapour = self._boil_pot(dt_s)
        over = self._carry_over(vapour.mol, dt_s)
        vapour = self._up_the_column(vapour, dt_s)
        self._down_the_column()
        self._run_off(vapour, over, dt_s, barometer_hpa)
        self._run_water(dt_s, room_c, inlet_c)

    def _above_barometer_hpa(self) -> float:
        """Give the pressure that drives the vapour out, following its flow with a lag.

        A pot answers a rise of pressure by taking up heat in place of boiling: the larger the
        pot, the slower the two come to terms. Without that the flow would swing step by step.
        """
        drop = self.size.drop_hpa_per_mol2_s2
        if drop > 0.0:
            heat_j_hpa = self.pot.capacity_j_k * _K_HPA
            swing_s = 2.0 * drop * self._out_mol_s * heat_j_hpa / _LATENT_J_MOL
            part = 1.0 - exp(-self._part_s / (_PRESSURE_LAG_S + 2.0 * swing_s))
            self._out_mol_s += part * (self.vapour_mol_s - self._out_mol_s)
        return self.vent_hpa + drop * self._out_mol_s**2

    def _heat(self, dt_s: float) -> None:
        size = self.size
        asked = self.power_w * size.efficiency
        if size.power_cycle_s > 0.0:
            full = max(self.power_w, 1.0) / 0.8 * size.efficiency  # on for 80 % of the time
            asked = full if self._clock_s % size.power_cycle_s < 0.8 * size.power_cycle_s else 0.0
            asked = asked if self.power_w > 0.0 else 0.0
        if size.heat_source == "element" and size.element_cover_l > 0.0:
            asked *= min(self.pot.volume_l / size.element_cover_l, 1.0)
        self.heat_w = asked + (self.heat_w - asked) * exp(-dt_s / size.heat_lag_s)
        self.pot.heat_j += self.heat_w * dt_s
        self.heat_in_j += self.heat_w * dt_s

    def _lose(self, dt_s: float, room_c: float) -> None:
        size = self.size
        lost = self.pot.cool(size.loss_w_k, room_c, dt_s) if size.loss_w_k else 0.0
        if size.stage_loss_w_k:
            lost += sum(cell.cool(size.stage_loss_w_k, room_c, dt_s) for cell in self.stages)
        if self.neck is not None and size.neck_loss_w_k:
            lost += self.neck.cool(size.neck_loss_w_k, room_c, dt_s)
        self.lost_j += lost + self.spout.cool(_SPOUT_LOSS_W_K, room_c, dt_s)

    def _boil_pot(self, dt_s: float) -> Flow:
        water_kg = self.pot.water_kg
        if self.solids_kg > 0.0 and water_kg > 0.0:
            molal = self.solids_kg / SOLIDS_KG_MOL / water_kg
            self.pot.solids_k = EBULLIOSCOPIC_K_KG_MOL * molal
        else:
            self.pot.solids_k = 0.0
        vapour = self.pot.boil(self.hpa)
        self.vapour_mol_s = vapour.mol / dt_s
        return vapour

    def _carry_over(self, vapour_mol: float, dt_s: float) -> Flow:
        """Let foam carry liquid into the column and beyond; gives what reaches the condenser."""
        simmer_w = 0.0
        if vapour_mol <= 0.0 and self.heat_w > 0.0 and self.pot.mol > 0.0:
            short_k = self.fluid.boil(self.pot.fraction, self.hpa).temperature_c
            short_k -= self.pot.temperature_c
            simmer_w = self.heat_w * max(0.0, 1.0 - short_k / SIMMER_K)
        headroom_l = max(self.size.volume_l - self.fill_l, 0.0)
        litres = self.foam.step(vapour_mol, simmer_w, headroom_l, dt_s)
        if litres <= 0.0:
            return NOTHING
        foam = self.pot.give(litres / self.fluid.litres_mol(self.pot.fraction))
        column = self.cells[1:-1]
        for cell in column:
            cell.take(foam.share((1.0 - _OVER) / len(column)))
        return foam.share(_OVER if column else 1.0)

    def _up_the_column(self, vapour: Flow, dt_s: float) -> Flow:
        for cell in self.stages:
            cell.take(vapour)
            vapour = cell.boil(self.hpa)
        if self.reflux is not None:
            at_c = (self.stages[-1] if self.stages else self.pot).temperature_c
            back, vapour = self.reflux.condense(vapour, at_c, self.hpa, dt_s)
            self._below_neck.take(back)
        if self.neck is not None:
            self.neck.take(vapour)
            vapour = self.neck.boil(self.hpa)
        return vapour

    @property
    def _below_neck(self) -> Cell:
        return self.stages[-1] if self.stages else self.pot

    def _down_the_column(self) -> None:
        """Let what stands above each stage's holdup run down; a flooded column sends it up."""
        flooded = min(max(self.vapour_mol_s / self.size.flood_mol_s - 1.0, 0.0), 0.5)
        above, below = self.neck, self._below_neck
        if above is not None:
            below.take(above.over(self.size.neck_holdup_l / self._litre(above)))
        for place in reversed(range(len(self.stages))):
            cell = self.stages[place]
            down = cell.over(self.size.stage_holdup_l / self._litre(cell))
            lower = self.stages[place - 1] if place else self.pot
            upper = self.stages[place + 1] if place + 1 < len(self.stages) else above
            if flooded and upper is not None:
                upper.take(down.share(flooded))
                down = down.share(1.0 - flooded)
            lower.take(down)

    def _litre(self, cell: Cell) -> float:
        return self.fluid.litres_mol(cell.fraction)

    def _run_off(self, vapour: Flow, over: Flow, dt_s: float, barometer_hpa: float) -> None:
        """Condense what comes over; what stays vapour warms the spout and then leaves by it."""
        from_c = self.neck.temperature_c if self.neck is not None else self.head_c
        condensed, escaped = self.product.condense(vapour, from_c, self.hpa, dt_s)
        self.spout.take(condensed)
        self.spout.take(self.product.chill(over, self.pot.temperature_c, dt_s))
        self.spout.take(escaped)
        vented = self.spout.boil(barometer_hpa)
        if vented is not NOTHING:
            self.vented = self.vented.plus(vented)
        self.run_off = self.spout.over(self.size.spout_holdup_l / self._litre(self.spout))

    def _run_water(self, dt_s: float, room_c: float, inlet_c: float) -> None:
        for name, condenser in (("product", self.product), ("reflux", self.reflux)):
            if condenser is None:
                continue
            if not self.hose_on and name == "product":
                condenser.drain(dt_s)
            flow = self.water_l_min[name] if self.hose_on or name == "reflux" else 0.0
            condenser.run_water(flow, inlet_c, room_c, dt_s)
