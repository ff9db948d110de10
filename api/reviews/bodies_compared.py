"""How runs laid over each other are shown, and the run that others are held against."""

from typing import Annotated, Literal
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.entries import Record
from api.record.words import Purpose
from api.reviews.aligning import Align
from api.reviews.bodies import GapBody, KeyBody, RunRowBody
from api.reviews.words import MomentKey

Behind = Literal["first_drop", "heat_on", "begin"]


class AxisBody(BaseModel):
    """What the common axis counts."""

    label: str
    unit: str


class AlignedSegmentBody(BaseModel):
    """Buckets side by side; bucket i begins at x0 + i * dx, in the axis's unit."""

    x0: float
    dx: float
    counts_per_unit: Annotated[int, Field(description="value = count / counts_per_unit")]
    lo: Annotated[list[int | None], Field(description="Lowest in each bucket; null: none.")]
    hi: list[int | None]
    breaks: Annotated[list[int], Field(description="Buckets before which there was a gap.")]


class AlignedLineBody(BaseModel):
    """One line of a run on the common axis."""

    key: Annotated[str, Field(description="Place and quantity: the same in every run.")]
    place_id: UUID | None
    place: str
    quantity: str
    unit: str
    segments: list[AlignedSegmentBody]


class AlignedMarkBody(BaseModel):
    """A moment of a run on the common axis."""

    key: MomentKey
    name: str
    at: AwareDatetime
    x: Annotated[float | None, Field(description="Null: it lies beyond the axis.")]


class AlignedStrengthBody(BaseModel):
    """A strength that was read."""

    x: float
    abv: float
    abv_error: float
    jar: int | None


class AlignedSumBody(BaseModel):
    """What had come over."""

    x: float
    volume_l: float | None
    pure_alcohol_l: float | None


class ReachedBody(BaseModel):
    """When a run reached places of the axis, in seconds since its zero."""

    x0: float
    dx: float
    seconds: list[float | None]


class AlignedRunBody(BaseModel):
    """A run on the common axis."""

    run: RunRowBody
    zero_at: AwareDatetime | None
    why: Annotated[str | None, Field(description="Why it cannot be put there.")]
    is_reference: bool
    marks: list[AlignedMarkBody]
    lines: list[AlignedLineBody]
    strengths: list[AlignedStrengthBody]
    collected: list[AlignedSumBody]
    reached: Annotated[
        ReachedBody | None, Field(description="Where the axis is not time: when it was reached.")
    ]


class DifferenceBody(KeyBody):
    """One key number of all runs, and how each differs from the first."""

    values: list[float | None]
    differences: Annotated[
        list[float | None], Field(description="Less the first run's; its own is 0.")
    ]


class RunGapBody(GapBody):
    """Something of one of the runs that cannot be told."""

    run_id: UUID


class ComparisonBody(BaseModel):
    """Up to four runs laid over each other."""

    align: Align
    axis: AxisBody
    runs: list[AlignedRunBody]
    table: list[DifferenceBody]
    gaps: list[RunGapBody]


class ReferenceBody(Record):
    """The run that others of its still and purpose are held against."""

    vessel_id: UUID
    vessel: str | None
    purpose: Purpose
    run_id: UUID
    run: Annotated[RunRowBody | None, Field(description="Null: it was taken back since.")]
    pinned_at: AwareDatetime


class BehindBody(BaseModel):
    """The reference of a run, to be drawn behind it: its lines at the run's own times."""

    run_id: UUID
    reference: ReferenceBody | None
    why: Annotated[str | None, Field(description="Why there is nothing to draw.")]
    aligned_by: Behind | None
    shift_ms: Annotated[int | None, Field(description="Its true time plus this is drawn.")]
    marks: Annotated[list[AlignedMarkBody], Field(description="x: ms since 1970, shifted.")]
    lines: Annotated[list[AlignedLineBody], Field(description="x: ms since 1970, shifted.")]
