"""How trends across runs are shown."""

from typing import Annotated, Literal
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.reviews.bodies import GapBody, KeyBody, RunRowBody
from api.reviews.bodies_batch import BatchRowBody

Basis = Literal["barometer", "entered", "altitude"]


class TrendRunBody(BaseModel):
    """A run as a point of the trends."""

    run: RunRowBody
    coolant_out_most_c: Annotated[
        float | None, Field(description="The warmest the outlet was while it ran.")
    ]
    coolant_margin_k: Annotated[
        float | None, Field(description="How far that lay below the limit of a hot outlet.")
    ]


class DriftBody(BaseModel):
    """What a probe read in steam in a cleaning run, and what it should have."""

    run_id: UUID
    vessel_id: UUID
    vessel: str | None
    place: str
    place_id: UUID | None
    probe_id: str
    probe: Annotated[str, Field(description="As people call it.")]
    from_at: AwareDatetime
    to_at: AwareDatetime
    measured_c: Annotated[float, Field(description="As it is calibrated now.")]
    water_c: Annotated[float, Field(description="The boiling point of water.")]
    difference_k: float
    pressure_hpa: float
    pressure_basis: Basis
    water_error_k: Annotated[
        float,
        Field(
            description="How far the boiling point may be off with the pressure, one standard "
            "error; what was entered by hand ages with the weather."
        ),
    ]


class TrendsBody(BaseModel):
    """Runs and batches over time, the oldest first."""

    keys: list[KeyBody]
    runs: list[TrendRunBody]
    batch_keys: list[KeyBody]
    batches: list[BatchRowBody]
    coolant_limit_c: Annotated[float, Field(description="Of a hot outlet, as it is set now.")]
    drift: list[DriftBody]
    gaps: list[GapBody]
