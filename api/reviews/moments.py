"""The moments of a run: as marked, else as its jars say, else as its temperatures show. Pure.

What temperatures show is common practice, no source: heat is on from where the pot has left the
temperature it stood at and goes on rising; the pot boils where its rise, once it is hot, falls to
a quarter of what it was, since vapour takes the heat away from then on.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np

from api.record.collected import Collected
from api.record.suggesting import Line as Seen
from api.record.suggesting import first_drop
from api.reviews.lines import Line, Lines
from api.reviews.words import POWER_LEAST_KW, Basis, MomentKey
from calc.arrays import median
from calc.trend import slopes_per_minute
from logger.store.record_tables import Mark
from logger.store.tables import Occupancy

RISING_K_MIN: Final = 0.15
WINDOW_S: Final = 180.0
STEADY_S: Final = 300.0
STEADY_SHARE: Final = 0.8
LEFT_K: Final = 0.2  # a pot so much above where it stood has left it: three steps of 1/16 °C
HOT_C: Final = 70.0  # below, no pot of wash or spirit boils at any altitude a still works at
KNEE: Final = 0.25
LATE: Final = timedelta(minutes=10)  # a pot that warmed so long before was heated before
SHOW_DROP: Final = frozenset({"head", "spout", "coolant_out"})
PLACES: Final = SHOW_DROP | {"pot"}
MARKED: Final[dict[MomentKey, str]] = {
    "first_drop": "first_drop",
    "foreshots_end": "foreshots_end",
    "hearts": "hearts",
    "tails": "tails",
    "end": "end",
}
CLASSED: Final[dict[MomentKey, frozenset[str]]] = {
    "foreshots_end": frozenset({"heads"}),
    "hearts": frozenset({"hearts"}),
    "tails": frozenset({"tails", "feints"}),
}


@dataclass(frozen=True, slots=True)
class Moment:
    """When something happened, and how that is known."""

    key: MomentKey
    at: datetime
    basis: Basis
    why: str


def moments(
    run: Occupancy, marks: Sequence[Mark], jars: Sequence[Collected], lines: Lines
) -> list[Moment]:
    """Find a run's moments, in the order of time."""
    found: dict[MomentKey, Moment] = {}
    seen = by_key(list(seen_in(lines)))
    for one in (*_entered(run), *_marked(marks), *_by_jars(jars), *seen.values()):
        found.setdefault(one.key, one)  # the surest comes first
    return sorted(_sensible(found, seen).values(), key=lambda one: one.at)


def _sensible(
    found: dict[MomentKey, Moment], seen: dict[MomentKey, Moment]
) -> dict[MomentKey, Moment]:
    """See that a change of power later on is not taken for the heat that went on."""
    on, warmed, drop = found.get("heat_on"), seen.get("heat_on"), found.get("first_drop")
    if on is None or on.basis == "seen":
        return found
    if warmed is not None and on.at - warmed.at > LATE:
        return found | {"heat_on": warmed}
    if drop is not None and on.at >= drop.at:
        return {key: one for key, one in found.items() if key != "heat_on"}
    return found


def by_key(found: Sequence[Moment]) -> dict[MomentKey, Moment]:
    """Give moments by what they are."""
    return {one.key: one for one in found}


def _entered(run: Occupancy) -> Iterator[Moment]:
    yield Moment("begin", run.effective_at, "entered", "As the run was entered.")
    if run.ended_at is not None:
        yield Moment("over", run.ended_at, "entered", "As the run was entered.")


def _marked(marks: Sequence[Mark]) -> Iterator[Moment]:
    for key, kind in MARKED.items():
        same = [one for one in marks if one.kind == kind]
        if same:
            chosen = same[-1] if key == "end" else same[0]
            yield Moment(key, chosen.effective_at, "marked", f"Marked by {chosen.who}.")
    powers = [one for one in marks if one.kind == "power" and one.power_kw is not None]
    for one in powers:
        if (one.power_kw or 0.0) >= POWER_LEAST_KW:
            yield Moment("heat_on", one.effective_at, "marked", f"Marked by {one.who}.")
            break
    if powers and (powers[-1].power_kw or 0.0) < POWER_LEAST_KW:
        yield Moment("heat_off", powers[-1].effective_at, "marked", f"Marked by {powers[-1].who}.")


def _by_jars(jars: Sequence[Collected]) -> Iterator[Moment]:
    """Take a cut from the first jar that was classed so, where it was not marked."""
    if not jars:
        return
    first = jars[0].jar
    yield Moment("first_drop", first.effective_at, "jars", "When the first jar was begun.")
    for key, cuts in CLASSED.items():
        jar = next((one.jar for one in jars if one.jar.cut in cuts), None)
        if jar is not None and jar is not first:
            why = f"When jar {jar.number} was begun, the first that was classed as {jar.cut}."
            yield Moment(key, jar.effective_at, "jars", why)
    last = jars[-1].ended_at
    if last is not None and all(one.ended_at is not None for one in jars):
        yield Moment("end", last, "jars", "When the last jar ended.")


def places_to_see(marks: Sequence[Mark], jars: Sequence[Collected]) -> frozenset[str]:
    """Name the places whose temperatures can tell a moment that goes into the numbers of a run."""
    is_known = bool(jars) or any(one.kind == MARKED["first_drop"] for one in marks)
    return PLACES - SHOW_DROP if is_known else PLACES


def seen_in(lines: Lines) -> Iterator[Moment]:
    """Find the moments that temperatures show."""
    pot = lines.of("pot")
    if pot is not None and pot.times_s.size:
        on_s = heat_on_s(pot)
        if on_s is not None:
            yield _at("heat_on", on_s, "The pot began to warm.")
            boil_s = boil_s_after(pot, on_s)
            if boil_s is not None:
                yield _at("boil", boil_s, "The pot's rise slowed as vapour took the heat away.")
    head = lines.of("head")
    for place in ("spout", "coolant_out"):
        moving = lines.of(place)
        if head is not None and moving is not None:
            drop = first_drop(_as_seen(head), _as_seen(moving), place.replace("_", " "))
            if drop is not None:
                yield _at("first_drop", drop.at_s, drop.why)
                return


def _as_seen(line: Line) -> Seen:
    return Seen(line.times_s, line.values)


def _at(key: MomentKey, at_s: float, why: str) -> Moment:
    return Moment(key, datetime.fromtimestamp(at_s, UTC), "seen", why)


def heat_on_s(pot: Line) -> float | None:
    """Find when the pot began to warm for good."""
    times, values = pot.times_s, pot.values
    slopes = slopes_per_minute(times, values, max(WINDOW_S, 8 * pot.bucket_s))
    rising = np.nan_to_num(slopes) >= RISING_K_MIN
    risen = np.concatenate(([0], np.cumsum(rising)))
    last = np.searchsorted(times, times + STEADY_S)
    share = (risen[last] - risen[: times.size]) / np.maximum(last - np.arange(times.size), 1)
    steady = np.flatnonzero(rising & (share >= STEADY_SHARE))
    if steady.size == 0:
        return None
    first = int(steady[0])
    before = (times >= times[first] - 3 * WINDOW_S) & (times <= times[first] - WINDOW_S)
    base = float(median(values[before])) if before.any() else float(values[: first + 1].min())
    below = np.flatnonzero(values[: first + 1] <= base + LEFT_K)
    return float(times[below[-1]]) if below.size else float(times[first])


def boil_s_after(pot: Line, on_s: float) -> float | None:
    """Find when a warming pot came to the boil."""
    times, values = pot.times_s, pot.values
    slopes = slopes_per_minute(times, values, max(WINDOW_S, 8 * pot.bucket_s))
    warming = (times > on_s + WINDOW_S) & (values < HOT_C) & (slopes > RISING_K_MIN)
    hot = (times > on_s) & (values >= HOT_C)
    if not warming.any() or not hot.any():
        return None
    pace = float(median(slopes[warming]))
    slow = np.flatnonzero(hot & (np.nan_to_num(slopes, nan=pace) <= KNEE * pace))
    # the slope looks back over its window, so that the knee lies half of it earlier
    return float(times[slow[0]] - WINDOW_S / 2.0) if slow.size else None
