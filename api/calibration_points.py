"""Points of calibrations: a probe held still at a temperature that is known, judged and kept."""

from collections.abc import Mapping
from typing import Annotated, Any
from uuid import UUID

from fastapi import Query
from pydantic import AwareDatetime, Field
from starlette.concurrency import run_in_threadpool

from api.access import Asking, Role, needs
from api.calibration_bench import bench, used_points
from api.calibration_judging import JudgedProbe, Judgement, Measurement, judged
from api.calibration_ways import WAYS, Kind, Way
from api.entries import ProbeId, Record, Version, columns_of, correct, entered, store
from api.errors import declared
from api.house import Housed
from api.routing import Router
from logger.errors import ConflictError
from logger.store import facts
from logger.store.tables import CalibrationPoint

router = Router(prefix="/calibrations", tags=["calibrations"], dependencies=[needs(Role.WATCH)])


class PointRecord(Record):
    """A point as it was kept."""

    probe_id: str
    kind: Kind
    reference_c: float
    reference: str
    measured_c: float
    spread_c: float
    slope_c_per_min: float
    readings: int
    pressure_hpa: float | None
    at: AwareDatetime
    used: Annotated[bool, Field(description="By a calibration that stands.")]


@router.get("/ways")
def ways() -> list[Way]:
    """Return how points are measured, with cautions and sources."""
    return list(WAYS)


@router.post("/judge", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
async def judge(house: Housed, body: Measurement) -> Judgement:
    """Say whether the probes hold still at a point, and what would follow; nothing is kept."""
    return judged(await bench(house, body.temperature_unit), body)


@router.post(
    "/points", status_code=201, dependencies=[needs(Role.OPERATE)], responses=declared(404, 409)
)
async def keep(house: Housed, asking: Asking, body: Measurement) -> list[PointRecord]:
    """Judge the probes again and keep a point of each; where one does not hold still, of none."""
    found = judged(await bench(house, body.temperature_unit), body)
    for one in found.probes:
        if not one.acceptable:
            raise ConflictError(one.says)
    points = [_point(one, found, body, entered(house, asking)) for one in found.probes]
    await run_in_threadpool(store, house, *points)
    return [_record(one, used=False) for one in points]


@router.get("/points")
def points(house: Housed, probe_id: Annotated[ProbeId | None, Query()] = None) -> list[PointRecord]:
    """Return the points kept, of one probe or of all."""
    used = used_points(house)
    return [
        _record(one, used=one.about in used)
        for one in facts.calibration_points(house.reader.engine)
        if probe_id in {None, one.probe_id}
    ]


@router.delete(
    "/points/{point_id}",
    status_code=204,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def drop(
    house: Housed, asking: Asking, point_id: UUID, version: Annotated[Version, Query()]
) -> None:
    """Take a point back; calibrations worked out from it stay as they are."""
    old = facts.get(house.engine, CalibrationPoint, point_id)
    correct(house, asking, old, version, {"withdrawn": True})


def _point(
    one: JudgedProbe, found: Judgement, body: Measurement, columns: Mapping[str, Any]
) -> CalibrationPoint:
    return CalibrationPoint.first(
        probe_id=one.probe_id,
        kind=found.kind,
        reference_c=found.reference_c,
        reference=found.reference,
        measured_c=one.measured_c,
        spread_c=one.spread_c,
        slope_c_per_min=one.slope_c_per_min,
        readings=one.readings,
        pressure_hpa=body.pressure_hpa if found.kind == "steam" else None,
        **columns,
    )


def _record(fact: CalibrationPoint, *, used: bool) -> PointRecord:
    own = columns_of(fact, PointRecord)
    return PointRecord.model_validate(own | {"at": fact.effective_at, "used": used})
