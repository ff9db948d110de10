"""Trends across runs: what they gave, what they took, how near the water came, how probes drift."""

from collections.abc import Iterator, Sequence
from typing import Annotated, Final, Literal
from uuid import UUID

from fastapi import Query
from pydantic import AwareDatetime

from api.access import Role, needs
from api.alarms.limits import current_limits
from api.alarms.shipped import SHIPPED
from api.house import House, Housed
from api.pressure import KEY as ENTERED
from api.record.words import Purpose
from api.reviews.batch_keys import batch_key_bodies
from api.reviews.batch_read import read_cellar
from api.reviews.batches import batch_row
from api.reviews.bodies import GapBody
from api.reviews.bodies_trends import DriftBody, TrendRunBody, TrendsBody
from api.reviews.drift import drift
from api.reviews.figures import Figures
from api.reviews.lines import Lines, read_lines
from api.reviews.rows import is_on, key_bodies, row
from api.routing import Router
from api.site import stored
from calc.pressure import pressure_at_altitude
from logger.store import facts

HOT: Final = "coolant_out_hot"
PRESSURE: Final = "pressure_hpa"
IN_STEAM: Final = ("pot", "column", "head")
MINUTE_S: Final = 60

router = Router(prefix="/trends", tags=["reviews"], dependencies=[needs(Role.WATCH)])
Basis = Literal["barometer", "entered", "altitude"]


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
    drifts = [body for one in of_still[-limit:] for body in _drifts(house, one)]
    return TrendsBody(
        keys=key_bodies(),
        runs=points,
        batch_keys=batch_key_bodies(),
        batches=[batch_row(one) for one in sorted(batches, key=lambda one: one.began_at)],
        coolant_limit_c=hot_c,
        drift=drifts,
        gaps=[*_gaps(points, drifts), *map(_waiting, sorted(waiting))],
    )


def _point(house: House, run: Figures, hot_c: float) -> TrendRunBody:
    most_c = _warmest_outlet_c(house, run)
    return TrendRunBody(
        run=row(run),
        coolant_out_most_c=most_c,
        coolant_margin_k=None if most_c is None else hot_c - most_c,
    )


def _lines(house: House, run: Figures, names: Sequence[str], step_s: int) -> Lines:
    still, ground = run.ground.read.still, run.ground
    return read_lines(
        house, still.name if still else None, ground.run.effective_at, ground.until, names, step_s
    )


def _warmest_outlet_c(house: House, run: Figures) -> float | None:
    """Return the warmest the outlet was between the first drop and the end."""
    line = _lines(house, run, ("coolant_out",), MINUTE_S).of("coolant_out")
    if line is None:
        return None
    begin = run.when("first_drop") or run.ground.run.effective_at
    end = run.when("end") or run.ground.until
    running = line.between(begin.timestamp(), end.timestamp())
    return float(running.high.max()) if running.high.size else None


def _drifts(house: House, run: Figures) -> Iterator[DriftBody]:
    if run.ground.run.stage != "cleaning":
        return
    lines = _lines(house, run, (*IN_STEAM, PRESSURE), 10)
    pressure_hpa, basis = _pressure(house, run, lines)
    still = run.ground.read.still
    for place in IN_STEAM:
        line = lines.of(place)
        found = drift(line, pressure_hpa) if line else None
        if line is None or found is None:
            continue
        yield DriftBody(
            run_id=run.ground.run.about,
            vessel_id=run.ground.run.vessel,
            vessel=still.name if still else None,
            place=place,
            place_id=line.place_id,
            from_at=found.from_at,
            to_at=found.to_at,
            measured_c=found.measured_c,
            water_c=found.water_c,
            difference_k=found.difference_k,
            pressure_hpa=pressure_hpa,
            pressure_basis=basis,
        )


def _pressure(house: House, run: Figures, lines: Lines) -> tuple[float, Basis]:
    """Return the air's pressure in a run: measured, else as entered before, else by altitude."""
    measured = lines.measuring(PRESSURE)
    if measured is not None and measured.times_s.size:
        return float(measured.values.mean()), "barometer"
    said = facts.settings(house.reader.engine, run.ground.until).get(ENTERED)
    if said is not None:
        return float(said), "entered"
    return pressure_at_altitude(stored(house.reader.engine)[0].altitude_m or 0.0), "altitude"


def _waiting(batch: str) -> GapBody:
    why = f"A run of {batch} is still on; the run and its batch come in when it is over."
    return GapBody(about="runs", why=why)


def _gaps(points: Sequence[TrendRunBody], drifts: Sequence[DriftBody]) -> Iterator[GapBody]:
    if not points:
        yield GapBody(about="runs", why="No run was entered.")
    elif all(one.coolant_margin_k is None for one in points):
        why = "No probe at the coolant's outlet was read in any of these runs."
        yield GapBody(about="coolant", why=why)
    if not drifts:
        why = "No cleaning run with a probe that stood in steam for five minutes was entered."
        yield GapBody(about="drift", why=why)
