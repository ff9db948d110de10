"""The facts the alarms stand on, as they hold at any moment: of now, or of a run long over."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import orjson
from sqlalchemy import Engine

from api.alarms.evaluate import PRESSURE
from api.alarms.ground import CondenserGround, Ground, Moment, Spot, VesselGround
from api.layout import SCALE, Channel, key_of
from logger.reading import Scan
from logger.store import facts
from logger.store.tables import Calibration, Condenser, Occupancy, Place, Placement, Vessel
from logger.store.timeline import SECOND_US, EpochTable
from logger.store.types import to_datetime, to_us

CONTROL_CYCLE: Final = "control_cycle_s"  # the setting: seconds a cycle of the heat's control takes
REFLUX_OUT: Final = "reflux_out"
NO_CONDENSER: Final = "~condenser"  # the subject of a still's condenser that nobody has declared


@dataclass(frozen=True, slots=True)
class Line:
    """How one channel's readings reach a spot."""

    key: str
    slope: float
    offset: float


@dataclass(frozen=True, slots=True)
class Standing:
    """The ground at a moment, how readings reach it, and until when it holds."""

    ground: Ground
    lines: Mapping[Channel, Line]
    until_us: int | None

    def moment(self, scan: Scan) -> Moment:
        """Read a scan as the alarms see it."""
        values: dict[str, float | None] = {}
        for reading in scan.readings:
            raw = reading.value
            if reading.series.quantity == PRESSURE and raw is not None:
                values[PRESSURE] = raw
            line = self.lines.get(Channel.of(reading.series))
            if line is not None:
                values[line.key] = (
                    None if raw is None else round((line.slope * raw + line.offset) * SCALE) / SCALE
                )
        return Moment(scan.slot, scan.period_s, values)


@dataclass(frozen=True, slots=True)
class Book:
    """All the facts there are, read at once."""

    epochs: EpochTable
    vessels: Sequence[Vessel]
    condensers: Sequence[Condenser]
    places: Sequence[Place]
    placements: Sequence[Placement]
    calibrations: Sequence[Calibration]
    occupancies: Sequence[Occupancy]
    control_cycle_s: float

    @classmethod
    def read(cls, engine: Engine, now: datetime) -> "Book":
        """Read them from the store."""
        cycle = facts.settings(engine, now).get(CONTROL_CYCLE)
        return cls(
            EpochTable.load(engine),
            facts.vessels(engine),
            facts.condensers(engine),
            facts.places(engine),
            facts.placements(engine),
            facts.calibrations(engine),
            facts.occupancies(engine),
            float(orjson.loads(cycle)) if cycle else 0.0,
        )

    def at(self, slot: int) -> Standing:
        """Give what holds at a slot."""
        moment_us = self.epochs.utc_us(slot)
        moment = to_datetime(moment_us)
        return Standing(self._ground(moment), self._lines(moment), self._until_us(moment_us))

    def slot_of(self, moment: datetime) -> int:
        """Give the slot of a moment, by the clock as it was then."""
        us = to_us(moment)
        pieces = self.epochs.slots(us, us + SECOND_US)
        return pieces[-1].from_slot if pieces else us // SECOND_US

    def _ground(self, moment: datetime) -> Ground:
        held = {one.vessel: one for one in self.occupancies if facts.holds(one, moment)}
        vessels = tuple(self._vessel(one, held.get(one.about)) for one in self.vessels)
        return Ground(tuple(self._spots(moment)), vessels, self._condensers(), self.control_cycle_s)

    def _vessel(self, vessel: Vessel, held: Occupancy | None) -> VesselGround:
        return VesselGround(
            key=str(vessel.about),
            name=vessel.name,
            kind=vessel.kind,
            heat_source=vessel.heat_source,
            element_cover_l=vessel.element_cover_l,
            stage=held.stage if held else None,
            run_id=str(held.about) if held else None,
            since_slot=self.slot_of(held.effective_at) if held else None,
        )

    def _condensers(self) -> tuple[CondenserGround, ...]:
        made = [
            CondenserGround(str(one.about), one.name, str(one.vessel), one.kind, self._outlet(one))
            for one in self.condensers
        ]
        for vessel in self.vessels:
            key = str(vessel.about)
            has = any(one.vessel == key and one.gives_product for one in made)
            if vessel.kind == "still" and not has:
                made.append(
                    CondenserGround(key + NO_CONDENSER, "condenser", key, is_declared=False)
                )
        return tuple(made)

    def _outlet(self, condenser: Condenser) -> str:
        names = {one.name for one in self.places if one.condenser == condenser.about}
        if condenser.kind == "reflux" and "coolant_out" not in names:
            return REFLUX_OUT
        return "coolant_out"

    def _spots(self, moment: datetime) -> list[Spot]:
        places = {one.about: one for one in self.places}
        found = []
        for one in self.placements:
            place = places.get(one.place)
            if place is not None and facts.holds(one, moment):
                vessel = str(place.vessel) if place.vessel else None
                key = spot_key(one)
                found.append(Spot(key, place.name, vessel, one.quantity))
        return found

    def _lines(self, moment: datetime) -> dict[Channel, Line]:
        rated = {
            Channel(one.probe_id, one.quantity): (one.slope, one.offset)
            for one in self.calibrations
            if one.effective_at <= moment
        }
        found = {}
        for one in self.placements:
            if facts.holds(one, moment):
                channel = Channel(one.probe_id, one.quantity)
                rule = rated.get(channel, (1.0, 0.0))
                found[channel] = Line(spot_key(one), *rule)
        return found

    def _until_us(self, moment_us: int) -> int | None:
        times = [to_us(one.effective_at) for one in self.calibrations]
        lasting: list[Placement | Occupancy] = [*self.placements, *self.occupancies]
        for one in lasting:
            times.append(to_us(one.effective_at))
            if one.ended_at is not None:
                times.append(to_us(one.ended_at))
        return min((time for time in times if time > moment_us), default=None)


def spot_key(placement: Placement) -> str:
    """Name a spot by its place, so that it can stand in an address."""
    return key_of(placement.place, placement.quantity).replace("/", "~")
