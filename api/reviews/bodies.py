"""How a finished run is shown, whole and in a list."""

from typing import Annotated
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.record.run_bodies import ContentBody, JarBody, MarkBody
from api.record.words import Cut, Purpose
from api.reviews.jumps import Next
from api.reviews.usage import Standing
from api.reviews.words import Basis, MomentKey, PhaseKey


class GapBody(BaseModel):
    """Something that cannot be told, and one sentence why."""

    about: str
    why: str


class ClockChangeBody(BaseModel):
    """The local clock was put forward or back while the run was on."""

    at: AwareDatetime
    by_min: Annotated[int, Field(description="Forward is positive.")]


class RunFactsBody(BaseModel):
    """What was entered of a run."""

    id: UUID
    version: int
    vessel_id: UUID
    vessel: str | None
    batch: str
    batch_id: UUID | None
    purpose: Purpose
    purpose_name: str
    shows_strength: bool
    started_at: AwareDatetime
    ended_at: AwareDatetime | None
    is_on: bool
    from_ms: Annotated[int, Field(description="For /api/history: the run's stretch.")]
    to_ms: int
    duration_min: float
    who: str
    time_zone: str
    clock_changes: list[ClockChangeBody]
    charge: ContentBody | None
    fill_fraction: float | None


class MomentBody(BaseModel):
    """When something happened, how that is known, and what was read then."""

    key: MomentKey
    name: str
    at: AwareDatetime
    basis: Basis
    why: str
    pot_c: float | None
    head_c: float | None


class UsedBody(BaseModel):
    """What was used of something; null where it cannot be told."""

    amount: float | None
    unit: str
    basis: Standing
    says: str


class AmountsBody(BaseModel):
    """What came over in a stretch or in jars of a class, put together at 20 °C."""

    volume_l: float
    pure_alcohol_l: float | None
    pure_alcohol_error_l: float | None
    abv: float | None
    is_expected: Annotated[bool, Field(description="Some strength in it was never read.")]
    jars: int
    share_of_charge: float | None
    share_of_collected: float | None


class CameBody(BaseModel):
    """What came over in all, in jars or without, at 20 °C."""

    volume_l: float
    pure_alcohol_l: Annotated[float | None, Field(description="Null: no strength is known.")]
    pure_alcohol_error_l: float | None
    is_expected: Annotated[bool, Field(description="Some strength in it was never read.")]
    jars_without_volume: int
    without_jars: Annotated[
        AmountsBody | None, Field(description="Collected straight into a lot; part of the sum.")
    ]
    share_of_charge: float | None


class PhaseBody(BaseModel):
    """A phase of the run."""

    key: PhaseKey
    name: str
    from_at: AwareDatetime
    to_at: AwareDatetime
    minutes: float
    is_open: Annotated[bool, Field(description="The run is still in it.")]
    collected: AmountsBody | None
    splits_jar: Annotated[
        bool, Field(description="A jar stood in two phases and is shared between them by time.")
    ]
    rate_ml_min: float | None
    energy: UsedBody


class CutBody(BaseModel):
    """The jars of one class together."""

    cut: Annotated[Cut | None, Field(description="Null: jars that were not classed.")]
    collected: AmountsBody


class ReviewJarBody(JarBody):
    """A jar with what had come over up to its end."""

    minutes: float | None
    rate_ml_min: float | None
    running_volume_l: float | None
    share_of_collected: Annotated[
        float | None, Field(description="Up to its end, of the pure alcohol that was collected.")
    ]


class AlarmSpellBody(BaseModel):
    """One time an alarm came up in the run."""

    event_id: UUID
    rule: str
    name: str
    where: str
    priority: str
    came_at: AwareDatetime
    went_at: AwareDatetime | None
    acknowledged_at: AwareDatetime | None
    acknowledged_by: str | None
    value: float | None
    limit: float | None
    unit: str
    says: str


class PowerChangeBody(BaseModel):
    """A change of heat, as marked."""

    at: AwareDatetime
    power_kw: float | None
    before_kw: float | None
    text: str
    mark_id: UUID


class StrengthPointBody(BaseModel):
    """A strength that was read: at the middle of its jar, or at the spout."""

    at_ms: int
    abv: float
    abv_error: float
    jar: Annotated[int | None, Field(description="Null: read at the spout.")]


class RatePointBody(BaseModel):
    """How fast a jar filled."""

    from_ms: int
    to_ms: int
    ml_min: float
    jar: int


class SumPointBody(BaseModel):
    """What had come over at a moment."""

    at_ms: int
    volume_l: float | None
    pure_alcohol_l: float | None
    is_expected: bool


class SeriesBody(BaseModel):
    """What was measured of the spirit, on the run's time axis."""

    strengths: list[StrengthPointBody]
    rates: list[RatePointBody]
    collected: list[SumPointBody]


class FollowedBody(BaseModel):
    """Something that happened while a temperature jumped or within ten minutes after."""

    kind: Next
    at: AwareDatetime
    after_s: Annotated[int, Field(description="From the jump's beginning.")]
    says: str


class JumpBody(BaseModel):
    """A temperature that changed fast."""

    place: str
    from_at: AwareDatetime
    to_at: AwareDatetime
    from_c: float
    to_c: float
    size_k: Annotated[float, Field(description="Negative: downwards.")]
    fastest_k_min: float
    phase: Annotated[PhaseKey | None, Field(description="In which it began.")]
    is_usual: Annotated[
        bool, Field(description="As every run has them, when vapour comes and when heat is off.")
    ]
    followed: Annotated[list[FollowedBody], Field(description="Empty: nothing followed.")]
    says: str


class SilenceBody(BaseModel):
    """A stretch without a good reading."""

    place: Annotated[str | None, Field(description="Null: of no place at all.")]
    from_at: AwareDatetime
    to_at: AwareDatetime
    minutes: float


class ScoreBody(BaseModel):
    """How one quantity was told, against what was measured afterwards."""

    quantity: str
    name: str
    unit: str
    n: Annotated[int, Field(description="Tellings that were held against a measurement.")]
    bias: Annotated[float | None, Field(description="Mean of told less measured.")]
    mean_absolute_error: float | None
    decimals: Annotated[int, Field(description="Of both, as many as the bands are worth.")]
    inside_band: Annotated[
        float | None, Field(description="Share of measurements within the 95 % band.")
    ]
    before_end: Annotated[
        str | None, Field(description="What was said twenty minutes before the end.")
    ]
    says: str


class EstimatesBody(BaseModel):
    """Estimates against measurements."""

    model_versions: list[int]
    scores: list[ScoreBody]
    says: str


class SentenceBody(BaseModel):
    """One sentence of the summary, and what it is about."""

    about: str
    text: str


class RunReviewBody(BaseModel):
    """A run, reviewed."""

    run: RunFactsBody
    summary: list[SentenceBody]
    moments: list[MomentBody]
    phases: list[PhaseBody]
    cuts: list[CutBody]
    totals: CameBody
    marks: list[MarkBody]
    jars: list[ReviewJarBody]
    alarms: list[AlarmSpellBody]
    power_changes: list[PowerChangeBody]
    notes: list[MarkBody]
    series: SeriesBody
    places: Annotated[list[UUID], Field(description="With readings in the run, for /api/history.")]
    jumps: list[JumpBody]
    silences: list[SilenceBody]
    energy: UsedBody
    energy_kwh_per_l: Annotated[float | None, Field(description="Per litre of pure alcohol.")]
    water: UsedBody
    water_l_per_l: Annotated[float | None, Field(description="Per litre of pure alcohol.")]
    estimates: EstimatesBody | None
    gaps: list[GapBody]


class KeyBody(BaseModel):
    """What one of the key numbers is."""

    name: Annotated[str, Field(description="Ends in the unit.")]
    label: str
    unit: str
    decimals: int


class RunRowBody(BaseModel):
    """A run in a list, with its key numbers."""

    id: UUID
    vessel_id: UUID
    vessel: str | None
    batch: str
    batch_id: UUID | None
    purpose: Purpose
    purpose_name: str
    started_at: AwareDatetime
    ended_at: AwareDatetime | None
    is_on: bool
    jars: int
    is_expected: Annotated[bool, Field(description="Some strength in it was never read.")]
    energy_basis: Standing
    numbers: Annotated[
        dict[str, float | None], Field(description="By the names of `keys`; null: not known.")
    ]


class RunsBody(BaseModel):
    """Runs in a list."""

    total: Annotated[int, Field(description="How many there are, on this page and others.")]
    keys: list[KeyBody]
    runs: list[RunRowBody]
