"""The plant: its vessels in their room, stepped together, and what its probes feel."""

from typing import Final

from logger.errors import PlantError
from logger.plant.cell import NOTHING, Cell, Flow, mixture
from logger.plant.fluid import ETHANOL_KG_MOL, WATER_KG_MOL, fluid
from logger.plant.parameters import LAGS_S, PlantSize, ProbeError
from logger.plant.probes import Feeler
from logger.plant.still import CLEAR_FOAM, Still
from logger.plant.supply import Supply
from logger.plant.tank import Tank
from logger.plant.troubles import Case, Trouble
from logger.plant.truth import Balance
from logger.plant.weather import Room

BUSY_STEP_S: Final = 1.0  # while the still is at work
SLOW_STEP_S: Final = 10.0  # of tanks and room
_ALIVE_C: Final = 60.0  # a pot this warm is followed closely
_FOAMS_WILDLY: Final = 6.0
_FALL_S: Final = 3600.0  # a storm's fall takes so long
_BLOCKS_S: Final = 240.0


class Plant:
    """A plant in some state. Scenario time begins at midnight, t_s = 0, unless told otherwise."""

    def __init__(self, size: PlantSize | None = None, t_s: float = 0.0) -> None:
        self.size = size or PlantSize()
        self.fluid = fluid()
        self.t_s = t_s
        room_c = self.size.room_c
        self.room = Room(room_c, kept_c=room_c - 0.5)
        self.still = Still(self.fluid, self.size.still, room_c)
        self.tanks = {
            name: Tank(self.fluid, tank.size, room_c) for name, tank in self.size.tanks.items()
        }
        self.supply = Supply(self.size.coolant_c, self.size.recirculated_l, room_c)
        self.water_l_min = {"product": 0.0, "reflux": 0.0}
        self.power_w = 0.0
        self.lots: dict[str, Cell] = {}
        self.receiver = "receiver"
        self.lot(self.receiver)
        self.stages: dict[str, str] = {}
        self.cases: dict[Trouble, Case] = {}
        self.since_s: dict[Trouble, float] = {}
        self.charge_kg = self.collected_l = self.collected_kg = self.run_off_kg = 0.0
        self._brought = self._taken = NOTHING
        self._slow_s = self._still_s = 0.0
        self.condensing_w = 0.0
        self.feelers = {place: self._feeler(place) for place in self.size.places}
        tank_places = self.size.places[-1 - len(self.tanks) : -1]
        self._tank_places = dict(zip(tank_places, self.tanks, strict=True))
        self._heat_began_j = self._heat_here_j()

    @property
    def pressure_hpa(self) -> float:
        """The barometer, with any storm."""
        hpa = self.size.weather.pressure_hpa(self.t_s)
        return hpa - self._ramp(Trouble.STORM, _FALL_S)

    def step(self, dt_s: float) -> None:
        """Go on by a step, in shorter ones while the still is at work."""
        left_s = dt_s
        while left_s > 1e-9:
            part_s = (
                BUSY_STEP_S if self._busy and self.still.pot.temperature_c > _ALIVE_C else left_s
            )
            part_s = min(part_s, left_s, SLOW_STEP_S)
            self._step(part_s)
            left_s -= part_s

    def readings(self) -> dict[str, float]:
        """Give what each place's probe converts to, in C, without noise."""
        shown = {place: feeler.shown_c for place, feeler in self.feelers.items()}
        if swapped := self.cases.get(Trouble.PROBES_SWAPPED):
            one, other = swapped.places
            shown[one], shown[other] = shown[other], shown[one]
        return shown

    def befall(self, case: Case) -> None:
        """Let a trouble begin."""
        self.mend(case.trouble)
        self.cases[case.trouble] = case
        self.since_s[case.trouble] = self.t_s
        if case.trouble is Trouble.BOIL_OVER:
            self.still.foam.liveliness = _FOAMS_WILDLY
        self._set_feelers()

    def mend(self, trouble: Trouble) -> None:
        """Let a trouble end."""
        if self.cases.pop(trouble, None) is None:
            return
        if trouble is Trouble.BOIL_OVER:
            self.still.foam.liveliness = min(self.still.foam.liveliness, CLEAR_FOAM)
        self._set_feelers()

    def tank(self, name: str) -> Tank:
        """Find a tank by name."""
        if name not in self.tanks:
            raise PlantError(f'There is no tank "{name}"; there are {", ".join(self.tanks)}.')
        return self.tanks[name]

    def lot(self, name: str) -> Cell:
        """Find what was collected under a name, or an empty vessel for it."""
        if name not in self.lots:
            self.lots[name] = Cell(self.fluid, 1.0, 0.0)
        return self.lots[name]

    def bring(self, volume_l: float, abv: float, temperature_c: float) -> Flow:
        """Give a volume (at 20 C) of a strength, brought from outside and counted."""
        flow = mixture(self.fluid, volume_l, abv, temperature_c)
        self.count_in(flow)
        return flow

    def count_in(self, flow: Flow) -> None:
        """Count what was brought from outside."""
        self._brought = self._brought.plus(flow)

    def take_away(self, flow: Flow) -> None:
        """Count what leaves the plant."""
        self._taken = self._taken.plus(flow)

    @property
    def taken_ethanol_kg(self) -> float:
        """What has been taken away, since the beginning."""
        return self._taken.ethanol_mol * ETHANOL_KG_MOL

    def charge(self, flow: Flow, solids_kg: float = 0.0, foaminess: float | None = None) -> None:
        """Put something into the pot."""
        still = self.still
        if (
            still.pot.volume_l + flow.mol * self.fluid.litres_mol(flow.fraction)
            > still.size.volume_l
        ):
            raise PlantError(
                f"The still takes {still.size.volume_l:g} L; that charge does not fit in it."
            )
        still.pot.take(flow)
        still.pot.settle()
        still.solids_kg += solids_kg
        still.foam.liveliness = max(foaminess or CLEAR_FOAM, CLEAR_FOAM)
        if Trouble.BOIL_OVER in self.cases:
            still.foam.liveliness = _FOAMS_WILDLY
        self.charge_kg = still.pot.ethanol_kg
        self.collected_l = self.collected_kg = self.run_off_kg = 0.0

    def empty_still(self) -> None:
        """Let everything out of pot and column."""
        for cell in self.still.cells[:-1]:
            self.take_away(cell.give(cell.mol))
            cell.settle()
        self.still.solids_kg = 0.0
        self.still.foam.volume_l = 0.0
        self.charge_kg = 0.0

    def balance(self) -> Balance:
        """Draw up the books."""
        tanks = self.tanks.values()
        cells = [*self.still.cells, *(tank.liquid for tank in tanks), *self.lots.values()]
        ethanol = (
            sum(cell.ethanol_mol for cell in cells)
            + self._taken.ethanol_mol
            + self.still.vented.ethanol_mol
        ) * ETHANOL_KG_MOL + sum(tank.lost_kg for tank in tanks)
        came = self._brought.ethanol_mol * ETHANOL_KG_MOL + sum(tank.made_kg for tank in tanks)
        still = self.still
        condensers = [one for one in (still.product, still.reflux) if one is not None]
        heat_in = (
            self._heat_began_j + still.heat_in_j + self._brought.heat_j
            + sum(tank.heat_in_j for tank in tanks)
        )  # fmt: skip
        heat_out = (
            still.lost_j + still.vented.heat_j + self._taken.heat_j
            + sum(one.to_water_j + one.to_room_j for one in condensers)
            + sum(tank.lost_j for tank in tanks)
        )  # fmt: skip
        return Balance(came, ethanol, heat_in, self._heat_here_j() + heat_out)

    def _heat_here_j(self) -> float:
        still = self.still
        condensers = [one for one in (still.product, still.reflux) if one is not None]
        return (
            sum(cell.heat_j for cell in still.cells)
            + sum(one.heat_j for one in condensers)
            + sum(tank.liquid.heat_j for tank in self.tanks.values())
            + sum(lot.heat_j for lot in self.lots.values())
        )

    def _step(self, dt_s: float) -> None:
        self.t_s += dt_s
        self._slow_s += dt_s
        if self._slow_s >= SLOW_STEP_S:
            self._step_slow(self._slow_s)
            self._slow_s = 0.0
        self._still_s += dt_s
        if self._busy or self._still_s >= SLOW_STEP_S:
            self._step_still(self._still_s)
            self._still_s = 0.0
        room_c = self.room.temperature_c
        for place, true_c in self.true_c().items():
            self.feelers[place].step(true_c, room_c, dt_s)

    @property
    def _busy(self) -> bool:
        """Whether the still needs to be followed closely."""
        still = self.still
        return self.power_w > 0.0 or still.heat_w > 1.0 or still.vapour_mol_s > 0.0

    def _step_still(self, dt_s: float) -> None:
        still, cases = self.still, self.cases
        cut = Trouble.POWER_CUT in cases
        dead = Trouble.HEAT_LOST in cases or (cut and still.size.heat_source == "element")
        still.power_w = 0.0 if dead else self.power_w
        still.hose_on = Trouble.HOSE_OFF not in cases
        still.vent_hpa = self._ramp(Trouble.VENT_BLOCKED, _BLOCKS_S)
        share = 1.0
        if weak := cases.get(Trouble.COOLANT_WEAK):
            share = weak.amount / 100.0
        if Trouble.COOLANT_STOPPED in cases or (cut and self.size.pumped):
            share = 0.0
        for name, l_min in self.water_l_min.items():
            still.water_l_min[name] = l_min * share
        self.supply.step(
            dt_s,
            flowing_l_min=0.0 if not still.hose_on else still.water_l_min["product"],
            outlet_c=still.product.outlet_c,
            warmer_k=self._ramp(Trouble.COOLANT_WARM, 900.0),
            room_c=self.room.temperature_c,
        )
        before_j = still.product.to_water_j
        still.step(dt_s, self.room.temperature_c, self.supply.inlet_c, self.pressure_hpa)
        self.condensing_w = (still.product.to_water_j - before_j) / dt_s
        self._collect(still.run_off)

    def _collect(self, flow: Flow) -> None:
        if flow.mol <= 0.0:
            return
        self.lot(self.receiver).take(flow)
        self.collected_l += flow.mol * self.fluid.litres_mol(flow.fraction)
        ethanol_kg = flow.ethanol_mol * ETHANOL_KG_MOL
        self.collected_kg += ethanol_kg
        self.run_off_kg += ethanol_kg + flow.water_mol * WATER_KG_MOL

    def _step_slow(self, dt_s: float) -> None:
        weather, room, cases = self.size.weather, self.room, self.cases
        room.door_open = Trouble.DOOR_OPEN in cases
        room.heater_w = 0.0 if Trouble.POWER_CUT in cases else 4000.0
        given = self.still.size.loss_w_k * (self.still.pot.temperature_c - room.temperature_c)
        for name, tank in self.tanks.items():
            given += tank.size.loss_w_k * (tank.temperature_c - room.temperature_c)
            self._step_tank(name, tank, dt_s)
        room.step(dt_s, weather.outside_c(self.t_s), given)

    def _step_tank(self, name: str, tank: Tank, dt_s: float) -> None:
        tank.vigour = self.size.yeast_vigour
        if Trouble.YEAST_DIES in self.cases:
            tank.vigour *= 0.02
        wrapped = Trouble.FERMENT_WRAPPED in self.cases and name.startswith("fermenter")
        tank.step(
            dt_s,
            self.room.temperature_c,
            self.supply.main_c,
            loss_share=0.1 if wrapped else 1.0,
            coil=not wrapped,
        )

    def true_c(self) -> dict[str, float]:
        """Give the temperature each probe's surroundings have."""
        still = self.still
        found = {
            "pot": still.pot.temperature_c,
            "column": still.column_c,
            "head": still.head_c,
            "coolant_in": self.supply.pipe_c,
            "coolant_out": (
                self.supply.hose_c if self.size.outlet_on_hose else still.product.outlet_c
            ),
            "spout": still.spout.temperature_c,
            "room": self.room.temperature_c,
        }
        if still.reflux is not None:
            found["reflux_out"] = still.reflux.outlet_c
        for place, name in self._tank_places.items():
            found[place] = self.tanks[name].temperature_c
        return found

    def _feeler(self, place: str) -> Feeler:
        error = self.size.errors.get(place, ProbeError())
        return Feeler(self._lag_s(place), error.slope, error.offset_c, felt_c=self.size.room_c)

    def _lag_s(self, place: str) -> float:
        return LAGS_S[place.rpartition(".")[2]] * self.size.lag_scale

    def _set_feelers(self) -> None:
        slipped, buried = (
            self.cases.get(Trouble.PROBE_SLIPPED),
            self.cases.get(Trouble.PROBE_BURIED),
        )
        for place, feeler in self.feelers.items():
            feeler.slipped = slipped.amount / 100.0 if slipped and place in slipped.places else 0.0
            slower = 60.0 if buried and place in buried.places else 1.0
            feeler.lag_s = self._lag_s(place) * slower

    def _ramp(self, trouble: Trouble, over_s: float) -> float:
        """Give how much of a trouble's amount has come by now."""
        case = self.cases.get(trouble)
        if case is None:
            return 0.0
        return case.amount * min((self.t_s - self.since_s[trouble]) / over_s, 1.0)
