"""What is estimated: of every vessel now, as it was told before, and what ends a run."""

from collections.abc import Sequence
from typing import Annotated, Final
from uuid import UUID

from fastapi import Query
from pydantic import BaseModel, Field, model_validator
from sqlmodel import col
from starlette.concurrency import run_in_threadpool

from api.access import Asking, Role, needs
from api.entries import Entry, Version, correct, entered, store
from api.errors import declared
from api.estimates.bodies import (
    EstimatesNow,
    IssuedBody,
    IssuedHistory,
    issued_body,
    vessels_body,
)
from api.estimates.estimate import MODEL_VERSION
from api.estimates.facts.ends import KEY, RunEnd, RunEnds, run_ends, setting_of
from api.estimates.issued import Issued, of_run
from api.estimates.quantities import UNITS
from api.house import House, Housed
from api.ranges import check_range, clipped
from api.routing import Router
from logger.errors import ConflictError, NotFoundError, RangeError
from logger.store import facts
from logger.store.tables import Occupancy, Setting
from logger.store.timeline import END_SLOT, FIRST_SLOT

MOST_RUNS: Final = 20

router = Router(prefix="/estimates", tags=["estimates"], dependencies=[needs(Role.WATCH)])
Moment = Annotated[int | None, Query(ge=-(2**53), le=2**53, description="Milliseconds, UTC.")]
Percent = Annotated[float, Field(gt=0, lt=100, allow_inf_nan=False)]


class EndBody(Entry):
    """Where a run is taken to end, what comes first; and what its vapour has to leave against."""

    spout_abv: Annotated[Percent | None, Field(description="Strength at the spout, % vol.")] = None
    left_percent: Annotated[
        Percent | None, Field(description="What is left of the charge's alcohol, %.")
    ] = None
    seal_hpa: Annotated[
        float | None,
        Field(
            gt=0, le=200, allow_inf_nan=False,
            description="What a liquid seal adds to the air's pressure: 1 hPa for 10 mm of water.",
        ),
    ] = None  # fmt: skip
    vacuum: Annotated[
        bool, Field(description="The still is pumped down, and nothing measures how far.")
    ] = False

    @model_validator(mode="after")
    def _says_something(self) -> "EndBody":
        if self.spout_abv is None and self.left_percent is None:
            raise ValueError("This never ends; give spout_abv, left_percent or both.")
        return self


class RunEndsBody(BaseModel):
    """What ends stripping runs, and all the others; `version` is 0 until somebody has said it."""

    strip: EndBody
    cut: EndBody
    version: int


class RunEndsChange(Entry):
    """What shall end the runs from now on."""

    strip: EndBody
    cut: EndBody
    version: Version


@router.get("")
def now(house: Housed) -> EstimatesNow:
    """Return what is estimated of every vessel that is occupied, with what it rests on."""
    vessels = vessels_body(house.estimates.told)
    return EstimatesNow(model_version=MODEL_VERSION, vessels=vessels)


@router.get("/history", responses=declared(404))
async def history(
    house: Housed,
    quantity: Annotated[str, Query(max_length=60)],
    run_id: UUID | None = None,
    vessel_id: UUID | None = None,
    from_ms: Moment = None,
    to_ms: Moment = None,
    most: Annotated[int, Query(ge=2, le=20_000, description="Of each run, evenly chosen.")] = 2000,
) -> IssuedHistory:
    """Return what was told of one quantity, of a run or of a vessel's newest runs in a range."""
    if quantity not in UNITS:
        raise NotFoundError(
            f'Nothing called "{quantity}" is estimated; give one of {", ".join(UNITS)}.'
        )
    if (run_id is None) == (vessel_id is None):
        raise RangeError("Give run_id or vessel_id, one of the two.", field="run_id")
    span = _slots(house, from_ms, to_ms)
    wanted = (run_id, vessel_id, quantity)
    runs = await run_in_threadpool(_issued, house, wanted, span, most)
    return IssuedHistory(quantity=quantity, unit=UNITS[quantity], runs=runs)


@router.get("/run-ends")
def ends(house: Housed) -> RunEndsBody:
    """Return what ends the runs."""
    return _ends(house)


@router.put("/run-ends", dependencies=[needs(Role.OPERATE)], responses=declared(409))
def change_ends(house: Housed, asking: Asking, body: RunEndsChange) -> RunEndsBody:
    """Say what ends the runs from now on; the time to go is told by it."""
    old, value = setting_of(house.engine), RunEnds(_end(body.strip), _end(body.cut)).written()
    if old is not None:
        correct(house, asking, old, body.version, {"value": value})
    elif body.version:
        raise ConflictError(f"Nothing has version {body.version} here yet; load it again.")
    else:
        store(house, Setting.first(key=KEY, value=value, **entered(house, asking)))
    return _ends(house)


def _ends(house: House) -> RunEndsBody:
    found, setting = run_ends(house.engine), setting_of(house.engine)
    return RunEndsBody(
        strip=_end_body(found.strip),
        cut=_end_body(found.cut),
        version=0 if setting is None else setting.version,
    )


def _end(body: EndBody) -> RunEnd:
    return RunEnd(body.spout_abv, body.left_percent, body.seal_hpa, body.vacuum)


def _end_body(end: RunEnd) -> EndBody:
    return EndBody(
        spout_abv=end.spout_abv,
        left_percent=end.left_percent,
        seal_hpa=end.seal_hpa,
        vacuum=end.vacuum,
    )


def _slots(house: House, from_ms: int | None, to_ms: int | None) -> tuple[int, int]:
    """Give the slots of a range; without an end it is open there."""
    begin_ms = 0 if from_ms is None else from_ms
    end_ms = house.now_ms + 1000 if to_ms is None else to_ms
    check_range(begin_ms * 1000, end_ms * 1000, house.clock.now().utc_us)
    pieces = house.epochs.slots(clipped(begin_ms * 1000), clipped(end_ms * 1000))
    if not pieces:
        return FIRST_SLOT, FIRST_SLOT
    first = FIRST_SLOT if from_ms is None else min(one.from_slot for one in pieces)
    return first, END_SLOT if to_ms is None else max(one.to_slot for one in pieces)


def _issued(
    house: House,
    wanted: tuple[UUID | None, UUID | None, str],
    span: tuple[int, int],
    most: int,
) -> list[IssuedBody]:
    run_id, vessel_id, quantity = wanted
    engine = house.reader.engine
    if run_id is not None:
        runs = [facts.get(engine, Occupancy, run_id)]
    else:
        mine = facts.all_current(engine, Occupancy, col(Occupancy.vessel) == vessel_id)
        runs = list(mine)[-MOST_RUNS:]
    found = ((one, of_run(engine, one.about, quantity, *span)) for one in runs)
    return [
        issued_body(one.about, one.vessel, _thinned(rows, most), house.epochs)
        for one, rows in found
        if rows
    ]


def _thinned(rows: Sequence[Issued], most: int) -> Sequence[Issued]:
    """Choose evenly among many; the newest is always among them."""
    step = -(-len(rows) // most)
    return rows[::-1][::step][::-1]
