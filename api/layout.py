"""Where each probe sits and how its counts are read, at one moment."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, NamedTuple

from sqlalchemy import Engine, ScalarSelect, func, select

from calc import quantities
from calc.quantities import Quantity
from logger.reading import Reading, SeriesKey
from logger.store import facts
from logger.store.failures import file_of, told
from logger.store.tables import (
    TEMPERATURE,
    Calibration,
    CalibrationPoint,
    ClockEpoch,
    Condenser,
    Fact,
    Occupancy,
    Place,
    Placement,
    ProbeCard,
    Row,
    Setting,
    Vessel,
)

SCALE: Final = 10_000  # keeps steps of 1/16 exactly, and of 1/128 well enough to count back
UNITS: Final[Mapping[str, str]] = {
    one.name: one.unit for one in vars(quantities).values() if isinstance(one, Quantity)
}
FACTS: Final[tuple[type[Fact], ...]] = (
    Vessel,
    Condenser,
    Place,
    Placement,
    Occupancy,
    Calibration,
    CalibrationPoint,
    ProbeCard,
    Setting,
)


class Channel(NamedTuple):
    """One quantity of one probe, whatever scale its counts are in."""

    probe_id: str
    quantity: str

    @classmethod
    def of(cls, series: SeriesKey) -> "Channel":
        """Return the channel a series belongs to."""
        return cls(series.probe_id, series.quantity)


def key_of(place_or_probe: object, quantity: str) -> str:
    """Name a line in every message: a place or a probe, with the quantity unless temperature."""
    return f"{place_or_probe}" if quantity == TEMPERATURE else f"{place_or_probe}/{quantity}"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the live page: a channel, how its readings are calibrated, where it stands."""

    channel: Channel
    place_id: str | None = None
    place: str | None = None
    vessel: str | None = None
    slope: float = 1.0
    offset: float = 0.0

    @property
    def key(self) -> str:
        """Name the line: by its place, or else its probe; other quantities are added to it."""
        return key_of(self.place_id or self.channel.probe_id, self.channel.quantity)

    def calibrated(self, raw: float) -> float:
        """Return a reading as it is shown."""
        # as the record's arrays are rounded, so that live, chart and export agree to the last digit
        return round((self.slope * raw + self.offset) * SCALE) / SCALE

    def value(self, reading: Reading | None) -> float | None:
        """Return what a reading shows: a number only where its grade is OK."""
        raw = reading.value if reading else None
        return None if raw is None else self.calibrated(raw)


@dataclass(frozen=True, slots=True)
class Layout:
    """The lines of the placed probes, and what is known of the others."""

    placed: tuple[Line, ...] = ()
    calibrations: Mapping[Channel, tuple[float, float]] = field(default_factory=dict)
    retired: frozenset[str] = frozenset()
    holds_until: datetime | None = None  # a placement or calibration begins or ends then

    @classmethod
    def load(cls, engine: Engine, at: datetime) -> "Layout":
        """Read it from the store as it holds at a moment."""
        placements, calibrations = facts.placements(engine), facts.calibrations(engine)
        rated = {
            Channel(one.probe_id, one.quantity): (one.slope, one.offset)
            for one in facts.calibrations(engine, at)
        }
        return cls(
            placed=_placed(engine, [one for one in placements if facts.holds(one, at)], rated),
            calibrations=rated,
            retired=frozenset(c.probe_id for c in facts.probe_cards(engine) if c.retired),
            holds_until=_next_change(placements, calibrations, at),
        )

    def unplaced(self, channels: Iterable[Channel]) -> tuple[Line, ...]:
        """Return lines for the channels that have no place, without the retired probes."""
        taken = {line.channel for line in self.placed}
        return tuple(
            Line(channel, None, None, None, *self.calibrations.get(channel, (1.0, 0.0)))
            for channel in channels
            if channel not in taken and channel.probe_id not in self.retired
        )


class Marks(NamedTuple):
    """How many records there are; records are only added, so a change shows in their number."""

    facts: int
    epochs: int

    @classmethod
    def read(cls, engine: Engine) -> "Marks":
        """Count them, in one statement."""
        tables: tuple[type[Row], ...] = (*FACTS, ClockEpoch)
        counts = (_count(table) for table in tables)
        with told(file_of(engine)), engine.connect() as connection:
            *of_facts, epochs = connection.execute(select(*counts)).one()
            return cls(sum(of_facts), epochs)


def _count(table: type[Row]) -> ScalarSelect[int]:
    return select(func.count()).select_from(table.__table__).scalar_subquery()  # type: ignore[attr-defined]


def _placed(
    engine: Engine,
    placements: Iterable[Placement],
    rated: Mapping[Channel, tuple[float, float]],
) -> tuple[Line, ...]:
    places = {one.about: one for one in facts.places(engine)}
    vessels = {one.about: one.name for one in facts.vessels(engine)}
    lines = []
    for one in placements:
        place = places.get(one.place)
        if place is not None:  # a place taken back takes its placements with it
            channel = Channel(one.probe_id, one.quantity)
            vessel = vessels.get(place.vessel) if place.vessel else None
            rate = rated.get(channel, (1.0, 0.0))
            lines.append(Line(channel, str(place.about), place.name, vessel, *rate))
    return tuple(lines)


def _next_change(
    placements: Iterable[Placement], calibrations: Iterable[Calibration], at: datetime
) -> datetime | None:
    times = [one.effective_at for one in (*placements, *calibrations)]
    times += [one.ended_at for one in placements if one.ended_at]
    return min((time for time in times if time > at), default=None)
