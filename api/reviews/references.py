"""The run others are held against: pinned, unpinned, and its lines to be drawn behind another."""

from typing import Annotated, Any, Final
from uuid import UUID

import numpy as np
from fastapi import Body, Query

from api.access import Asking, Role, needs
from api.entries import NewEntry
from api.errors import declared
from api.house import House, Housed
from api.record.entering import Withdrawal, change, newest, withdrawal
from api.record.run_bodies import entry
from api.reviews.aligning import Axis, Place, align, step_of
from api.reviews.bodies_compared import Behind, BehindBody, ReferenceBody
from api.reviews.comparing import line_bodies, mark_bodies
from api.reviews.facts_read import Site, ground, grounds
from api.reviews.figures import Figures
from api.reviews.pinned import KIND, pin, reference_for, references
from api.reviews.refining import refined
from api.reviews.rows import row
from api.reviews.words import PURPOSES, MomentKey
from api.routing import Router
from logger.errors import NotFoundError
from logger.store import facts
from logger.store.record_tables import StageEntry
from logger.store.tables import Occupancy

router = Router(prefix="/references", tags=["reviews"], dependencies=[needs(Role.WATCH)])
OPERATE = [needs(Role.OPERATE)]
MS = 1000.0


class Pin(NewEntry):
    """A run to hold others of its still and purpose against."""

    run_id: UUID


@router.get("")
def pinned_runs(house: Housed) -> list[ReferenceBody]:
    """Return the pinned runs, one at most of each still and purpose."""
    return [_body(house, one) for one in references(house)]


@router.put("", dependencies=OPERATE, responses=declared(404, 409))
def pin_run(house: Housed, asking: Asking, body: Pin) -> ReferenceBody:
    """Pin a run; it takes the place of what was pinned for its still and purpose."""
    return _body(house, pin(house, asking, body.run_id, body.id))


@router.delete("/{reference_id}", dependencies=OPERATE, responses=declared(404, 409))
def unpin_run(
    house: Housed,
    asking: Asking,
    reference_id: UUID,
    body: Annotated[Withdrawal | None, Body()] = None,
    version: Annotated[int | None, Query(ge=0)] = None,
) -> ReferenceBody:
    """Hold nothing against this run any longer; the record keeps that it was pinned."""
    old, wanted = newest(house, StageEntry, reference_id), withdrawal(body, version)
    if old.kind != KIND:
        raise NotFoundError(f"There is no pinned run {reference_id}; load the list again.")

    def shown(now: StageEntry) -> ReferenceBody:
        return _body(house, now)

    return shown(change(house, asking, old, wanted, {"withdrawn": True}, shown))


@router.get("/for/{run_id}", responses=declared(404))
def behind(
    house: Housed, run_id: UUID, buckets: Annotated[int, Query(ge=20, le=2000)] = 400
) -> BehindBody:
    """Return the pinned run's lines at another run's own times, to be drawn behind its chart."""
    site = Site.read(house.reader.engine)
    run = Figures(ground(house, run_id, site))
    found = reference_for(house, run.ground.run)
    if found is None or found.refers is None:
        purpose = PURPOSES.get(run.ground.run.stage, run.ground.run.stage)
        why = f"No {purpose} is pinned as the reference of this still."
        return BehindBody(run_id=run_id, reference=None, why=why, **_NOTHING)
    if found.refers == run_id:
        why = "This run is the reference itself."
        return BehindBody(run_id=run_id, reference=_body(house, found), why=why, **_NOTHING)
    return _drawn(house, run, Figures(ground(house, found.refers, site)), found, buckets)


_NOTHING: Final[dict[str, Any]] = {"aligned_by": None, "shift_ms": None, "marks": [], "lines": []}


def _drawn(
    house: House, run: Figures, reference: Figures, pinned: StageEntry, buckets: int
) -> BehindBody:
    by, shift_s = _shift(house, run, reference)
    span = reference.ground
    ends = np.array([span.run.effective_at.timestamp(), span.until.timestamp()])
    place = Place(ends, (ends + shift_s) * MS)
    by_time = align(reference, "clock")
    dx = step_of([by_time], Axis("", "s", 10.0), buckets) * MS
    return BehindBody(
        run_id=run.ground.run.about,
        reference=_body(house, pinned),
        why=None,
        aligned_by=by,
        shift_ms=round(shift_s * MS),
        marks=mark_bodies(reference, place),
        lines=line_bodies(reference, place, dx),
    )


def _shift(house: House, run: Figures, reference: Figures) -> tuple[Behind, float]:
    """Align by the first drop where both have one, else by heat on, else by the beginning."""
    keys: tuple[MomentKey, ...] = ("first_drop", "heat_on")
    for key in keys:
        mine, other = refined(house, run, key), refined(house, reference, key)
        if mine is not None and other is not None:
            by: Behind = "first_drop" if key == "first_drop" else "heat_on"
            return by, (mine - other).total_seconds()
    began = run.ground.run.effective_at - reference.ground.run.effective_at
    return "begin", began.total_seconds()


def _body(house: House, one: StageEntry) -> ReferenceBody:
    engine = house.reader.engine
    found = facts.all_current(engine, Occupancy)
    runs = [occupancy for occupancy in found if occupancy.about == one.refers]
    shown = [Figures(read) for read in grounds(house, runs, Site.read(engine))]
    names = {vessel.about: vessel.name for vessel in facts.vessels(engine)}
    said = {key: value for key, value in entry(one).items() if key != "withdrawn"}
    assert one.vessel is not None and one.refers is not None  # noqa: S101, PT018 - as it was pinned
    return ReferenceBody(
        **said,
        vessel_id=one.vessel,
        vessel=names.get(one.vessel),
        purpose=one.name,
        run_id=one.refers,
        run=row(shown[0]) if shown else None,
        pinned_at=one.effective_at,
    )
