"""The tables of the alarms: what happened, limits that were changed, and notices to be sent.

Events are only ever added. How an alarm stands is what its newest event says, so a restart needs
nothing else; `alarm_progress` says from which scan on and up to which the alarms have been judged.
"""

from datetime import datetime
from typing import Final
from uuid import UUID

from sqlalchemy import UniqueConstraint
from sqlmodel import Field
from uuid_utils.compat import uuid7

from logger.store.tables import STAYING, Fact, Row, fact_rules
from logger.store.types import BigKey, UtcMicroseconds, now


class AlarmEvent(Row, table=True):
    """One change of an alarm, or something a person or the alarms said; never changed."""

    __tablename__ = "alarm_events"
    __table_args__ = (UniqueConstraint("id"),)
    number: int | None = Field(default=None, primary_key=True)  # the order, whatever the clock did
    id: UUID = Field(default_factory=uuid7)
    rule: str = Field(index=True)
    subject: str  # a place's, vessel's, condenser's or probe's id, or "system"
    where: str  # the subject in words, as it was called then
    slot: int = Field(sa_type=BigKey, index=True)  # the scan it was judged by
    at: datetime = Field(sa_type=UtcMicroseconds, index=True)
    what: str  # the transition's name, `noted`, or what was reported
    state_before: str
    state_after: str
    covers: str = ""  # that lie on it afterwards, commas between
    shelved_until: datetime | None = Field(default=None, sa_type=UtcMicroseconds)
    who: str
    why: str = ""
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    priority: str
    recorded_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)


JUDGED_UNTIL: Final = 1
JUDGED_AFTER: Final = 2


class AlarmProgress(Row, table=True):
    """Up to which scan the alarms have been judged, and after which the first was: two rows.

    A store whose alarms began before this was kept has the one row.
    """

    __tablename__ = "alarm_progress"
    id: int = Field(default=JUDGED_UNTIL, primary_key=True)
    slot: int = Field(sa_type=BigKey)


class AlarmLimit(Fact, table=True):
    """A rule's limit, deadband and delays as somebody set them, and why."""

    __tablename__ = "alarm_limits"
    __table_args__ = fact_rules()
    rule: str = Field(index=True)
    condenser: UUID | None = None  # whose alone they are; None: of all others
    limit: float
    deadband: float
    on_delay_s: int
    off_delay_s: int
    reason: str


class NoticeTarget(Fact, table=True):
    """Where notices go: an address the sender understands, and from which priority on."""

    __tablename__ = "notice_targets"
    __table_args__ = (*fact_rules(), STAYING)  # addresses hold passwords
    name: str
    address: str
    least_priority: str = "medium"  # low, medium, high
    after_min: int = 0  # only once a high alarm has stood unacknowledged for so long


class Notice(Row, table=True):
    """One notice to one target, written with its event and kept until it is sent."""

    __tablename__ = "notices"
    __table_args__ = STAYING
    id: UUID = Field(default_factory=uuid7, primary_key=True)
    event_id: UUID | None = Field(default=None, index=True)  # None: a test of the target
    target_id: UUID = Field(index=True)  # what the target's facts are about
    priority: str
    text: str
    round: int = 0  # how often the same event was told before
    created_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    attempts: int = 0
    next_attempt_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds, index=True)
    started_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)  # under way
    sent_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)
    dropped_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)  # target withdrawn
    maybe_repeat: bool = False  # it was under way when the sender died
    problem: str = ""  # why the last attempt failed, in one sentence
