"""Faults of the plant, what each must raise and how soon, and runs they befall; clean runs.

Shared by the suite's small table and the large one in tests/bench. A run goes to where it boils
once; every fault then befalls a copy of it.
"""

import copy
from collections.abc import Callable
from dataclasses import dataclass

from api.alarms.shipped import SHIPPED
from logger.plant.practice import practice
from logger.plant.troubles import Case
from tests.api.alarms.watched_run import COUNTS, Watched, above_low


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
    Fault(
        "probe slipped from the pot",
        case("probe-slipped at pot"),
        frozenset({"probes_do_not_fit"}),
        300,
    ),
    Fault("door open", case("door-open"), frozenset(), 900),
    Fault("storm", case("storm"), frozenset(), 900),
)


# Faults that no rule can always tell: whatever comes up tells of them, else they are missed.
OTHERS = tuple(
    Fault(name, case(name), frozenset(SHIPPED), 1800, may_stand=False)
    for name in (
        "vent-blocked",
        "probe-slipped at head",
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
    return watched if runs and watched.until(for_s(1200), most_s=3600) else None


def for_s(seconds: int) -> Callable[[Watched], bool]:
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
