"""Runs: each firing of a still with its charge, its marks and its jars."""

from typing import Annotated
from uuid import UUID

from fastapi import Query

from api.access import Role, needs
from api.errors import declared
from api.house import Housed
from api.record.run_bodies import RunBody, RunSummary, run_body, run_summary
from api.record.runs_read import poured, run_read, runs
from api.routing import Router
from logger.store import facts

router = Router(prefix="/runs", tags=["runs"], dependencies=[needs(Role.WATCH)])


@router.get("")
def listed(
    house: Housed,
    batch: Annotated[str | None, Query(max_length=60)] = None,
    vessel_id: UUID | None = None,
    limit: Annotated[int, Query(ge=1, le=1000)] = 100,
) -> list[RunSummary]:
    """Return the runs there were, the newest first."""
    names = {one.about: one.name for one in facts.vessels(house.reader.engine)}
    found = [
        one
        for one in runs(house.reader.engine)
        if batch in {None, one.batch} and vessel_id in {None, one.vessel}
    ]
    return [run_summary(one, names.get(one.vessel)) for one in found[: -limit - 1 : -1]]


@router.get("/{run_id}", responses=declared(404))
def one_run(house: Housed, run_id: UUID) -> RunBody:
    """Return a run with everything that hangs on it."""
    read = run_read(house.reader.engine, run_id)
    return run_body(read, poured(house.reader.engine, [one.jar.about for one in read.jars]))
