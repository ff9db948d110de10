"""A run's jars as they stand: when each ended, what it holds at 20 °C, what came over so far.

A strength every few jars is enough. A jar between two that were read is given the strength on the
straight line between them, over the volume that came over, with an error that reaches to both; it
counts as measured. A jar beyond the last reading (or before the first) is given the nearest, and
says so: that is only for the eye and never enters the books.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Final, Literal
from uuid import UUID

from api.record.as_locked import AsLocked
from logger.store.gauging import Content, Strength, content_of, strength_of
from logger.store.record_rules import SHOWS_NO_STRENGTH
from logger.store.record_tables import Jar, JarVessel, Mark
from logger.store.tables import Occupancy

Basis = Literal["read", "between", "expected"]
SPREAD: Final = 12**-0.5  # of a value anywhere between two: JCGM 100:2008, 4.3.7


@dataclass(frozen=True, slots=True)
class Collected:
    """One jar, and what had come over when it was full."""

    jar: Jar
    ended_at: datetime | None
    content: Content | None
    basis: Basis | None  # of its strength
    running_pure_alcohol_l: float | None  # up to its end; None where a jar before is not known
    running_is_expected: bool

    @property
    def enters_the_books(self) -> bool:
        """Say whether its strength was measured."""
        return self.basis in {"read", "between"}


@dataclass(frozen=True, slots=True)
class Totals:
    """What came over in all, of the jars that are known."""

    volume_l: float
    pure_alcohol_l: float
    pure_alcohol_error_l: float
    is_expected: bool  # some jars have no strength between two readings
    jars_without_volume: int


def collected(
    run: Occupancy,
    jars: Sequence[Jar],
    marks: Sequence[Mark],
    vessels: Mapping[int, JarVessel],
    locked: Sequence[AsLocked] = (),
) -> list[Collected]:
    """Work out a run's jars, in the order they were begun; `locked`: as the locks hold them."""
    ends = _ends(run, jars, marks)
    shows = run.stage not in SHOWS_NO_STRENGTH
    tares = [_tare_kg(jar, vessels) for jar in jars]
    strengths = _strengths(jars, tares) if shows else [(None, None)] * len(jars)
    if shows and locked:
        strengths = _kept(jars, ends, strengths, locked, vessels)
    found, running, guessed, known = [], 0.0, False, True
    for jar, ended_at, tare_kg, (strength, basis) in zip(jars, ends, tares, strengths, strict=True):
        told = jar if shows else plain(jar)
        content = content_of(told, strength, tare_kg=tare_kg)
        pure_l = content.pure_alcohol_l if content else None
        guessed = guessed or basis == "expected"
        known = known and (pure_l is not None or ended_at is None)
        running += pure_l or 0.0
        found.append(Collected(told, ended_at, content, basis, running if known else None, guessed))
    return found


def totals(jars: Sequence[Collected]) -> Totals:
    """Add up what came over."""
    closed = [one for one in jars if one.ended_at is not None or _volume_l(one) is not None]
    contents = [one.content for one in closed if one.content is not None]
    return Totals(
        volume_l=sum(one.volume_l or 0.0 for one in contents),
        pure_alcohol_l=sum(one.pure_alcohol_l or 0.0 for one in contents),
        pure_alcohol_error_l=sum((one.pure_alcohol_error_l or 0.0) ** 2 for one in contents) ** 0.5,
        is_expected=any(one.basis == "expected" for one in closed),
        jars_without_volume=sum(_volume_l(one) is None for one in closed),
    )


def _volume_l(one: Collected) -> float | None:
    return one.content.volume_l if one.content else None


def _ends(run: Occupancy, jars: Sequence[Jar], marks: Sequence[Mark]) -> list[datetime | None]:
    """Say when each jar ended: as entered, else when the next began, else with the run."""
    over = [mark.effective_at for mark in marks if mark.kind == "end"]
    if run.ended_at is not None:
        over.append(run.ended_at)
    ends: list[datetime | None] = []
    for place, jar in enumerate(jars):
        if jar.ended_at is not None:
            ends.append(jar.ended_at)
            continue
        after = [one for one in over if one >= jar.effective_at]
        after += [jars[place + 1].effective_at] if place + 1 < len(jars) else []
        ends.append(min(after, default=None))
    return ends


def _tare_kg(jar: Jar, vessels: Mapping[int, JarVessel]) -> float | None:
    vessel = vessels.get(jar.number)
    return None if vessel is None else vessel.tare_kg


def plain(jar: Jar) -> Jar:
    """Leave out the strength of a run that shows none."""
    return Jar(**jar.model_dump(exclude={"reading_abv"}))


Known = tuple[Strength | None, Basis | None]


def _kept(
    jars: Sequence[Jar],
    ends: Sequence[datetime | None],
    strengths: Iterable[Known],
    locked: Sequence[AsLocked],
    vessels: Mapping[int, JarVessel],
) -> list[Known]:
    """Give each jar that was full before a lock the strength it had when the lock was made."""
    then = {one.until: _when_locked(one, vessels) for one in locked}
    kept = []
    for jar, ended_at, strength in zip(jars, ends, strengths, strict=True):
        lock = next((one for one in locked if ended_at is not None and ended_at < one.until), None)
        kept.append(strength if lock is None else then[lock.until].get(jar.about, strength))
    return kept


def _when_locked(lock: AsLocked, vessels: Mapping[int, JarVessel]) -> dict[UUID, Known]:
    known = _strengths(lock.jars, [_tare_kg(one, vessels) for one in lock.jars])
    return {one.about: each for one, each in zip(lock.jars, known, strict=True)}


def _strengths(jars: Sequence[Jar], tares: Sequence[float | None]) -> list[Known]:
    read = [strength_of(jar) for jar in jars]
    places = [place for place, strength in enumerate(read) if strength is not None]
    found: list[Known] = [(strength, None if strength is None else "read") for strength in read]
    if not places:
        return found
    middles = _middles(jars, tares)
    for before, after in pairwise(places):
        for place in range(before + 1, after):
            share = _share(middles, before, place, after)
            found[place] = (_between(read[before], read[after], share), "between")
    for place in range(places[0]):
        found[place] = (read[places[0]], "expected")
    for place in range(places[-1] + 1, len(jars)):
        found[place] = (read[places[-1]], "expected")
    return found


def _middles(jars: Sequence[Jar], tares: Sequence[float | None]) -> list[float] | None:
    """Return how much had come over at the middle of each jar; None where a volume is missing.

    A mass stands in for a volume here: between two jars their densities differ too little to tell.
    """
    amounts = []
    for jar, tare_kg in zip(jars, tares, strict=True):
        by_mass = jar.mass_kg is not None and tare_kg is not None
        amount = jar.mass_kg - tare_kg if by_mass else jar.volume_l  # type: ignore[operator]
        amounts.append(amount)
    if any(amount is None for amount in amounts[:-1]):
        return None
    middles, came = [], 0.0
    for amount in amounts:
        middles.append(came + (amount or 0.0) / 2.0)
        came += amount or 0.0
    return middles


def _share(middles: list[float] | None, before: int, place: int, after: int) -> float:
    if middles is None or middles[after] <= middles[before]:
        return (place - before) / (after - before)
    return (middles[place] - middles[before]) / (middles[after] - middles[before])


def _between(first: Strength | None, last: Strength | None, share: float) -> Strength:
    assert first is not None and last is not None  # noqa: S101, PT018 - both were read
    abv = first.abv + share * (last.abv - first.abv)
    spread = abs(last.abv - first.abv) * SPREAD
    return Strength(abv, (spread**2 + max(first.error_abv, last.error_abv) ** 2) ** 0.5)
