"""Finished runs in a list, and one of them reviewed."""

from typing import Annotated, Literal
from uuid import UUID

from fastapi import Header, Query
from pydantic import AwareDatetime
from starlette.responses import Response

from api.access import Role, needs
from api.errors import declared
from api.history import HistoryBody, envelope
from api.house import Housed
from api.record.runs_read import poured, run_alone
from api.record.runs_read import runs as all_runs
from api.record.words import Purpose
from api.reviews.bodies import RunReviewBody, RunsBody
from api.reviews.estimates_held import estimates_body
from api.reviews.facts_read import Site, ground, grounds, until_of
from api.reviews.figures import Figures
from api.reviews.lines import belongs
from api.reviews.lists import Order, Wanted, in_order
from api.reviews.rows import key_bodies, row
from api.reviews.run_review import run_review
from api.routing import Router
from logger.store import facts
from logger.store.tables import TEMPERATURE
from logger.store.tracks import tracks
from logger.store.types import to_us

router = Router(prefix="/runs", tags=["reviews"], dependencies=[needs(Role.WATCH)])
Words = Annotated[
    str | None, Query(max_length=100, description="Words in names, marks' and jars' notes.")
]


@router.get("")
def listed(
    house: Housed,
    text: Words = None,
    vessel_id: UUID | None = None,
    purpose: Purpose | None = None,
    batch: Annotated[str | None, Query(max_length=60)] = None,
    from_at: Annotated[AwareDatetime | None, Query(description="Begun at or after.")] = None,
    to_at: Annotated[AwareDatetime | None, Query(description="Begun before.")] = None,
    sort: Order = "started_at",
    order: Literal["rising", "falling"] = "falling",
    offset: Annotated[int, Query(ge=0, le=1_000_000)] = 0,
    limit: Annotated[int, Query(ge=1, le=500)] = 100,
) -> RunsBody:
    """Return runs with their key numbers."""
    wanted = Wanted(text, vessel_id, purpose, batch, from_at, to_at)
    engine = house.reader.engine
    chosen = [one for one in all_runs(engine) if wanted.takes(one)]
    found = [Figures(one) for one in grounds(house, chosen, Site.read(engine))]
    kept = in_order([one for one in found if wanted.says(one)], sort, falling=order == "falling")
    return RunsBody(
        total=len(kept),
        keys=key_bodies(),
        runs=[row(one) for one in kept[offset : offset + limit]],
    )


@router.get(
    "/{run_id}/temperatures",
    response_class=Response,
    responses={**declared(404), 200: {"model": HistoryBody}},
)
def temperatures(
    house: Housed,
    run_id: UUID,
    buckets: Annotated[int, Query(ge=2, le=4000)] = 600,
    accept_encoding: Annotated[str, Header()] = "",
) -> Response:
    """Return what the probes of a run's still said in it, as the history does of any range."""
    engine = house.reader.engine
    run = run_alone(engine, run_id)
    span = to_us(run.effective_at), to_us(until_of(run, house.now))
    stills = {one.about: one.name for one in facts.vessels(engine)}
    mine = [
        one
        for one in tracks(engine, *span)
        if one.quantity == TEMPERATURE and belongs(one, stills.get(run.vessel))
    ]
    return envelope(house, mine, span, buckets, accept_encoding)


@router.get("/{run_id}", responses=declared(404))
def review(house: Housed, run_id: UUID) -> RunReviewBody:
    """Return a run reviewed: what it was, what it took, what came of it, and what is missing."""
    found = Figures(ground(house, run_id))
    jars = [one.jar.about for one in found.ground.read.jars]
    went = poured(house.reader.engine, jars)
    return run_review(found, went, estimates_body(house, found))
