"""How a batch's story, the plan it leaves and what is in store are shown."""

from typing import Annotated, Literal
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.entries import LongText, NewEntry, Text
from api.record.balance import BalanceBody
from api.record.entering import Note
from api.record.words import LotKind, Purpose, Wash
from api.reviews.bodies import GapBody, KeyBody, RunRowBody

StageKey = Literal["mash", "ferment", "distil", "proof", "age", "bottle"]


class BatchRowBody(BaseModel):
    """A batch in a list, with its key numbers."""

    id: UUID
    name: str
    kind_of_wash: Wash
    note: str
    began_at: AwareDatetime
    stage: Annotated[str | None, Field(description="What it holds a vessel for now.")]
    runs: int
    numbers: Annotated[
        dict[str, float | None], Field(description="By the names of `keys`; null: not known.")
    ]


class BatchesBody(BaseModel):
    """Batches in a list."""

    total: int
    keys: list[KeyBody]
    batches: list[BatchRowBody]


class FigureBody(KeyBody):
    """One number of a stage."""

    value: float


class StoryStageBody(BaseModel):
    """One stage of a batch: when, where, and what came of it."""

    key: StageKey
    name: str
    from_at: AwareDatetime | None
    to_at: Annotated[AwareDatetime | None, Field(description="Null: it goes on.")]
    vessels: list[str]
    figures: list[FigureBody]
    says: list[str]


class LotRowBody(BaseModel):
    """A lot: what it holds, how strong, where it is and where it came from."""

    id: UUID
    kind: LotKind
    name: str
    batch: str | None
    vessel: str | None
    since: AwareDatetime
    origin: Annotated[str, Field(description="In words, of what was received.")]
    came_from: Annotated[list[str], Field(description="Lots, jars and runs it was made of.")]
    volume_l: float | None
    abv: float | None
    pure_alcohol_l: float | None


class CellarBody(BaseModel):
    """What is in store."""

    total: int
    volume_l: float
    pure_alcohol_l: float
    lots: list[LotRowBody]


class LinkBody(BaseModel):
    """One batch begun from another's plan, and what had been learned from that."""

    batch_id: UUID
    name: str
    learned: str
    who: str
    at: AwareDatetime


class BatchStoryBody(BaseModel):
    """A batch from bill to bottle at a glance."""

    batch: BatchRowBody
    keys: list[KeyBody]
    stages: list[StoryStageBody]
    runs: list[RunRowBody]
    run_keys: list[KeyBody]
    lots: list[LotRowBody]
    balance: BalanceBody
    follows: Annotated[LinkBody | None, Field(description="From whose plan it was begun.")]
    followed_by: list[LinkBody]
    gaps: list[GapBody]


class PlannedBody(BaseModel):
    """Something of the bill, the liquor, the yeast or the nutrient."""

    kind: Literal["grain", "liquor", "yeast", "nutrient"]
    name: str
    mass_kg: float | None
    volume_l: float | None
    temperature_c: float | None
    percent: Annotated[float | None, Field(description="Extract, by certificate.")]
    after_h: Annotated[float | None, Field(description="Hours after the batch began.")]


class PlannedRestBody(BaseModel):
    """A rest."""

    name: str
    low_c: float
    high_c: float
    planned_min: float | None
    after_h: float | None


class PlannedRunBody(BaseModel):
    """A run: what for, in which still, with what, cut where."""

    purpose: Purpose
    purpose_name: str
    vessel_id: UUID
    vessel: str | None
    run_id: Annotated[UUID, Field(description="The run it is taken from.")]
    charge_volume_l: float | None
    charge_abv: float | None
    powers_kw: list[float]
    hearts_from_abv: Annotated[float | None, Field(description="What ran when hearts began.")]
    tails_from_abv: float | None
    hearts_from_share: Annotated[
        float | None, Field(description="Of the charge's alcohol, over when hearts began.")
    ]
    tails_from_share: float | None
    checklist: Annotated[list[str], Field(description="Lines that were ticked.")]


class PlannedLimitBody(BaseModel):
    """An alarm limit that was set for the house; it goes on holding."""

    rule: str
    name: str
    limit: float
    unit: str
    deadband: float
    on_delay_s: int
    off_delay_s: int
    reason: str
    holds: Annotated[bool, Field(description="False: it was changed since; see limit_now.")]
    limit_now: float


class PlanBody(BaseModel):
    """How a batch was made, as the next can be."""

    batch_id: UUID
    batch: str
    kind_of_wash: Wash
    on_grain: bool | None
    ingredients: list[PlannedBody]
    rests: list[PlannedRestBody]
    original_sg: float | None
    final_sg: float | None
    ferment_days: float | None
    runs: list[PlannedRunBody]
    limits: list[PlannedLimitBody]
    gaps: list[GapBody]


class FollowedPlanBody(BaseModel):
    """The plan a batch was begun from, with what had been learned; or why there is none."""

    batch_id: UUID
    follows: LinkBody | None
    plan: PlanBody | None
    why: str | None


class NextBatch(NewEntry):
    """The batch to begin from another's plan."""

    name: Text
    learned: Annotated[Note, Field(description="What was learned from the last one.")] = ""
    note: LongText = ""
