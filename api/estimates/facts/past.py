"""What earlier runs of a purpose on a still taught: which share of the alcohol came by when."""

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Final

from sqlalchemy import Engine
from sqlmodel import col

from api.estimates.ground import PastRun
from api.record.collected import Collected
from api.record.runs_read import RunRead, read_of, runs
from logger.store.tables import Occupancy

MOST: Final = 10  # the newest; more would be of another hand or another still

Is = Callable[[Collected], bool]


def past_runs(engine: Engine, run: Occupancy) -> list[PastRun]:
    """Read what runs before this one taught, the newest first."""
    before = runs(
        engine,
        col(Occupancy.vessel) == run.vessel,
        col(Occupancy.stage) == run.stage,
        col(Occupancy.effective_at) < run.effective_at,
    )
    ended = [one for one in reversed(before) if one.ended_at is not None][:MOST]
    found = (taught(read_of(engine, one)) for one in ended)
    return [one for one in found if one is not None]


def taught(read: RunRead) -> PastRun | None:
    """Say what a run that is over teaches; None where its charge or its cuts are not known."""
    base_l = read.share_base_l
    hearts_at, tails_at = _began(read, "hearts"), _began(read, "tails")
    if base_l is None or (hearts_at is None and tails_at is None):
        return None
    hearts_l = _alcohol_l(read.jars, lambda one: _is_hearts(one, hearts_at, tails_at))
    return PastRun(
        run_id=str(read.run.about),
        hearts_share=_share(hearts_l if hearts_at is not None else None, base_l),
        hearts_from_share=_share(_over_l(read.jars, hearts_at), base_l),
        tails_from_share=_share(_over_l(read.jars, tails_at), base_l),
        tails_from_abv=_strength_at(read.jars, tails_at),
    )


def _began(read: RunRead, cut: str) -> datetime | None:
    """Say when a cut began: as marked, else with the first jar of it."""
    marked = [one.effective_at for one in read.marks if one.kind == cut]
    classed = [one.jar.effective_at for one in read.jars if one.jar.cut == cut]
    return max(marked) if marked else min(classed, default=None)


def _is_hearts(one: Collected, hearts_at: datetime | None, tails_at: datetime | None) -> bool:
    """Go by how a jar was classed, else by the marks it lies between."""
    if one.jar.cut is not None:
        return one.jar.cut == "hearts"
    began = one.jar.effective_at
    after = hearts_at is not None and began >= hearts_at
    return after and (tails_at is None or began < tails_at)


def _over_l(jars: Iterable[Collected], at: datetime | None) -> float | None:
    """Add up the pure alcohol that was over at a moment."""
    if at is None:
        return None
    return _alcohol_l(jars, lambda one: one.jar.effective_at < at)


def _alcohol_l(jars: Iterable[Collected], is_in: Is) -> float | None:
    """Add up the pure alcohol of jars; None where one of them was not measured."""
    total_l = 0.0
    for one in jars:
        if not is_in(one):
            continue
        alcohol_l = one.content.pure_alcohol_l if one.content else None
        if alcohol_l is None or not one.enters_the_books:
            return None
        total_l += alcohol_l
    return total_l


def _strength_at(jars: Iterable[Collected], at: datetime | None) -> float | None:
    """Take the middle of the strengths of the jars before and after a moment."""
    if at is None:
        return None
    known = [
        (one.jar.effective_at, one.content.strength.abv)
        for one in jars
        if one.enters_the_books and one.content and one.content.strength
    ]
    before = [abv for began, abv in known if began < at]
    after = [abv for began, abv in known if began >= at]
    return (before[-1] + after[0]) / 2.0 if before and after else None


def _share(alcohol_l: float | None, base_l: float) -> float | None:
    return None if alcohol_l is None else alcohol_l / base_l
