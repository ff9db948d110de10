"""How a batch was made, as the next can be: worked out from its record whenever it is asked for."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any
from uuid import UUID

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from api.alarms.shipped import SHIPPED
from api.alarms.words import RULES as WORDS
from api.reviews.batch_keys import KEYS
from api.reviews.batch_read import BatchRead
from api.reviews.bodies import GapBody
from api.reviews.bodies_batch import (
    PlanBody,
    PlannedBody,
    PlannedLimitBody,
    PlannedRestBody,
    PlannedRunBody,
)
from api.reviews.figures import Figures
from api.reviews.words import PURPOSES, MomentKey
from logger.store import facts
from logger.store.alarm_tables import AlarmLimit
from logger.store.failures import file_of, told
from logger.store.record_tables import StageEntry
from logger.store.tables import Condenser

MADE_OF = ("grain", "liquor", "yeast", "nutrient")
TICKED = "tick"


def plan(engine: Engine, one: BatchRead, now: datetime) -> PlanBody:
    """Work out the plan a batch leaves; of one that goes on, with the limits of now."""
    ended = max([held.ended_at or now for held in one.held], default=one.began_at)
    return PlanBody(
        batch_id=one.batch.about,
        batch=one.batch.name,
        kind_of_wash=one.batch.kind_of_wash,
        on_grain=one.batch.on_grain,
        ingredients=[_ingredient(said, one) for said in one.said if said.kind in MADE_OF],
        rests=[_rest(said, one) for said in one.of("rest")],
        original_sg=one.original_sg,
        final_sg=one.final_sg,
        ferment_days=KEYS["ferment_days"].of(one),
        runs=[_run(engine, run) for run in one.runs],
        limits=limits_at(engine, ended),
        gaps=list(_gaps(one)),
    )


def limits_at(engine: Engine, at: datetime) -> list[PlannedLimitBody]:
    """Read the limits that were set for the house at a moment, and whether they still hold."""
    now = {(one.rule, one.condenser): one for one in facts.all_current(engine, AlarmLimit)}
    names = {one.about: one.name for one in facts.with_withdrawn(engine, Condenser)}
    chosen = select(AlarmLimit).where(col(AlarmLimit.recorded_at) <= at)
    with told(file_of(engine)), Session(engine) as session:
        found = session.exec(chosen.order_by(col(AlarmLimit.recorded_at))).all()
        session.expunge_all()
    then = {(one.rule, one.condenser): one for one in found}
    return [
        _limit(
            one,
            now.get(which) or now.get((one.rule, None)),
            names.get(one.condenser) if one.condenser else None,
        )
        for which, one in then.items()
        if not one.withdrawn
    ]


def _limit(one: AlarmLimit, now: AlarmLimit | None, part: str | None) -> PlannedLimitBody:
    rule, words = SHIPPED.get(one.rule), WORDS.get(one.rule)
    limit_now = now.limit if now else rule.limits.limit if rule else one.limit
    return PlannedLimitBody(
        rule=one.rule,
        name=", ".join(filter(None, (words.name if words else one.rule, part))),
        limit=one.limit,
        unit=rule.unit if rule else "",
        deadband=one.deadband,
        on_delay_s=one.on_delay_s,
        off_delay_s=one.off_delay_s,
        reason=one.reason,
        holds=now is not None and _same(one, now),
        limit_now=limit_now,
    )


def _same(one: AlarmLimit, other: AlarmLimit) -> bool:
    return all(
        getattr(one, name) == getattr(other, name)
        for name in ("limit", "deadband", "on_delay_s", "off_delay_s")
    )


def _after_h(said: StageEntry, one: BatchRead) -> float:
    return (said.effective_at - one.began_at).total_seconds() / 3600.0


def _ingredient(said: StageEntry, one: BatchRead) -> PlannedBody:
    kind: Any = said.kind
    return PlannedBody(
        kind=kind, name=said.name, mass_kg=said.mass_kg, volume_l=said.volume_l,
        temperature_c=said.temperature_c, percent=said.percent, after_h=_after_h(said, one),
    )  # fmt: skip


def _rest(said: StageEntry, one: BatchRead) -> PlannedRestBody:
    planned_min = said.planned_min
    if planned_min is None and said.ended_at is not None:
        planned_min = (said.ended_at - said.effective_at).total_seconds() / 60.0
    return PlannedRestBody(
        name=said.name, low_c=said.low_c or 0.0, high_c=said.high_c or 0.0,
        planned_min=planned_min, after_h=_after_h(said, one),
    )  # fmt: skip


def _run(engine: Engine, run: Figures) -> PlannedRunBody:
    ground, charge = run.ground, run.charge
    still = ground.read.still
    return PlannedRunBody(
        purpose=ground.run.stage,
        purpose_name=PURPOSES.get(ground.run.stage, ground.run.stage),
        vessel_id=ground.run.vessel,
        vessel=still.name if still else None,
        run_id=ground.run.about,
        charge_volume_l=charge.volume_l if charge else None,
        charge_abv=charge.strength.abv if charge and charge.strength else None,
        powers_kw=[one.power_kw for one in run.powers],
        hearts_from_abv=_abv_when(run, "hearts"),
        tails_from_abv=_abv_when(run, "tails"),
        hearts_from_share=_share_when(run, "hearts"),
        tails_from_share=_share_when(run, "tails"),
        checklist=_ticked(engine, ground.run.about),
    )


def _abv_when(run: Figures, key: MomentKey) -> float | None:
    """Return the strength that ran at a moment: between the two readings around it."""
    at, points = run.when(key), run.strengths
    if at is None or not points or not points[0].at <= at <= points[-1].at:
        return None
    after = next(place for place, one in enumerate(points) if one.at >= at)
    last = points[after]
    if after == 0 or last.at == at:
        return last.abv
    first = points[after - 1]
    part = (at - first.at) / (last.at - first.at)
    return first.abv + part * (last.abv - first.abv)


def _share_when(run: Figures, key: MomentKey) -> float | None:
    """Return which share of the charge's alcohol was over at a moment."""
    at, base_l = run.when(key), run.share_base_l
    if at is None or base_l is None:
        return None
    points = [one for one in run.running if one.pure_alcohol_l is not None]
    over_l = _between([(one.at, one.pure_alcohol_l or 0.0) for one in points], at)
    return None if over_l is None else over_l / base_l


def _between(points: Sequence[tuple[datetime, float]], at: datetime) -> float | None:
    for (first, low), (last, high) in pairwise(points):
        if first <= at <= last:
            part = (at - first) / (last - first) if last > first else 1.0
            return low + part * (high - low)
    return None


def _ticked(engine: Engine, run: UUID) -> list[str]:
    ticks = facts.all_current(
        engine, StageEntry, col(StageEntry.kind) == TICKED, col(StageEntry.refers) == run
    )
    return sorted({one.name for one in ticks})


def _gaps(one: BatchRead) -> Iterator[GapBody]:
    for kind, what in (
        ("grain", "bill"), ("liquor", "liquor"), ("rest", "rests"), ("yeast", "yeast"),
    ):  # fmt: skip
        if not one.of(kind):
            were = "were" if what == "rests" else "was"
            yield GapBody(about=what, why=f"No {what} {were} entered of {one.batch.name}.")
    if not one.runs:
        yield GapBody(about="runs", why=f"No run of a still was entered of {one.batch.name}.")
