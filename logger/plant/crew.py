"""The crew: does what a script says, each thing when its turn or its time has come."""

from collections.abc import Callable
from typing import Final, NamedTuple

from calc.errors import WormtubError
from logger.errors import PlantError
from logger.plant.cell import liquid_flow, moles_of_water_to
from logger.plant.conversion import GRAINS
from logger.plant.parameters import STILL
from logger.plant.plant import Plant
from logger.plant.script import Instruction, Script
from logger.plant.tank import Tank
from logger.plant.troubles import Case, Trouble
from logger.plant.witness import spout_abv

GRAIN_KEEPS_L_KG: Final = 0.9  # of liquid, when it is left behind (common practice, no source)
SPENT_SHARE: Final = 0.3  # of a mash's grain is left as solids after the ferment
DONE_SUGAR_G_L: Final = 2.5
Ready = Callable[[], bool]


class Mark(NamedTuple):
    """From when a vessel holds which stage of which batch; "empty" ends one."""

    t_s: float
    vessel: str
    stage: str
    batch: str


class Crew:
    """Where the work on a script stands."""

    def __init__(self, plant: Plant, script: Script) -> None:
        self.plant = plant
        self.script = script
        self.began_s = plant.t_s
        self.batch = ""
        self.marks: list[Mark] = []
        self._next = self._back_to = 0
        self._timed = 0
        self._ready: Ready | None = None
        self._until_s = 0.0
        self._mends: list[tuple[float, Trouble]] = []
        for one in (*script.in_turn, *script.timed):
            if one.name == "collect":  # so that the truth has the same columns throughout
                plant.lot(str(one.values[0]))

    @property
    def finished(self) -> bool:
        """Whether nothing is left to do."""
        return (
            self._next >= len(self.script.in_turn)
            and self._timed >= len(self.script.timed)
            and self._ready is None
        )

    @property
    def next_at_s(self) -> float | None:
        """When something is next to be done at its time."""
        due = [at_s for at_s, _ in self._mends]
        if self._timed < len(self.script.timed):
            due.append(self.began_s + (self.script.timed[self._timed].at_s or 0.0))
        if self._ready is not None:
            due.append(self._until_s)
        return min(due, default=None)

    def act(self) -> None:
        """Do what is due."""
        now_s = self.plant.t_s
        for at_s, trouble in [one for one in self._mends if one[0] <= now_s]:
            self._mends.remove((at_s, trouble))
            self.plant.mend(trouble)
        timed = self.script.timed
        while self._timed < len(timed) and self._due(timed[self._timed]):
            self._timed += 1
            self._do(timed[self._timed - 1])
        while self._next < len(self.script.in_turn) and self._may_go_on():
            self._next += 1
            self._do(self.script.in_turn[self._next - 1])
        self._may_go_on()

    def _due(self, instruction: Instruction) -> bool:
        return self.plant.t_s >= self.began_s + (instruction.at_s or 0.0)

    def _may_go_on(self) -> bool:
        if self._ready is not None and (self.plant.t_s >= self._until_s or self._ready()):
            self._ready = None
        return self._ready is None

    def _do(self, instruction: Instruction) -> None:
        try:
            getattr(self, f"_{instruction.name}")(*instruction.values)
        except WormtubError as error:
            raise PlantError(f"Line {instruction.line}: {error}") from None

    def _pour_water(self, litres: float, temperature_c: float, vessel: str) -> None:
        self._pour_mixture(litres, 0.0, temperature_c, vessel)

    def _pour_mixture(self, litres: float, abv: float, temperature_c: float, vessel: str) -> None:
        flow = self.plant.bring(litres, abv, temperature_c)
        if vessel == STILL:
            self.plant.charge(flow)
            return
        liquid = self._fitting(vessel, litres).liquid
        liquid.take(flow)
        liquid.settle()

    def _fitting(self, vessel: str, litres: float) -> Tank:
        tank = self._tank(vessel)
        if tank.volume_l + litres > tank.size.volume_l:
            raise PlantError(
                f"the {vessel} takes {tank.size.volume_l:g} L; {litres:g} L more do not fit in it."
            )
        return tank

    def _tank(self, vessel: str) -> Tank:
        if vessel == STILL:
            raise PlantError("that is done in a tank, not in the still.")
        return self.plant.tank(vessel)

    def _add_sugar(self, mass_kg: float, vessel: str) -> None:
        self._tank(vessel).add_sugar(mass_kg, self.plant.room.temperature_c)

    def _add_grain(self, mass_kg: float, grain: str, vessel: str) -> None:
        self._tank(vessel).add_grain(GRAINS[grain], mass_kg, self.plant.room.temperature_c)

    def _pitch(self, mass_g: float, vessel: str) -> None:
        self._tank(vessel).pitch(mass_g / 1000.0)

    def _warm(self, vessel: str, to_c: float, power_kw: float) -> None:
        tank = self._tank(vessel)
        tank.warm_to_c, tank.heat_w = to_c, power_kw * 1000.0

    def _stop_warming(self, vessel: str) -> None:
        tank = self._tank(vessel)
        tank.warm_to_c, tank.heat_w = None, 0.0

    def _cool(self, vessel: str, to_c: float) -> None:
        self._tank(vessel).cool_to_c = to_c

    def _stop_cooling(self, vessel: str) -> None:
        self._tank(vessel).cool_to_c = None

    def _move(self, source: str, target: str) -> None:
        one, other = self._tank(source), self._fitting(target, self._tank(source).volume_l)
        other.take_over(one)

    def _charge_lot(self, name: str) -> None:
        lot = self.plant.lot(name)
        if lot.mol <= 0.0:
            raise PlantError(f'nothing has been collected into "{name}".')
        lot.settle()
        self.plant.charge(lot.give(lot.mol))

    def _charge_all(self, vessel: str) -> None:
        self._charge(vessel, 1.0, grain=True)

    def _charge_litres(self, vessel: str, litres: float) -> None:
        held_l = self._tank(vessel).liquid.volume_l
        self._charge(vessel, min(litres / held_l, 1.0) if held_l else 0.0, grain=False)

    def _charge_clear(self, vessel: str) -> None:
        tank = self._tank(vessel)
        held_l = tank.liquid.volume_l
        kept_l = min(tank.mash.grain_kg * SPENT_SHARE * GRAIN_KEEPS_L_KG, held_l)
        self._charge(vessel, 1.0 - kept_l / held_l if held_l else 0.0, grain=False)

    def _charge(self, vessel: str, part: float, *, grain: bool) -> None:
        tank, plant = self._tank(vessel), self.plant
        if tank.liquid.mol <= 0.0:
            raise PlantError(f"the {vessel} is empty: there is nothing to charge the still with.")
        solids_kg = (tank.sugar_kg + tank.mash.dissolved_kg + tank.other_kg) * part
        foaminess = plant.size.foaminess * (2.0 if grain and tank.mash.grain_kg else 1.0)
        plant.charge(tank.pour(part), solids_kg, foaminess)
        for name in ("sugar_kg", "other_kg"):
            setattr(tank, name, getattr(tank, name) * (1.0 - part))
        tank.mash.let_out(part)
        if part >= 1.0:
            tank.drop_solids()

    def _empty(self, vessel: str) -> None:
        if vessel == STILL:
            self.plant.empty_still()
            return
        tank = self._tank(vessel)
        self.plant.take_away(tank.pour(1.0))
        tank.drop_solids()
        tank.cool_to_c = tank.warm_to_c = None
        tank.liquid.settle()

    def _heat(self, power_kw: float) -> None:
        self.plant.power_w = power_kw * 1000.0

    def _heat_off(self) -> None:
        self.plant.power_w = 0.0

    def _water_on(self, l_min: float) -> None:
        self.plant.water_l_min["product"] = l_min

    def _water_off(self) -> None:
        self.plant.water_l_min.update(product=0.0, reflux=0.0)

    def _reflux_water(self, l_min: float) -> None:
        self.plant.water_l_min["reflux"] = l_min

    def _collect(self, name: str) -> None:
        self.plant.receiver = name

    def _dilute(self, name: str, abv: float) -> None:
        """Add water, by mass, until the lot has a strength."""
        lot = self.plant.lot(name)
        if lot.mol <= 0.0 or not 0.0 < abv < lot.abv:
            raise PlantError(
                f'"{name}" has {lot.abv:.1f} % vol; water takes it to less than that and more '
                "than nothing."
            )
        water_mol = moles_of_water_to(lot.ethanol_mol, abv) - lot.water_mol
        water = liquid_flow(self.plant.fluid, 0.0, water_mol, self.plant.supply.main_c)
        self.plant.count_in(water)
        lot.take(water)

    def _bottle(self, name: str) -> None:
        lot = self.plant.lot(name)
        if lot.mol <= 0.0:
            raise PlantError(f'nothing has been collected into "{name}".')
        lot.settle()
        self.plant.take_away(lot.give(lot.mol))

    def _stage(self, vessel: str, stage: str) -> None:
        self.plant.stages[vessel] = stage
        self.marks.append(Mark(self.plant.t_s, vessel, stage, self.batch))

    def _batch(self, name: str) -> None:
        self.batch = name

    def _fault(self, case: Case) -> None:
        self.plant.befall(case)

    def _fault_for(self, case: Case, duration_s: float) -> None:
        self.plant.befall(case)
        self._mends.append((self.plant.t_s + duration_s, case.trouble))

    def _mend(self, trouble: Trouble) -> None:
        self.plant.mend(trouble)

    def _from_here(self) -> None:
        self._back_to = self._next

    def _again(self) -> None:
        """Go back; a round that waits for nothing would never let time go on."""
        again = self.script.in_turn[self._back_to : self._next]
        if not any(one.name.startswith("wait") for one in again):
            raise PlantError("again would never end: let the script wait for something.")
        self._next = self._back_to

    def _wait(self, duration_s: float) -> None:
        self._hold(lambda: False, duration_s)

    def _wait_hour(self, hour: float) -> None:
        self._hold(lambda: False, max(self.began_s + hour * 3600.0 - self.plant.t_s, 0.0))

    def _wait_done(self, vessel: str, most_s: float) -> None:
        tank = self._tank(vessel)

        def done() -> bool:
            return tank.used_kg > 0.0 and tank.sugar_kg <= DONE_SUGAR_G_L * tank.volume_l / 1000.0

        self._hold(done, most_s)

    def _wait_spout(self, abv: float, most_s: float) -> None:
        def spent() -> bool:
            running = spout_abv(self.plant)
            return self.plant.collected_l > 0.0 and 0.0 < running < abv

        self._hold(spent, most_s)

    def _wait_collected(self, litres: float, most_s: float) -> None:
        self._hold(lambda: self.plant.collected_l >= litres, most_s)

    def _wait_above(self, place: str, to_c: float, most_s: float) -> None:
        self._hold(lambda: self._true_c(place) >= to_c, most_s)

    def _wait_below(self, place: str, to_c: float, most_s: float) -> None:
        self._hold(lambda: self._true_c(place) <= to_c, most_s)

    def _true_c(self, place: str) -> float:
        """Look with the crew's own eyes: probes may lie."""
        return self.plant.true_c()[place]

    def _hold(self, ready: Ready, most_s: float) -> None:
        self._ready, self._until_s = ready, self.plant.t_s + most_s
