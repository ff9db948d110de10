"""Batches in a list, the story of one, the plan it leaves, and the next one begun from it."""

from collections.abc import Sequence
from typing import Annotated, Literal
from uuid import UUID

from fastapi import Query

from api.access import Asking, Role, needs
from api.errors import declared
from api.house import House, Housed
from api.record.balance import of_batch
from api.record.entering import newest
from api.record.words import LotKind, Wash
from api.reviews.batch_keys import KEYS, batch_key_bodies, batch_numbers
from api.reviews.batch_read import BatchRead, Cellar, links_of, read_cellar
from api.reviews.bodies import GapBody
from api.reviews.bodies_batch import (
    BatchesBody,
    BatchRowBody,
    BatchStoryBody,
    CellarBody,
    FollowedPlanBody,
    LotRowBody,
    NextBatch,
    PlanBody,
)
from api.reviews.following import after, before, begin_next, link_of
from api.reviews.lot_rows import in_store, lot_rows
from api.reviews.ordering import has_words, in_order_of
from api.reviews.planning import plan
from api.reviews.rows import key_bodies, row
from api.reviews.story import story, story_gaps
from api.routing import Router
from logger.store.record_tables import Batch, StageEntry

router = Router(tags=["reviews"], dependencies=[needs(Role.WATCH)])
BatchOrder = Literal[
    "began_at", "name", "bill_kg", "spirit_pure_alcohol_l", "yield_l_per_100_kg", "efficiency",
    "energy_kwh_per_l", "alarms",
]  # fmt: skip
LotOrder = Literal["since", "name", "kind", "batch", "volume_l", "abv", "pure_alcohol_l"]
Way = Literal["rising", "falling"]
Words = Annotated[str | None, Query(max_length=100, description="Words to be found.")]
Offset = Annotated[int, Query(ge=0, le=1_000_000)]
Limit = Annotated[int, Query(ge=1, le=500)]
NO_LINK = "This batch was not begun from another's plan."


@router.get("/batches")
def listed_batches(
    house: Housed,
    text: Words = None,
    kind_of_wash: Wash | None = None,
    holds: Annotated[Literal["any", "now", "none"], Query(description="A vessel, now.")] = "any",
    sort: BatchOrder = "began_at",
    order: Way = "falling",
    offset: Offset = 0,
    limit: Limit = 100,
) -> BatchesBody:
    """Return batches with their key numbers."""
    cellar = read_cellar(house)
    found = [one for one in cellar.batches if _says(one, cellar.links, text)]
    fitting = [
        one
        for one in map(batch_row, found)
        if kind_of_wash in {None, one.kind_of_wash}
        and holds in {"any", "now" if one.stage else "none"}
    ]
    rows = _sorted(fitting, sort, order)
    return BatchesBody(
        total=len(rows), keys=batch_key_bodies(), batches=rows[offset : offset + limit]
    )


@router.get("/cellar")
def in_cellar(
    house: Housed,
    text: Words = None,
    kind: LotKind | None = None,
    batch: Annotated[str | None, Query(max_length=60)] = None,
    empty: Annotated[Literal["left out", "shown"], Query()] = "left out",
    sort: LotOrder = "since",
    order: Way = "falling",
    offset: Offset = 0,
    limit: Limit = 100,
) -> CellarBody:
    """Return what is in store, how strong, and from where."""
    cellar = read_cellar(house)
    lots = [
        one
        for one in lot_rows(cellar, batch)
        if kind in {None, one.kind} and _lot_says(one, text) and (empty == "shown" or in_store(one))
    ]
    ordered = in_order_of(lots, lambda one: getattr(one, sort), falling=order == "falling")
    return CellarBody(
        total=len(lots),
        volume_l=sum(one.volume_l or 0.0 for one in lots),
        pure_alcohol_l=sum(one.pure_alcohol_l or 0.0 for one in lots),
        lots=ordered[offset : offset + limit],
    )


@router.get("/batches/{batch_id}", responses=declared(404))
def batch_story(house: Housed, batch_id: UUID) -> BatchStoryBody:
    """Return a batch's story from bill to bottle, with its balance."""
    cellar, one = _read(house, batch_id)
    link = link_of(cellar.links, batch_id)
    return BatchStoryBody(
        batch=batch_row(one),
        keys=batch_key_bodies(),
        stages=story(one, cellar),
        runs=[row(run) for run in one.runs],
        run_keys=key_bodies(),
        lots=lot_rows(cellar, one.batch.name),
        balance=of_batch(house, batch_id),
        follows=before(house, link) if link else None,
        followed_by=after(house, cellar.links, batch_id),
        gaps=[GapBody(about=gap.about, why=gap.why) for gap in story_gaps(one)],
    )


@router.get("/batches/{batch_id}/plan", responses=declared(404))
def plan_of_batch(house: Housed, batch_id: UUID) -> PlanBody:
    """Return how a batch was made, as the next can be."""
    return plan(house.reader.engine, _read(house, batch_id)[1], house.now)


@router.get("/batches/{batch_id}/follows", responses=declared(404))
def plan_followed(house: Housed, batch_id: UUID) -> FollowedPlanBody:
    """Return the plan a batch was begun from, and what had been learned."""
    newest(house, Batch, batch_id)
    link = link_of(links_of(house), batch_id)
    if link is None or link.refers is None:
        return FollowedPlanBody(batch_id=batch_id, follows=None, plan=None, why=NO_LINK)
    _, one = _read(house, link.refers)
    return FollowedPlanBody(
        batch_id=batch_id,
        follows=before(house, link),
        plan=plan(house.reader.engine, one, house.now),
        why=None,
    )


@router.post(
    "/batches/{batch_id}/next",
    status_code=201,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def begin_next_batch(
    house: Housed, asking: Asking, batch_id: UUID, body: NextBatch
) -> FollowedPlanBody:
    """Begin the next batch from this one's plan, with what was learned."""
    made = begin_next(house, asking, newest(house, Batch, batch_id), body)
    return plan_followed(house, made.about)


def batch_row(one: BatchRead) -> BatchRowBody:
    """Show a batch in a list."""
    held = one.goes_on
    return BatchRowBody(
        id=one.batch.about,
        name=one.batch.name,
        kind_of_wash=one.batch.kind_of_wash,
        note=one.batch.note,
        began_at=one.began_at,
        stage=held.stage if held else None,
        runs=len(one.runs),
        numbers=batch_numbers(one),
    )


def _read(house: House, batch_id: UUID) -> tuple[Cellar, BatchRead]:
    batch = newest(house, Batch, batch_id)
    cellar = read_cellar(house, batch)
    return cellar, cellar.batches[0]


def _says(one: BatchRead, links: Sequence[StageEntry], text: str | None) -> bool:
    """Look in what was entered of a batch, and in what was learned from it or for it."""
    about = one.batch.about
    learned = (said.text for said in links if about == said.refers or str(about) == said.name)
    parts = (one.batch.name, one.batch.note, *(said.text for said in one.said),
             *(said.name for said in one.said), *learned)  # fmt: skip
    return has_words(parts, text)


def _lot_says(one: LotRowBody, text: str | None) -> bool:
    parts = (one.name, one.batch or "", one.vessel or "", one.origin, one.kind, *one.came_from)
    return has_words(parts, text)


def _sorted(rows: list[BatchRowBody], by: BatchOrder, order: Way) -> list[BatchRowBody]:
    if by in KEYS:
        return in_order_of(rows, lambda one: one.numbers[by], falling=order == "falling")
    return in_order_of(rows, lambda one: getattr(one, by), falling=order == "falling")
