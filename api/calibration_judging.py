"""Whether probes hold still at a temperature that is known, and what would follow from it."""

from dataclasses import dataclass
from typing import Annotated, Final
from uuid import UUID

from pydantic import BaseModel, Field

from api.calibration_bench import Bench, Proposal
from api.calibration_ways import Kind, Limits
from api.entries import ProbeId, Speaking
from calc.errors import OutOfRangeError, WormtubError
from calc.quantities import PRESSURE, TEMPERATURE
from logger import calibration
from logger.calibration import Point, Steadiness
from logger.degrees import Degrees
from logger.errors import ConflictError


class Measurement(Speaking):
    """Probes held at one temperature that is known, all at once."""

    probe_ids: Annotated[list[ProbeId], Field(min_length=1, max_length=32)]
    kind: Kind
    pressure_hpa: Annotated[
        float | None,
        Field(
            ge=PRESSURE.low,
            le=PRESSURE.high,
            allow_inf_nan=False,
            description="Of steam, and then it must be measured: absolute, where the still is.",
        ),
    ] = None
    reference_c: Annotated[
        float | None,
        Field(
            ge=TEMPERATURE.low,
            le=TEMPERATURE.high,
            allow_inf_nan=False,
            description="Of a bath: what a trusted thermometer in it says.",
        ),
    ] = None
    reference_probe_id: Annotated[
        ProbeId | None, Field(description="Of a bath: a calibrated probe in it, instead.")
    ] = None


STEAM_C_PER_HPA: Final = 0.028  # near 1013 hPa, from the boiling points themselves


class JudgedProbe(BaseModel):
    """How one probe does at the point."""

    probe_id: str
    acceptable: bool
    says: str
    readings: int
    measured_c: Annotated[float | None, Field(description="Before any calibration.")]
    spread_c: float | None
    slope_c_per_min: float | None
    error_c: Annotated[float | None, Field(description="Measured less reference.")]
    with_points: Annotated[list[UUID], Field(description="Points kept before, used beside it.")]
    proposed: Proposal | None
    refused: Annotated[str | None, Field(description="Why no calibration is proposed.")]


class Judgement(BaseModel):
    """What would be kept; nothing has been."""

    kind: Kind
    reference_c: float
    reference: str
    acceptable: bool
    probes: list[JudgedProbe]
    limits: Limits


@dataclass(frozen=True, slots=True)
class Reference:
    """What the probes are held at, and in words why."""

    temperature_c: float
    says: str


def judged(bench: Bench, body: Measurement) -> Judgement:
    """Judge every probe named."""
    if len(set(body.probe_ids)) < len(body.probe_ids):
        raise ConflictError("A probe is named twice; name each probe once.")
    reference = _reference(bench, body)
    probes = [_probe(bench, body, reference, probe_id) for probe_id in body.probe_ids]
    return Judgement(
        kind=body.kind,
        reference_c=reference.temperature_c,
        reference=reference.says,
        acceptable=all(one.acceptable for one in probes),
        probes=probes,
        limits=Limits(),
    )


def _reference(bench: Bench, body: Measurement) -> Reference:
    if body.kind == "ice":
        return Reference(calibration.ICE_C, "melting ice")
    if body.kind == "bath":
        return _bath(bench, body)
    if body.pressure_hpa is None:
        raise OutOfRangeError(
            "The steam point needs the air pressure measured now, since steam is "
            f"{bench.degrees.apart(STEAM_C_PER_HPA)} warmer for every hPa; read the barometer and "
            "give pressure_hpa.",
            quantity="pressure_hpa",
        )
    says = f"steam at {body.pressure_hpa:g} hPa"
    return Reference(calibration.steam_c(body.pressure_hpa), says)


def _bath(bench: Bench, body: Measurement) -> Reference:
    if (body.reference_c is None) == (body.reference_probe_id is None):
        raise OutOfRangeError(
            "A bath needs one reference: give reference_c, what the thermometer in it says, or "
            "reference_probe_id, a calibrated probe in it.",
            quantity="reference_c",
        )
    if body.reference_c is not None:
        return Reference(body.reference_c, "a thermometer in the bath")
    probe_id = str(body.reference_probe_id)
    if probe_id in body.probe_ids:
        raise ConflictError(f"{probe_id} cannot be its own reference; leave it out of probe_ids.")
    steady = bench.steadiness(probe_id)
    if steady.measured_c is None or steady.why:
        raise ConflictError(f"The reference {probe_id} cannot be used: {steady.why}")
    return Reference(round(bench.line(probe_id).at(steady.measured_c), 4), f"probe {probe_id}")


def _probe(bench: Bench, body: Measurement, reference: Reference, probe_id: str) -> JudgedProbe:
    steady = bench.steadiness(probe_id)
    why, measured_c = steady.why, steady.measured_c
    if why is None and measured_c is not None:
        why = calibration.too_far(measured_c, reference.temperature_c, bench.degrees)
    before = bench.open_points.get(probe_id, []) if why is None else []
    proposed, refused = None, None
    if why is None and measured_c is not None:
        kept = [Point(one.measured_c, one.reference_c) for one in before]
        fresh, kinds = Point(measured_c, reference.temperature_c), [one.kind for one in before]
        try:
            every = [*kept, fresh]
            proposed = bench.proposal(probe_id, every, [*kinds, body.kind], body.pressure_hpa)
        except WormtubError as error:
            refused = str(error)
    return JudgedProbe(
        probe_id=probe_id,
        acceptable=why is None,
        says=f"{probe_id} cannot be taken: {why}"
        if why
        else _holds(probe_id, steady, bench.degrees),
        readings=steady.readings,
        measured_c=measured_c,
        spread_c=steady.spread_c,
        slope_c_per_min=steady.slope_c_per_min,
        error_c=None if measured_c is None else round(measured_c - reference.temperature_c, 4),
        with_points=[one.about for one in before],
        proposed=proposed,
        refused=refused,
    )


def _holds(probe_id: str, steady: Steadiness, degrees: Degrees) -> str:
    spread_c, slope_c_per_min = steady.spread_c or 0.0, steady.slope_c_per_min or 0.0
    return (
        f"{probe_id} holds still: {steady.readings} readings in {calibration.WINDOW_S // 60} "
        f"minutes within {degrees.apart(spread_c)} (at most "
        f"{degrees.most(calibration.SPREAD_LIMIT_C)}), moving by "
        f"{degrees.change(slope_c_per_min)} a minute (at most "
        f"{degrees.most(calibration.DRIFT_LIMIT_C_PER_MIN)})."
    )
