"""How estimates are told over HTTP and on the live stream."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Annotated, Final
from uuid import UUID

import orjson
from pydantic import AwareDatetime, BaseModel, Field

from api.estimates.desk import Told
from api.estimates.estimate import Estimate
from api.estimates.ground import RunGround
from api.estimates.issued import Issued
from api.estimates.quantities import UNITS
from logger.store.timeline import EpochTable

DECIMALS: Final = 4


class EstimateBody(BaseModel):
    """One quantity as it is told now."""

    quantity: str
    unit: str
    value: float | None
    low: Annotated[float | None, Field(description="95 % band.")]
    high: float | None
    low_68: Annotated[float | None, Field(description="68 % band.")]
    high_68: float | None
    why: Annotated[str | None, Field(description="Why it cannot be told, or a word beside it.")]
    rests_on: list[str]
    narrows: Annotated[list[str], Field(description="What a person could do to narrow the band.")]


class VesselEstimates(BaseModel):
    """What is told of one vessel that is occupied."""

    vessel_id: UUID
    vessel: str
    run_id: Annotated[UUID, Field(description="The occupancy; a run where it is a still's.")]
    batch: str
    stage: str
    kind: Annotated[str, Field(description="still, ferment or mash.")]
    end_abv: Annotated[float | None, Field(description="A run is taken to end at it, % vol.")]
    end_left_percent: Annotated[float | None, Field(description="Or at so little alcohol left.")]
    slot: Annotated[int, Field(description="Of the newest reading it stands on.")]
    at: AwareDatetime
    contradictions: Annotated[list[str], Field(description="What does not fit the rest.")]
    estimates: list[EstimateBody]


class EstimatesNow(BaseModel):
    """What is told of every vessel that is occupied, by the vessels' names."""

    model_version: int
    vessels: list[VesselEstimates]


class IssuedBody(BaseModel):
    """What was told of a quantity in one run: columns side by side, oldest first."""

    run_id: UUID
    vessel_id: UUID
    at_ms: list[int]
    value: list[float | None]
    low: list[float | None]
    high: list[float | None]
    low_68: list[float | None]
    high_68: list[float | None]
    why: list[str | None]
    model_version: list[int]


class IssuedHistory(BaseModel):
    """What was told of one quantity, run by run."""

    quantity: str
    unit: str
    runs: list[IssuedBody]


def estimate_body(one: Estimate) -> EstimateBody:
    """Show one estimate."""
    return EstimateBody(
        quantity=one.quantity,
        unit=UNITS.get(one.quantity, ""),
        value=_rounded(one.value),
        low=_rounded(one.low),
        high=_rounded(one.high),
        low_68=_rounded(one.low_68),
        high_68=_rounded(one.high_68),
        why=one.why,
        rests_on=list(one.rests_on),
        narrows=list(one.narrows),
    )


def vessel_body(one: Told) -> VesselEstimates:
    """Show what is told of a vessel."""
    held, ground = one.held, one.held.ground
    run = ground if isinstance(ground, RunGround) else None
    left = run.end_left_share if run else None
    return VesselEstimates(
        vessel_id=held.vessel_id,
        vessel=held.vessel,
        run_id=held.run_id,
        batch=held.batch,
        stage=held.stage,
        kind=held.kind,
        end_abv=run.end_abv if run else None,
        end_left_percent=None if left is None else 100.0 * left,
        slot=one.slot,
        at=one.at,
        contradictions=list(
            dict.fromkeys(said for each in one.estimates for said in each.contradictions)
        ),
        estimates=[estimate_body(each) for each in one.estimates],
    )


def vessels_body(told: Mapping[str, Told]) -> list[VesselEstimates]:
    """Show what is told of all vessels."""
    return [vessel_body(one) for one in sorted(told.values(), key=lambda one: one.held.vessel)]


def told_data(told: Iterable[Told], vessels: Iterable[str]) -> bytes:
    """Write the event: what is restated, and which vessels there is anything of."""
    return orjson.dumps(
        {
            "vessel_ids": sorted(vessels),
            "vessels": [
                vessel_body(one).model_dump(
                    mode="json", exclude={"estimates": {"__all__": {"rests_on", "narrows"}}}
                )
                for one in told
            ],
        }
    )


def issued_body(
    run_id: UUID, vessel_id: UUID, rows: Sequence[Issued], epochs: EpochTable
) -> IssuedBody:
    """Show what was told of a run; the times are those of the slots, as the clock is known now."""
    return IssuedBody(
        run_id=run_id,
        vessel_id=vessel_id,
        at_ms=[epochs.utc_us(one.slot) // 1000 for one in rows],
        value=[one.value for one in rows],
        low=[one.low for one in rows],
        high=[one.high for one in rows],
        low_68=[one.low_68 for one in rows],
        high_68=[one.high_68 for one in rows],
        why=[one.why for one in rows],
        model_version=[one.model_version for one in rows],
    )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, DECIMALS)
