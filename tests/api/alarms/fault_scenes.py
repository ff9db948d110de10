"""Faults that befall a still before it boils or after, and faults of a ferment."""

from dataclasses import replace

from api.alarms.shipped import SHIPPED
from tests.api.alarms.fault_runs import WATER, Outcome, boiling, case, for_s, started, stuck, told

REACHED_K = 1.0  # what the first vapour warms the standing water by
TELLABLE_K = 5.0  # between water and room, for an inlet's drift to tell anything


def water_forgotten(kind: str, seed: int) -> Outcome | None:
    """Heat a still whose water nobody turned on; the time counts from vapour in its condenser.

    A reflux condenser whose water stands as well holds the vapour back for one to three minutes,
    and until then nothing can tell it from one that takes all of it, nor is anything to fear.
    """
    watched = started(kind, seed)
    case("coolant-stopped")(watched)
    began = watched.slot
    still = watched.evaluation.vessels["still"].still
    watched.until(lambda _: still.vapour_since is not None, most_s=14 * 3600)
    early = watched.raised(began)
    condenser = watched.run.plant.still.product
    cold_c = condenser.outlet_c
    watched.until(lambda _: condenser.outlet_c > cold_c + REACHED_K, most_s=900)
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
    watched.until(for_s(120), most_s=120)
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


def head_stays_as_it_was(kind: str, seed: int) -> Outcome | None:
    """Freeze the head's probe as the pot warms; the time counts from the first distillate."""
    watched = started(kind, seed, said=True)
    plant = watched.run.plant
    if not watched.until(lambda _: plant.readings()["pot"] > 50.0, most_s=14 * 3600):
        return None
    stuck("head")(watched)
    began = watched.slot
    if not watched.until(lambda _: plant.collected_l > 0.0, most_s=14 * 3600):
        return None
    rules = frozenset({"head_stays_cold", "probe_frozen"})
    return told("head frozen in heat-up", kind, watched, rules, began, 20 * 60)


def ferment_wrapped(kind: str, seed: int) -> Outcome | None:
    """Wrap a ferment ten hours in; the time counts from when the yeast's maximum is passed."""
    watched = started(kind, seed, said=True)
    place = next(one for one in watched.places if one.endswith("ferment"))
    watched.until(for_s(10 * 3600), most_s=11 * 3600)
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
    watched.until(for_s(10 * 3600), most_s=11 * 3600)
    case("yeast-dies")(watched)
    return told("yeast dies", kind, watched, frozenset(SHIPPED), watched.slot, 3 * 86_400)


SCENES = {
    "strip": (
        water_forgotten,
        boils_over,
        water_off_too_soon,
        stays_as_it_was,
        head_stays_as_it_was,
    ),
    "spirit": (water_forgotten, water_off_too_soon, stays_as_it_was, head_stays_as_it_was),
    "ferment": (ferment_wrapped, yeast_dies),
}
