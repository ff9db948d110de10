"""The jars of the demonstration's spirit runs: weighed, a strength read in every third."""

from collections.abc import Callable, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any, Final

from api.commands.demo_diary import StillSeen
from api.commands.demo_reading import Told
from calc.contents import contents_by_volume
from logger.store.record_tables import Jar
from logger.store.tables import Occupancy

FULL_L: Final = 2.0
EVERY: Final = 3
SMELLS: Final = {
    "foreshots": '["nail varnish"]',
    "heads": '["pear drops"]',
    "hearts": '["rye bread"]',
    "tails": '["wet cardboard"]',
}
Made = tuple[Jar, float]  # with what it truly holds, litres of pure alcohol


def is_read(number: int) -> bool:
    """Say whether a jar's strength is read: of the first and every third from there."""
    return (number - 1) % EVERY == 0


def jars(
    told: Told, run: Occupancy, seen: Sequence[StillSeen], at: Callable[[float], datetime]
) -> list[Made]:
    """Fill jar after jar; a new one at each cut. The last of a run that goes on is still open."""
    found: list[Made] = []
    start: StillSeen | None = None
    for before, one in pairwise(seen):
        if one.collected_l <= 0.0:
            continue
        start = start or before
        is_full = one.collected_l - start.collected_l >= FULL_L
        cut = one.receiver != start.receiver
        if start is not before and (is_full or cut) and one.collected_l > start.collected_l:
            found.append(_full(told, run, len(found), start, one, at))
            start = one
    if start is not None and start.collected_l < seen[-1].collected_l:
        if run.ended_at is None:
            found.append(_open(told, run, len(found), start, at))
        else:
            found.append(_full(told, run, len(found), start, seen[-1], at))
    return found


def _full(
    told: Told,
    run: Occupancy,
    place: int,
    start: StillSeen,
    end: StillSeen,
    at: Callable[[float], datetime],
) -> Made:
    litres = end.collected_l - start.collected_l
    pure_l = end.collected_pure_l - start.collected_pure_l
    abv = min(100.0 * pure_l / litres, 97.0)
    weight_kg = contents_by_volume(litres, abv).weight_in_air_kg
    at_c = round(min(end.spout_c + 2.0, 30.0), 1)
    read: dict[str, Any] = {}
    cut = _cut(start.receiver)
    if is_read(place + 1) or cut != "hearts" or end.receiver != start.receiver:
        read = {
            "reading_abv": told.shown(abv, at_c),
            "temperature_c": at_c,
            "instrument": "alcoholometer_20c",
            "reading_error_abv": 0.2,
        }
    jar = told.first(
        Jar,
        at(start.t_s),
        run=run.about,
        number=place + 1,
        mass_kg=round(
            told.tare_kg(place + 1) + weight_kg + 0.003 * float(told.dice.standard_normal()), 3
        ),
        cut=cut,
        smell=SMELLS[cut],
        **read,
    )
    return jar, pure_l


def _open(
    told: Told, run: Occupancy, place: int, start: StillSeen, at: Callable[[float], datetime]
) -> Made:
    jar = told.first(Jar, at(start.t_s), run=run.about, number=place + 1, cut=_cut(start.receiver))
    return jar, 0.0


def _cut(receiver: str) -> str:
    if receiver in {"foreshots", "heads"}:
        return receiver
    return "hearts" if receiver.startswith("hearts") else "tails"
