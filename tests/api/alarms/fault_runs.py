"""Plant runs under the shipped alarms: what each fault must raise and how soon, and clean runs.

Shared by the suite's small table and the large one in tests/bench. A run goes to where it boils
once; every fault then befalls a copy of it.
"""

import copy
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from random import Random

from api.alarms.evaluate import PRESSURE, Change, Evaluation
from api.alarms.ground import Charge, CondenserGround, Ground, Moment, Spot, VesselGround
from api.alarms.model import Priority, Process
from api.alarms.shipped import SHIPPED
from logger.cadence import Cadence
from logger.plant.practice import practice
from logger.plant.run import Run
from logger.plant.troubles import Case
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.settings import Settings
from logger.slots import on_grid

STILL = ("pot", "column", "head", "coolant_in", "coolant_out", "spout", "reflux_out")
ATTENDED_EVERY_S = 600  # the distiller presses something so often
COUNTS = 16
TELLABLE_K = 5.0  # between water and room, for an inlet's drift to tell anything


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
        self.evaluation.lay(self.ground())
        self._tell_charge()
        still = self.evaluation.vessels.get("still")
        if still is not None and self.attended and self.slot % ATTENDED_EVERY_S < period_s:
            still.touched_slot = self.slot
        found = self.evaluation.see(Moment(self.slot, period_s, values))
        self.changes += found
        self.slot = on_grid(self.slot + 1, self.cadence.period_s(self.slot + 1))
        return found

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


# Faults that befall a boiling still: which alarms may tell of each, and within how many seconds.
@dataclass(frozen=True)
class Fault:
    """What goes wrong, and what must tell of it in time; no rule: nothing above low may."""

    name: str
    does: Callable[[Watched], None]
    rules: frozenset[str]
    within_s: int
    matters: Callable[[Watched], bool] = lambda _: True
    may_stand: bool = True  # what stood already, for good reason, tells of it as well


def case(words: str) -> Callable[[Watched], None]:
    return lambda watched: watched.run.plant.befall(Case.read(words, watched.places))


def reads(place: str, value: Callable[[float], float | None]) -> Callable[[Watched], None]:
    return lambda watched: watched.touched.__setitem__(place, value)


def stuck(place: str) -> Callable[[Watched], None]:
    def does(watched: Watched) -> None:
        held = round(watched.run.plant.readings()[place] * COUNTS) / COUNTS
        watched.touched[place] = lambda _: held

    return does


WATER = frozenset(
    {
        "coolant_out_warm", "coolant_out_hot", "coolant_jump", "coolant_surge", "coolant_loss",
        "spout_jump", "spout_warm", "spout_hot",
    }
)  # fmt: skip
HEAT = frozenset({"heat_lost"})


def condenses(watched: Watched) -> bool:
    """Say whether the still runs: a fault of its water matters."""
    return watched.run.plant.condensing_w > 100.0


def electric(watched: Watched) -> bool:
    return watched.run.plant.size.still.heat_source == "element"


def fire_without_water(watched: Watched) -> bool:
    return not electric(watched) and watched.run.plant.size.pumped


def nothing_stops(watched: Watched) -> bool:
    return not electric(watched) and not watched.run.plant.size.pumped


FAULTS = (
    Fault("coolant stopped", case("coolant-stopped"), WATER, 180, condenses),
    Fault("coolant weak (15 %)", case("coolant-weak by 15"), WATER, 300, condenses),
    Fault(
        "coolant warm by 25 K",
        case("coolant-warm by 25"),
        WATER | {"inlet_warm", "inlet_rising"},
        300,
        condenses,
    ),
    Fault("hose off", case("hose-off"), WATER, 180, condenses),
    Fault("heat lost", case("heat-lost"), HEAT, 300),
    Fault("power cut, electric", case("power-cut"), HEAT | WATER, 300, electric),
    Fault("power cut, fire and pump", case("power-cut"), WATER, 180, fire_without_water),
    Fault("power cut, nothing stops", case("power-cut"), frozenset(), 600, nothing_stops),
    Fault("probe refused", reads("head", lambda _: None), frozenset({"probe_refused"}), 15),
    Fault(
        "probe gone",
        lambda watched: watched.gone.add("coolant_out"),
        frozenset({"probe_stale", "probe_refused"}),
        35,
    ),
    Fault("door open", case("door-open"), frozenset(), 900),
    Fault("storm", case("storm"), frozenset(), 900),
)


# Faults that no rule is for: whatever comes up tells of them, and that nothing does is counted.
OTHERS = tuple(
    Fault(name, case(name), frozenset(SHIPPED), 1800, may_stand=False)
    for name in (
        "vent-blocked",
        "probe-slipped at head",
        "probe-slipped at pot",
        "probe-slipped at coolant_out",
        "probe-slipped at spout",
        "probe-buried at pot",
        "probes-swapped at pot and head",
        "probes-swapped at coolant_in and coolant_out",
    )
)


@dataclass(frozen=True)
class Outcome:
    """What one fault did on one run."""

    fault: str
    kind: str
    seed: int
    raised: dict[str, int]
    after_s: int | None  # of the first alarm that tells of it
    missed: bool
    false: tuple[str, ...]  # above low, where none was due


def boiling(kind: str, seed: int) -> Watched | None:
    """Take a run to a steady boil, as most faults find it; None where it gets no further."""
    watched = started(kind, seed)
    plant = watched.run.plant
    runs = watched.until(lambda _: plant.collected_l > 0.05, most_s=14 * 3600)
    return watched if runs and watched.until(_for(1200), most_s=3600) else None


def _for(seconds: int) -> Callable[[Watched], bool]:
    end: list[int] = []

    def over(watched: Watched) -> bool:
        end[:] = end or [watched.slot + seconds]
        return watched.slot >= end[0]

    return over


def befall(at_boil: Watched, fault: Fault, kind: str) -> Outcome | None:
    """Let a fault befall a copy of a run; None where it does not matter there."""
    watched = copy.deepcopy(at_boil)
    if not fault.matters(watched):
        return None
    began, standing = watched.slot, _standing(watched)
    fault.does(watched)
    watched.until(lambda one: bool(one.raised(began).keys() & fault.rules), most_s=fault.within_s)
    raised = watched.raised(began)
    told = [after_s for rule, after_s in raised.items() if rule in fault.rules]
    told += [0 for rule in standing if fault.may_stand and rule in fault.rules]
    false = (
        () if fault.rules else tuple(rule for rule, _ in above_low(watched.changes_since(began)))
    )
    missed = bool(fault.rules) and not told
    return Outcome(fault.name, kind, at_boil.seed, raised, min(told, default=None), missed, false)


def water_forgotten(kind: str, seed: int) -> Outcome | None:
    """Heat a still whose water nobody turned on; the time counts from the first vapour."""
    watched = started(kind, seed)
    case("coolant-stopped")(watched)
    began = watched.slot
    still = watched.evaluation.vessels["still"].still
    watched.until(lambda _: still.vapour_since is not None, most_s=14 * 3600)
    early = watched.raised(began)
    rules = WATER | {"no_outlet_rise"}
    found = told("water forgotten", kind, watched, rules, began, 120)
    return replace(found, missed=found.missed or "water_not_proven" not in early)


def boils_over(kind: str, seed: int) -> Outcome | None:
    """Let the charge foam without measure; the time counts from when foam reaches the neck."""
    watched = started(kind, seed)
    plant = watched.run.plant
    if not watched.until(lambda _: plant.readings()["pot"] > 70.0, most_s=14 * 3600):
        return None
    case("boil-over")(watched)
    began, room_l = watched.slot, plant.size.still.volume_l
    over = watched.until(
        lambda _: plant.still.foam.volume_l > room_l - plant.still.pot.volume_l, most_s=3600
    )
    if not over:
        return None  # the pot was not full enough
    rules = {"boil_over"}
    if watched.charge is None:  # foam and vapour read alike then: the spout tells
        rules |= {"spout_hot", "spout_warm", "spout_jump"}
    return told("boil over", kind, watched, frozenset(rules), began, 90)


def water_off_too_soon(kind: str, seed: int) -> Outcome | None:
    """Turn the water off two minutes after the heat."""
    watched = boiling(kind, seed)
    if watched is None:
        return None
    shown = watched.run.plant.readings()
    if abs(shown["room"] - shown["coolant_in"]) < TELLABLE_K:
        return None  # water as warm as the room: standing and running look alike
    case("heat-lost")(watched)
    watched.until(_for(120), most_s=120)
    case("coolant-stopped")(watched)
    rules = WATER | {"water_off_while_hot"}
    return told("water off while hot", kind, watched, rules, watched.slot, 300)


def stays_as_it_was(kind: str, seed: int) -> Outcome | None:
    """Freeze the pot's probe a while before the boil: the vapour that comes gives it away."""
    watched = started(kind, seed)
    if not watched.until(lambda one: one.run.plant.readings()["pot"] > 85.0, most_s=14 * 3600):
        return None
    stuck("pot")(watched)
    rules = frozenset({"probe_frozen"})
    return told("probe frozen", kind, watched, rules, watched.slot, 60 * 60)


def ferment_wrapped(kind: str, seed: int) -> Outcome | None:
    """Wrap a ferment ten hours in; the time counts from when the yeast's maximum is passed."""
    watched = started(kind, seed, said=True)
    place = next(one for one in watched.places if one.endswith("ferment"))
    watched.until(_for(10 * 3600), most_s=11 * 3600)
    case("ferment-wrapped")(watched)
    began = watched.slot
    limit = SHIPPED["ferment_too_hot"].limits.limit
    plant = watched.run.plant
    if not watched.until(lambda _: plant.readings()[place] > limit + 0.5, most_s=8 * 86_400):
        return None  # it never grew too hot
    rules = frozenset({"ferment_too_hot", "ferment_reaching_maximum"})
    return told("ferment wrapped", kind, watched, rules, began, 15 * 60)


def yeast_dies(kind: str, seed: int) -> Outcome:
    """Let the yeast die ten hours in: no temperature tells of it for days."""
    watched = started(kind, seed, said=True)
    watched.until(_for(10 * 3600), most_s=11 * 3600)
    case("yeast-dies")(watched)
    return told("yeast dies", kind, watched, frozenset(SHIPPED), watched.slot, 3 * 86_400)


SCENES = {
    "strip": (water_forgotten, boils_over, water_off_too_soon, stays_as_it_was),
    "spirit": (water_forgotten, water_off_too_soon, stays_as_it_was),
    "ferment": (ferment_wrapped, yeast_dies),
}


def clean(kind: str, seed: int) -> list[tuple[str, int]]:
    """Give the alarms above low of a run in which nothing goes wrong."""
    watched = started(kind, seed)
    watched.until(lambda _: False, most_s=20 * 86_400)
    return [(rule, slot - int(watched.start_s)) for rule, slot in above_low(watched.changes)]


def started(kind: str, seed: int, *, said: bool | None = None) -> Watched:
    """Begin a run; every third time nobody has entered that a still runs."""
    tells = kind in {"mash", "ferment"} or seed % 3 != 0
    return Watched(practice(kind, seed), stage_said=tells if said is None else said, seed=seed)


def told(
    fault: str, kind: str, watched: Watched, rules: frozenset[str], since: int, within_s: int
) -> Outcome:
    """Go on until one of the rules tells of a fault; the time counts from now."""
    due = watched.slot
    watched.until(lambda one: bool(one.raised(since).keys() & rules), most_s=within_s)
    raised = watched.raised(since)
    after = [max(0, at - (due - since)) for rule, at in raised.items() if rule in rules]
    return Outcome(fault, kind, watched.seed, raised, min(after, default=None), not after, ())


def _standing(watched: Watched) -> set[str]:
    return {key.rule for key, judge in watched.evaluation.judges.items() if judge.state.standing}
