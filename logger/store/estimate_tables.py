"""The table of what was estimated: kept as it was told, so that it can be held against the truth.

Rows are only ever added, by the service. `slot` is what an estimate is of: its time follows from
the clock epochs, as a reading's does.
"""

from datetime import datetime
from uuid import UUID

from sqlalchemy import Index
from sqlmodel import Field

from logger.store.tables import Row
from logger.store.types import BigKey, UtcMicroseconds


class IssuedEstimate(Row, table=True):
    """One quantity as it was told, or why it could not be; never changed."""

    __tablename__ = "issued_estimates"
    __table_args__ = (Index("ix_issued_estimates_run_slot", "run", "slot"),)
    number: int | None = Field(default=None, primary_key=True)  # the order, whatever the clock did
    run: UUID  # what the occupancy's facts are about
    slot: int = Field(sa_type=BigKey)  # of the newest reading it stands on
    at: datetime = Field(sa_type=UtcMicroseconds)  # of that slot, as the clock was understood then
    quantity: str
    value: float | None = None
    low: float | None = None  # 95 % band
    high: float | None = None
    low_68: float | None = None
    high_68: float | None = None
    why: str | None = None  # in a sentence, where there is no value
    model_version: int
