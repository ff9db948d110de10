"""The tables: what the logger saw, and the facts people enter.

The logger writes `probes_seen`, `series` and `clock_epochs` (and the scans, see `scan_tables`);
the service writes all the others. Facts are never changed: a correction is a row of its own.
"""

from datetime import datetime
from typing import Any, Final, Self, cast
from uuid import UUID

from sqlalchemy import CheckConstraint, MetaData, Table, UniqueConstraint
from sqlmodel import Field, SQLModel
from uuid_utils.compat import uuid7

from logger.store.types import BigKey, UtcMicroseconds, now

# every constraint has a name, so that a migration in batch mode can find it
NAMES: Final = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "pk": "pk_%(table_name)s",
}
TEMPERATURE: Final = "temperature_c"


class Row(SQLModel):
    """Root of every table of the store."""

    metadata = MetaData(naming_convention=NAMES)


def table(row: type[Row]) -> Table:
    """Give the Core table behind a model."""
    return cast("Table", row.__table__)  # type: ignore[attr-defined]


class Fact(Row):
    """Something a person said: who, when it holds from, and what it corrects.

    `about` is the lasting id of the thing: that of its first record, kept by every correction.
    Others refer to it. Of the records about a thing, the one no other supersedes counts.
    """

    id: UUID = Field(default_factory=uuid7, primary_key=True)  # made by the client: sent twice is
    about: UUID = Field(index=True)  # one fact
    site: UUID
    who: str
    effective_at: datetime = Field(sa_type=UtcMicroseconds)
    recorded_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    supersedes: UUID | None = None
    version: int = 1
    withdrawn: bool = False

    @classmethod
    def first(cls, *, id: UUID | None = None, **fields: Any) -> Self:  # noqa: A002 - the column
        """Make the first record about a thing; takes the columns by name."""
        made = id or uuid7()
        return cls(id=made, about=made, **fields)

    def correction(self, *, who: str, id: UUID | None = None, **changes: Any) -> Self:  # noqa: A002
        """Make a record that corrects this one, with some columns changed."""
        kept = self.model_dump(exclude={"recorded_at"})
        made = {"id": id or uuid7(), "supersedes": self.id, "version": self.version + 1}
        return type(self)(**{**kept, **changes, **made, "who": who})


def column_default(value: str) -> Any:
    """Declare a text that rows of an older schema are given as well."""
    return Field(default=value, sa_column_kwargs={"server_default": value})


# For the tables that never leave the machine with an export: hashes, sessions, where notices go.
STAYS: Final = "stays"
STAYING: Final = {"info": {STAYS: True}}


def fact_rules(*more: CheckConstraint) -> tuple[UniqueConstraint | CheckConstraint, ...]:
    """Give a facts' table its rule: a record is corrected once, so corrections form a line."""
    return (UniqueConstraint("supersedes"), *more)


class Vessel(Fact, table=True):
    """A vessel: mash tun, fermenter, still (its size is the pot's), tank, cask."""

    __tablename__ = "vessels"
    __table_args__ = fact_rules()
    name: str
    kind: str  # mash_tun, fermenter, still, tank, cask, other
    volume_l: float | None = None  # None only in records older than schema 0002
    material: str | None = None
    heat_loss_w_per_k: float | None = None
    insulation: str | None = None
    heat_source: str = column_default("none")  # element, flame, steam, none
    power_kw: float | None = None
    element_cover_l: float | None = None  # the least that covers the element


class Condenser(Fact, table=True):
    """A condenser of a still."""

    __tablename__ = "condensers"
    __table_args__ = fact_rules()
    vessel: UUID = Field(index=True)  # what the still's facts are about
    kind: str  # product, reflux, worm_tub
    name: str
    flow_l_min: float | None = None  # of water, at most
    duty_kw: float | None = None  # heat it can take, at most


class Place(Fact, table=True):
    """A spot on a vessel or a condenser where a probe sits, or the room (no vessel)."""

    __tablename__ = "places"
    __table_args__ = fact_rules()
    name: str  # mash, ferment, pot, column, head, coolant_in, coolant_out, spout, room
    vessel: UUID | None = None  # what the vessel's facts are about
    condenser: UUID | None = None  # and the condenser's, where the place is on one
    head_probe: str | None = None  # before_reflux, after_reflux: the condenser, as vapour goes


class Occupancy(Fact, table=True):
    """What holds a vessel from `effective_at` until `ended_at` or further notice."""

    __tablename__ = "occupancies"
    __table_args__ = fact_rules()
    vessel: UUID = Field(index=True)
    batch: str
    stage: str  # mash, ferment, strip, spirit, ...
    ended_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)


class Placement(Fact, table=True):
    """A probe's quantity at a place, from `effective_at` until `ended_at` or further notice."""

    __tablename__ = "placements"
    __table_args__ = fact_rules()
    place: UUID = Field(index=True)
    probe_id: str
    quantity: str = TEMPERATURE
    ended_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)


class Calibration(Fact, table=True):
    """True = slope x measured + offset, of one quantity of a probe, until the next one."""

    __tablename__ = "calibrations"
    __table_args__ = fact_rules(CheckConstraint("slope > 0", name="rising"))
    probe_id: str
    quantity: str = TEMPERATURE
    slope: float = 1.0
    offset: float = 0.0  # in the quantity's unit
    method: str = ""  # what it was compared with, in words
    points: str = column_default("[]")  # JSON: what it was worked out from, see `calibrating`
    residual_c: float | None = None  # largest, where there are more points than unknowns


class CalibrationPoint(Fact, table=True):
    """What a probe said, steadily, at a temperature that is known; measured at `effective_at`."""

    __tablename__ = "calibration_points"
    __table_args__ = fact_rules()
    probe_id: str = Field(index=True)
    kind: str  # ice, steam, bath
    reference_c: float
    measured_c: float  # before any calibration
    spread_c: float
    slope_c_per_min: float
    readings: int
    pressure_hpa: float | None = None  # steam: as measured
    reference: str = ""  # what the reference was, in words


class ProbeCard(Fact, table=True):
    """What people call a probe."""

    __tablename__ = "probe_cards"
    __table_args__ = fact_rules()
    probe_id: str = Field(index=True)
    name: str
    retired: bool = False


class Setting(Fact, table=True):
    """One setting of the site, from `effective_at` until the next of its key."""

    __tablename__ = "settings"
    __table_args__ = fact_rules()
    key: str = Field(index=True)
    value: str  # JSON


class ProbeSeen(Row, table=True):
    """A probe as the logger found it on the bus."""

    __tablename__ = "probes_seen"
    probe_id: str = Field(primary_key=True)
    kind: str
    master: str
    resolution_bits: int | None = None
    supply: str = "unknown"  # external, parasite, unknown
    likely_copy: bool = False
    bulk: bool = False
    first_seen_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    last_seen_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)


class Series(Row, table=True):
    """One quantity of one probe, in whole counts; the number scans are stored under."""

    __tablename__ = "series"
    __table_args__ = (UniqueConstraint("probe_id", "quantity", "counts_per_unit"),)
    id: int | None = Field(default=None, primary_key=True)
    probe_id: str
    quantity: str
    counts_per_unit: int
    last_good_slot: int | None = Field(default=None, sa_type=BigKey)  # as of the last sealing
    last_good_count: int | None = None


class ClockEpoch(Row, table=True):
    """From this slot until the next epoch's, true UTC = slot + offset."""

    __tablename__ = "clock_epochs"
    __table_args__ = (UniqueConstraint("supersedes"),)
    id: UUID = Field(default_factory=uuid7, primary_key=True)
    from_slot: int = Field(sa_type=BigKey)
    offset_us: int = Field(sa_type=BigKey)
    boot_id: str
    boottime_us: int = Field(sa_type=BigKey)  # CLOCK_BOOTTIME at slot 0: ties a boot's restarts
    synchronised: bool
    recorded_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    supersedes: UUID | None = None


class StoreIdentity(Row, table=True):
    """The store's own card: one row."""

    __tablename__ = "store_identity"
    id: int | None = Field(default=1, primary_key=True)
    site: UUID = Field(default_factory=uuid7)
    epoch: UUID = Field(default_factory=uuid7)  # renewed when a backup is restored
    created_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    opened_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
