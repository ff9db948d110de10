"""Trends across runs: what they gave, what they took, how near the water came, how probes drift."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Annotated, Final
from uuid import UUID

from fastapi import Query
from pydantic import AwareDatetime

from api.access import Role, needs
from api.alarms.limits import current_limits
from api.alarms.shipped import SHIPPED
from api.house import House, Housed
from api.record.words import Purpose
from api.reviews.batch_keys import batch_key_bodies
from api.reviews.batch_read import read_cellar
from api.reviews.batches import batch_row
from api.reviews.bodies import GapBody
from api.reviews.bodies_trends import TrendRunBody, TrendsBody
from api.reviews.facts_read import wanted
from api.reviews.figures import Figures
from api.reviews.gaps_told import UNWATCHED
from api.reviews.in_steam import drift_gaps, drifts, read_in_steam
from api.reviews.lines import read_lines
from api.reviews.rows import is_on, key_bodies, row
from api.routing import Router

HOT: Final = "coolant_out_hot"
MINUTE_S: Final = 60

router = Router(prefix="/trends", tags=["reviews"], dependencies=[needs(Role.WATCH)])


@router.get("")
def trends(
    house: Housed,
    vessel_id: UUID | None = None,
    purpose: Purpose | None = None,
    from_at: Annotated[AwareDatetime | None, Query(description="Begun at or after.")] = None,
    to_at: Annotated[AwareDatetime | None, Query(description="Begun before.")] = None,
    limit: Annotated[int, Query(ge=1, le=500, description="The newest so many runs.")] = 100,
) -> TrendsBody:
    """Return runs and batches as points over time, the oldest first."""
    cellar = read_cellar(house)
    every = [run for one in cellar.batches for run in one.runs]
    of_still = [
        one
        for one in sorted(every, key=lambda one: one.ground.run.effective_at)
        if vessel_id in {None, one.ground.run.vessel}
        and (from_at is None or one.ground.run.effective_at >= from_at)
        and (to_at is None or one.ground.run.effective_at < to_at)
    ]
    fitting = [one for one in of_still if purpose in {None, one.ground.run.stage}]
    chosen = [one for one in fitting if not is_on(one)][-limit:]  # one that is on is not yet told
    hot_c = current_limits(house.reader.engine, SHIPPED)[HOT].limit
    points = [_point(house, one, hot_c) for one in chosen]
    names = {one.ground.run.batch for one in chosen}
    named = [one for one in cellar.batches if one.batch.name in names]
    batches = [one for one in named if not any(map(is_on, one.runs))]
    waiting = {one.ground.run.batch for one in fitting if is_on(one)}
    waiting |= {one.batch.name for one in named if one not in batches}
    cleaned = read_in_steam(house, of_still[-limit:])
    drift = [body for one in cleaned for body in drifts(one)]
    return TrendsBody(
        keys=key_bodies(),
        runs=points,
        batch_keys=batch_key_bodies(),
        batches=[batch_row(one) for one in sorted(batches, key=lambda one: one.began_at)],
        coolant_limit_c=hot_c,
        drift=drift,
        gaps=[*_gaps(points), *drift_gaps(cleaned, drift), *map(_waiting, sorted(waiting))],
    )


def _point(house: House, run: Figures, hot_c: float) -> TrendRunBody:
    most_c = _warmest_outlet_c(house, run)
    return TrendRunBody(
        run=row(run),
        coolant_out_most_c=most_c,
        coolant_margin_k=None if most_c is None else hot_c - most_c,
    )


def _warmest_outlet_c(house: House, run: Figures) -> float | None:
    """Return the warmest the outlet was between the first drop and the end."""
    ground = run.ground
    begun_at, until = ground.run.effective_at, ground.until
    whole = wanted(ground.read, until, frozenset({"coolant_out"}))
    lines = read_lines(house, replace(whole, step_s=MINUTE_S))
    line = lines.of("coolant_out")
    if line is None:
        return None
    begin = run.when("first_drop") or begun_at
    end = run.when("end") or until
    running = line.between(begin.timestamp(), end.timestamp())
    return float(running.high.max()) if running.high.size else None


def _waiting(batch: str) -> GapBody:
    why = f"A run of {batch} is still on; the run and its batch come in when it is over."
    return GapBody(about="runs", why=why)


def _gaps(points: Sequence[TrendRunBody]) -> Iterator[GapBody]:
    if not points:
        yield GapBody(about="runs", why="No run was entered.")
    elif all(one.coolant_margin_k is None for one in points):
        why = "No probe at the coolant's outlet was read in any of these runs."
        yield GapBody(about="coolant", why=why)
    unwatched = sum(one.run.numbers["alarms"] is None for one in points)
    if unwatched:
        why = f"The alarms did not watch {unwatched} of these {len(points)} runs."
        yield GapBody(about="alarms", why=why if len(points) > 1 else UNWATCHED.why)
