"""The tables of the record: batches, lots and what passed between them, and a run's marks and jars.

All are facts of people. A run is an occupancy of a still and has no table of its own; a jar is a
lot as well, and a run stands between what was charged and what came over, so the ids of all three
may be the ends of a transfer.
"""

from datetime import datetime
from uuid import UUID

from sqlmodel import Field

from logger.store.tables import Fact, column_default, fact_rules
from logger.store.types import UtcMicroseconds


class Batch(Fact, table=True):
    """A name that vessels, runs and lots go by, from the mash on."""

    __tablename__ = "batches"
    __table_args__ = fact_rules()
    name: str = Field(index=True)
    kind_of_wash: str = "other"  # grain, sugar, fruit, molasses, other
    on_grain: bool | None = None  # distilled with grain or pulp in it; None: nobody said
    note: str = ""


class Lot(Fact, table=True):
    """A quantity of liquid in one place."""

    __tablename__ = "lots"
    __table_args__ = fact_rules()
    kind: str  # wash, low_wines, feints, spirit, jar, backset, blend, cask, bottles, water, other
    name: str
    vessel: UUID | None = None  # what the vessel's facts are about
    batch: str | None = Field(default=None, index=True)  # its name
    origin: str = ""  # in words, of what was received


class Gauged(Fact):
    """How much a liquid was found to be, as it was read: nothing in it is corrected.

    A volume is at `volume_temperature_c`, else at `temperature_c`, else at 20 °C.
    """

    volume_l: float | None = None
    volume_temperature_c: float | None = None
    volume_error_l: float | None = None  # one standard error
    mass_kg: float | None = None  # by the scale; a jar's with its tare
    reading_abv: float | None = None  # what the instrument showed, % vol
    temperature_c: float | None = None  # of the liquid when it was read
    instrument: str | None = None  # None where nothing was read
    reading_error_abv: float | None = None  # one standard error


class Measure(Gauged, table=True):
    """A lot as it was found to be."""

    __tablename__ = "measures"
    __table_args__ = fact_rules()
    lot: UUID = Field(index=True)


class Transfer(Gauged, table=True):
    """Liquid that went from one lot, jar or run to another; None is outside the books.

    Without a volume and a mass all that was there went.
    """

    __tablename__ = "transfers"
    __table_args__ = fact_rules()
    from_lot: UUID | None = Field(default=None, index=True)
    to_lot: UUID | None = Field(default=None, index=True)
    kind: str  # receive, charge, collect, merge, blend, dilute, bottle, move, sample, ...
    text: str = ""


class Mark(Fact, table=True):
    """A point on a run's time axis."""

    __tablename__ = "marks"
    __table_args__ = fact_rules()
    run: UUID = Field(index=True)  # what the occupancy's facts are about
    kind: str  # first_drop, foreshots_end, hearts, tails, end, power, note, other
    power_kw: float | None = None
    text: str = ""
    smell: str = column_default("[]")  # JSON: words of the distiller's own
    source: str = "tap"  # tap, key, button, proposal; refused: proposed, and not so


class JarVessel(Fact, table=True):
    """An empty jar, by the number on it."""

    __tablename__ = "jar_vessels"
    __table_args__ = fact_rules()
    number: int = Field(index=True)
    tare_kg: float | None = None
    volume_l: float | None = None  # what it holds


class Jar(Gauged, table=True):
    """A fraction collected in a jar from `effective_at` on.

    It ends with its own `ended_at` where that is given, else where the next jar of the run begins,
    the run is marked as ended, or the still is emptied.
    """

    __tablename__ = "jars"
    __table_args__ = fact_rules()
    run: UUID = Field(index=True)
    number: int  # on the jar
    ended_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)
    cut: str | None = None  # foreshots, heads, hearts, tails, feints
    text: str = ""
    smell: str = column_default("[]")


class StageEntry(Fact, table=True):
    """What was done or read at a mash, a ferment, a cask or at bottling; its kind says which.

    What moves liquid (samples, top-ups, water, bottles) is a transfer beside it, with an id of its
    own: the books are kept from transfers and measures alone.
    """

    __tablename__ = "entries"
    __table_args__ = fact_rules()
    kind: str = Field(index=True)  # grain, liquor, rest, volume, gravity, iodine, yeast, ...
    batch: str | None = Field(default=None, index=True)  # its name
    vessel: UUID | None = None  # what the vessel's facts are about
    lot: UUID | None = Field(default=None, index=True)
    refers: UUID | None = None  # what it belongs to: the transfer beside it, what it corrects
    name: str = ""  # of the grain, the yeast, the nutrient
    mass_kg: float | None = None
    volume_l: float | None = None
    temperature_c: float | None = None
    reading_sg: float | None = None  # what the hydrometer showed
    reference_temperature_c: float | None = None  # marked on the hydrometer
    reading_abv: float | None = None
    ph: float | None = None
    percent: float | None = None  # extract, by certificate
    target_abv: float | None = None  # of spirit that is brought to strength
    daily_fall_abv: float | None = None
    slow_from_abv: float | None = None
    tare_kg: float | None = None
    low_c: float | None = None
    high_c: float | None = None
    planned_min: float | None = None
    ended_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)
    count: int | None = None
    starch_left: bool | None = None
    smell: str = column_default("[]")  # JSON: words of the distiller's own
    text: str = ""


class StockLock(Fact, table=True):
    """Up to `effective_at` the record stands, and is corrected by later entries only."""

    __tablename__ = "stock_locks"
    __table_args__ = fact_rules()
    note: str = ""
