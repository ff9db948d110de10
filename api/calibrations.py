"""Calibrations: lines worked out from points, applied from a chosen time on, and taken back."""

from collections.abc import Sequence
from typing import Annotated, Any
from uuid import UUID

from fastapi import Query
from pydantic import AwareDatetime, Field
from starlette.concurrency import run_in_threadpool

from api.access import Asking, Role, needs
from api.calibration_bench import KEPT, Bench, KeptPoint, Proposal, bench
from api.entries import (
    Entry,
    ProbeId,
    Record,
    Speaking,
    Version,
    columns_of,
    correct,
    entered,
    not_ahead,
    store,
)
from api.errors import declared
from api.house import House, Housed
from api.routing import Router
from calc.errors import OutOfRangeError
from logger.calibration import Point
from logger.errors import NotFoundError
from logger.store import facts
from logger.store.tables import TEMPERATURE, Calibration, CalibrationPoint

router = Router(prefix="/calibrations", tags=["calibrations"], dependencies=[needs(Role.WATCH)])


class ChosenPoints(Speaking):
    """Points to draw lines through: one line for each probe among them."""

    point_ids: Annotated[list[UUID], Field(min_length=1, max_length=200)]


class NewCalibrations(ChosenPoints):
    """Calibrations to apply: from now on, unless told since when."""

    effective_at: AwareDatetime | None = None


class CalibrationChange(Entry):
    """When a calibration shall be applied from."""

    effective_at: AwareDatetime
    version: Version


class CalibrationRecord(Record):
    """A calibration as it stands, or stood until it was taken back."""

    probe_id: str
    quantity: str
    slope: float
    offset: float
    residual_c: float | None
    method: str
    points: list[KeptPoint]
    effective_at: AwareDatetime
    applies: Annotated[bool, Field(description="To readings taken now.")]
    withdrawn: bool


@router.get("")
def listed(
    house: Housed, probe_id: Annotated[ProbeId | None, Query()] = None
) -> list[CalibrationRecord]:
    """Return the calibrations of one probe or of all, with those taken back, oldest first."""
    found = facts.with_withdrawn(house.reader.engine, Calibration)
    return _records(house, [one for one in found if probe_id in {None, one.probe_id}])


@router.post("/preview", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
async def preview(house: Housed, body: ChosenPoints) -> list[Proposal]:
    """Draw the lines through points and say what they do; nothing is kept."""
    ground = await bench(house, body.temperature_unit)
    chosen = await run_in_threadpool(_chosen, house, body.point_ids)
    return [_proposal(ground, points) for points in chosen]


@router.post("", status_code=201, dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
async def apply(house: Housed, asking: Asking, body: NewCalibrations) -> list[CalibrationRecord]:
    """Apply the lines through points: one for each probe, all or none."""
    ground = await bench(house, body.temperature_unit)
    chosen = await run_in_threadpool(_chosen, house, body.point_ids)
    columns = entered(house, asking, body.effective_at, "effective_at")
    made = [_fact(_proposal(ground, points), points, columns) for points in chosen]
    await run_in_threadpool(store, house, *made)
    return await run_in_threadpool(_records, house, made)


@router.put("/{calibration_id}", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def change(
    house: Housed, asking: Asking, calibration_id: UUID, body: CalibrationChange
) -> CalibrationRecord:
    """Apply a calibration from another time on."""
    old = facts.get(house.engine, Calibration, calibration_id)
    changes = {"effective_at": not_ahead(body.effective_at, house.now, "effective_at")}
    return _records(house, [correct(house, asking, old, body.version, changes)])[0]


@router.delete(
    "/{calibration_id}",
    status_code=204,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def withdraw(
    house: Housed, asking: Asking, calibration_id: UUID, version: Annotated[Version, Query()]
) -> None:
    """Take a calibration back: the history is as it was before, and so are live values."""
    old = facts.get(house.engine, Calibration, calibration_id)
    correct(house, asking, old, version, {"withdrawn": True})


def _chosen(house: House, point_ids: Sequence[UUID]) -> list[list[CalibrationPoint]]:
    """Read points by their ids, those of each probe together."""
    known = {one.about: one for one in facts.calibration_points(house.engine)}
    by_probe: dict[str, list[CalibrationPoint]] = {}
    for point_id in dict.fromkeys(point_ids):
        if point_id not in known:
            raise NotFoundError(f"There is no point {point_id}; load the list of points again.")
        by_probe.setdefault(known[point_id].probe_id, []).append(known[point_id])
    return list(by_probe.values())


def _proposal(ground: Bench, points: Sequence[CalibrationPoint]) -> Proposal:
    line = [Point(one.measured_c, one.reference_c) for one in points]
    pressures = [one.pressure_hpa for one in points if one.pressure_hpa is not None]
    hpa = pressures[-1] if pressures else None
    probe_id = points[0].probe_id
    try:
        return ground.proposal(probe_id, line, [one.kind for one in points], hpa)
    except OutOfRangeError as error:  # several probes may have been asked for at once
        raise OutOfRangeError(f"{probe_id}: {error}", quantity=error.quantity) from None


def _fact(
    found: Proposal, points: Sequence[CalibrationPoint], columns: dict[str, Any]
) -> Calibration:
    kept = KEPT.dump_json(tuple(KeptPoint.of(one) for one in points)).decode()
    line = found.model_dump(include={"probe_id", "slope", "offset", "residual_c", "method"})
    return Calibration.first(points=kept, quantity=TEMPERATURE, **line, **columns)


def _records(house: House, found: Sequence[Calibration]) -> list[CalibrationRecord]:
    now = {one.about for one in facts.calibrations(house.reader.engine, house.now)}
    return [_record(one, applies=one.about in now and not one.withdrawn) for one in found]


def _record(fact: Calibration, *, applies: bool) -> CalibrationRecord:
    own = columns_of(fact, CalibrationRecord)
    more = {
        "points": KEPT.validate_json(fact.points),
        "effective_at": fact.effective_at,
        "applies": applies,
        "withdrawn": fact.withdrawn,
    }
    return CalibrationRecord.model_validate(own | more)
