"""A run of the plant under the shipped alarms: every scan is judged as a live one is."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from random import Random

from api.alarms.evaluate import PRESSURE, Change, Evaluation
from api.alarms.ground import Charge, CondenserGround, Ground, Moment, Spot, VesselGround
from api.alarms.model import Priority, Process
from api.alarms.shipped import SHIPPED
from logger.cadence import Cadence
from logger.plant.run import Run
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.settings import Settings
from logger.slots import on_grid

STILL = ("pot", "column", "head", "coolant_in", "coolant_out", "spout", "reflux_out")
ATTENDED_EVERY_S = 600  # the distiller presses something so often
COUNTS = 16


@dataclass
class Watched:
    """A run of the plant, its probes, and the alarms that judge every scan."""

    run: Run
    stage_said: bool = True  # whether anybody entered what the vessels hold
    attended: bool = True
    seed: int = 0
    touched: dict[str, Callable[[float], float | None]] = field(default_factory=dict)
    gone: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.places = self.run.plant.size.places
        self.dice = Random(self.seed)
        self.cadence = Cadence(Settings(data="/nowhere"))
        self.start_s = self.run.t_s
        self.evaluation = Evaluation(self.ground(), SHIPPED)
        self.laid = dict(self.run.plant.stages)
        self.series = {one: SeriesKey(one, "temperature_c", COUNTS) for one in self.places}
        self.slot = on_grid(int(self.run.t_s) + 1, self.cadence.period_s(0))
        self.changes: list[Change] = []
        self.charge: Charge | None = None

    def ground(self) -> Ground:
        size = self.run.plant.size
        still = size.still
        stages = self.run.plant.stages if self.stage_said else {}
        vessels = [
            VesselGround(
                name,
                name,
                kind,
                still.heat_source if kind == "still" else "none",
                stage=_stage(stages.get(name)),
                run_id=name if kind == "still" else None,
                since_slot=int(self.run.t_s),
            )
            for name, kind in _vessels(size)
        ]
        condensers = [CondenserGround("product", "condenser", "still")]
        if still.reflux is not None:
            reflux = CondenserGround("reflux", "reflux", "still", "reflux", "reflux_out")
            condensers.append(reflux)
        spots = [Spot(one, one.rpartition(".")[2], _vessel_of(one, size)) for one in self.places]
        return Ground(tuple(spots), tuple(vessels), tuple(condensers), still.power_cycle_s)

    def step(self) -> list[Change]:
        """Take the next scan, and judge it."""
        period_s = self.cadence.period_s(self.slot)
        self.run.advance(self.slot, step_s=1.0)
        values = self._values()
        readings = tuple(
            self._reading(place, value) for place, value in values.items() if place in self.series
        )
        self.cadence.see(Scan(self.slot, period_s, readings), sweep_us=0)
        if self.run.plant.stages != self.laid:
            self._lay()
        self._tell_charge()
        still = self.evaluation.vessels.get("still")
        if still is not None and self.attended and self.slot % ATTENDED_EVERY_S < period_s:
            still.touched_slot = self.slot
        found = self.evaluation.see(Moment(self.slot, period_s, values))
        self.changes += found
        self.slot = on_grid(self.slot + 1, self.cadence.period_s(self.slot + 1))
        return found

    def _lay(self) -> None:
        """Say what the vessels hold now, which the service does where somebody enters it."""
        self.laid = dict(self.run.plant.stages)
        self.evaluation.lay(self.ground())

    def until(self, condition: Callable[["Watched"], bool], *, most_s: float) -> bool:
        """Go on until something is so; says whether it came to that."""
        end = self.slot + most_s
        while not condition(self):
            if self.slot >= end or self.run.finished:
                return False
            self.step()
        return True

    def raised(self, since: int) -> dict[str, int]:
        """Say which rules came up since a slot, and how many seconds after it."""
        found: dict[str, int] = {}
        for change in self.changes:
            if change.slot >= since and came_up(change):
                found.setdefault(change.key.rule, change.slot - since)
        return found

    def changes_since(self, slot: int) -> list[Change]:
        return [change for change in self.changes if change.slot >= slot]

    def _tell_charge(self) -> None:
        """Say what was charged, as the record knows it where somebody keeps it."""
        if self.stage_said and self.charge is None and self.run.plant.still.heat_w > 0.0:
            pot = self.run.plant.still.pot
            fill = pot.volume_l / self.run.plant.size.still.volume_l
            self.charge = Charge(pot.volume_l, pot.abv, fill, "sugar", collected_l=0.0)
        if self.charge is not None and "still" in self.evaluation.vessels:
            self.evaluation.know("still", self.charge)

    def _values(self) -> dict[str, float | None]:
        plant, found = (
            self.run.plant,
            {PRESSURE: round(self.run.plant.pressure_hpa * COUNTS) / COUNTS},
        )
        for place, shown in plant.readings().items():
            if place not in self.series or place in self.gone:
                continue
            value = round((shown + self.dice.gauss(0.0, plant.size.noise_c)) * COUNTS) / COUNTS
            found[place] = self.touched[place](value) if place in self.touched else value
        return found

    def _reading(self, place: str, value: float | None) -> Reading:
        if value is None:
            return Reading(self.series[place], Grade.CRC, None)
        return Reading(self.series[place], Grade.OK, round(value * COUNTS))


def came_up(change: Change) -> bool:
    """Say whether a change makes an alarm sound."""
    sounds = change.after.process is Process.UNACKNOWLEDGED
    return sounds and change.before.process is not Process.UNACKNOWLEDGED


def above_low(changes: Iterable[Change]) -> list[tuple[str, int]]:
    """Give the alarms above low that came up, and when."""
    return [
        (change.key.rule, change.slot)
        for change in changes
        if came_up(change) and SHIPPED[change.key.rule].priority is not Priority.LOW
    ]


def _stage(name: str | None) -> str | None:
    return None if name in {None, "empty"} else name


def _vessels(size):
    return [("still", "still")] + [
        (name, "mash_tun" if tank.place == "mash" else "fermenter")
        for name, tank in size.tanks.items()
    ]


def _vessel_of(place: str, size) -> str | None:
    if place in STILL:
        return "still"
    vessel, dot, _ = place.rpartition(".")
    if dot:
        return vessel
    return next((name for name, tank in size.tanks.items() if tank.place == place), None)
