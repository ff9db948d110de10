"""What the alarms' routes give and take."""

from typing import Annotated, Literal
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.entries import Entry, LongText, Version

PriorityName = Literal["low", "medium", "high"]
Seconds = Annotated[int, Field(ge=0, le=86_400)]
Number = Annotated[float, Field(ge=-1e9, le=1e9, allow_inf_nan=False)]


class Texts(BaseModel):
    """What a rule says."""

    name: str
    cause: str
    consequence: str
    first_action: str


class StandingAlarm(Texts):
    """One alarm that stands, or lies aside."""

    key: str
    rule: str
    place: Annotated[str, Field(description="The place its value is from; empty of the house.")]
    vessel: str
    part: Annotated[str, Field(description="The condenser, where it is about one.")]
    state: Annotated[
        str,
        Field(description="unacknowledged, acknowledged, returned (gone, not yet seen), latched, "
              "held (holds underneath a cover) or normal"),
    ]  # fmt: skip
    priority: PriorityName
    since: AwareDatetime | None
    value: float | None
    unit: str
    limit: float | None
    time_to_act_s: int
    covers: list[str]
    shelved_until: AwareDatetime | None
    acknowledged_by: str | None
    latching: bool
    longest_shelf_min: int


class StageNow(BaseModel):
    """What a vessel is doing, and how that is known."""

    vessel_id: str
    vessel: str
    stage: str | None
    source: Annotated[
        Literal["occupancy", "guessed", "nobody"],
        Field(description="Guessed: the still is hot, though nobody has said what it does."),
    ]
    phase: Literal["idle", "heating", "boiling", "cooling"] | None
    water_proven: Annotated[bool | None, Field(description="Null: no condenser, or not hot.")]
    at_the_still_min: Annotated[
        float | None, Field(description="Minutes since somebody showed that they are there.")
    ]
    mash_cooked: Annotated[
        bool | None,
        Field(description="Whether somebody said that it is a mash being cooked; null: no mash."),
    ] = None


class AlarmsNow(BaseModel):
    """Everything that stands, most urgent first; also the data of every `alarms` event."""

    now: list[StandingAlarm]
    aside: Annotated[list[StandingAlarm], Field(description="Shelved, or out of service.")]
    sounding: bool
    chirping: bool
    highest: PriorityName | None
    stages: list[StageNow]
    judged_until: AwareDatetime | None


class Acknowledgement(Entry):
    """A note is kept with the acknowledgement."""

    note: LongText = ""


class Shelving(Entry):
    """For a time, or once: until it has come and gone."""

    minutes: Annotated[int | None, Field(ge=1, le=720)] = None
    once: bool = False
    why: LongText


class Reason(Entry):
    """Why; it is kept."""

    why: Annotated[LongText, Field(min_length=1)]


class StillReport(Entry):
    """Something seen at a still."""

    vessel_id: str
    note: LongText = ""


class Presence(Entry):
    """A press that shows that somebody is beside the stills."""

    source: Literal["button", "key", "tap"] = "tap"


class Counted(BaseModel):
    """Whether a press counts; a tap from elsewhere does not show that anybody is there."""

    counted: bool
    says: str


class LimitsNow(BaseModel):
    """A rule's limits."""

    limit: float
    deadband: float
    on_delay_s: int
    off_delay_s: int


class Delay(BaseModel):
    """How long a rule needs at most to show, at one cadence; the probe's own lag is added."""

    period_s: int
    delay_s: int


class CondenserLimits(LimitsNow):
    """The limits one condenser is held against."""

    condenser_id: UUID
    name: Annotated[str, Field(description="With the still it is on.")]
    own: Annotated[bool, Field(description="False: the rule's, as for all.")]
    version: Annotated[int, Field(description="0: it has none of its own.")]
    reason: str
    who: str
    changed_at: AwareDatetime | None


class RuleNow(Texts, LimitsNow):
    """A rule as it stands."""

    rule: str
    unit: str
    side: Literal["above", "below"]
    least: float
    most: float
    normal: float
    declared: LimitsNow
    priority: Annotated[PriorityName | None, Field(description="Null: an event, no alarm.")]
    time_to_act_s: int
    stages: Annotated[list[str] | None, Field(description="Null: always.")]
    basis: str
    latching: bool
    window_s: Annotated[int, Field(description="Of its slope; 0 where it has none.")]
    delays: list[Delay]
    alarms: Annotated[int, Field(description="How many there are of it here.")]
    not_known: Annotated[
        int, Field(description="How many of them cannot judge now: a probe or an entry is missing.")
    ]
    version: Annotated[int, Field(description="0: the limits are as declared.")]
    reason: str
    who: str
    changed_at: AwareDatetime | None
    condensers: Annotated[
        list[CondenserLimits], Field(description="Where it is about condensers: each that is here.")
    ]


class LimitsTried(Entry):
    """Limits to try; what is left out stays as it is."""

    limit: Number
    deadband: Number | None = None
    on_delay_s: Seconds | None = None
    off_delay_s: Seconds | None = None
    condenser_id: Annotated[
        UUID | None, Field(description="Of this condenser alone; null: of all without their own.")
    ] = None


class LimitsChange(LimitsTried):
    """Limits to hold a rule against from now on, and why."""

    reason: Annotated[LongText, Field(min_length=1)]
    version: Version


class PastRun(BaseModel):
    """One run of the past, judged again."""

    occupancy_id: str
    batch: str
    vessel: str
    stage: str
    began_at: AwareDatetime
    ended_at: AwareDatetime | None
    scans: int
    as_set: Annotated[list[AwareDatetime], Field(description="When it sounds as it is set now.")]
    as_tried: Annotated[list[AwareDatetime], Field(description="When it would have sounded.")]


class BackTest(BaseModel):
    """When a rule would have sounded in past runs, by the same evaluation that judges now."""

    rule: str
    runs: list[PastRun]
    scans: int
    not_known: Annotated[
        str, Field(description="What the past does not tell of this rule; else empty.")
    ]


class AlarmEventNow(BaseModel):
    """One thing that happened."""

    number: int
    id: str
    key: str
    rule: str
    name: str
    where: str
    at: AwareDatetime
    what: str
    state_before: str
    state_after: str
    covers: list[str]
    shelved_until: AwareDatetime | None
    who: str
    why: str
    value: float | None
    limit: float | None
    unit: str
    priority: str


class Busiest(BaseModel):
    """An alarm that came up often."""

    rule: str
    name: str
    where: str
    times: int


class Flood(BaseModel):
    """A time in which more came up than anybody can take in."""

    began_at: AwareDatetime
    ended_at: AwareDatetime
    alarms: int


class Loudness(BaseModel):
    """How loud the alarms were; targets are EEMUA 191's."""

    days: float
    alarms: int
    per_10_min: float
    most_in_10_min: int
    acceptable_per_10_min: float
    manageable_per_10_min: float
    floods: list[Flood]
    chattering: list[Busiest]
    standing_over_24_h: list[Busiest]
    most_frequent: list[Busiest]
    share_percent: dict[PriorityName, float]
    target_percent: dict[PriorityName, float]


class ControlCycle(BaseModel):
    """How long one cycle of the heat's control lasts; slopes are judged over more than two."""

    seconds: Annotated[float, Field(ge=0, le=120, allow_inf_nan=False)]
    version: Annotated[int, Field(description="0: nobody has said; none is taken.")]


class ControlCycleChange(Entry):
    """The cycle as it shall be; 0 is heat that is not switched on and off."""

    seconds: Annotated[float, Field(ge=0, le=120, allow_inf_nan=False)]
    version: Version
