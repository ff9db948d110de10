"""What holds which vessel now, and how its readings reach it: everything but the record."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from sqlalchemy import Engine

from api.estimates.ground import ProbeGround, StillGround
from api.estimates.steps import Air, Ways
from api.site import stored
from calc.pressure import pressure_at_altitude
from logger.store import facts
from logger.store.tables import (
    TEMPERATURE,
    Calibration,
    Condenser,
    Occupancy,
    Place,
    Placement,
    Setting,
    Vessel,
)
from logger.store.timeline import SECOND_US, EpochTable
from logger.store.tracks import tracks
from logger.store.types import to_us

ENTERED: Final = "pressure_hpa"  # the setting: a pressure read off another instrument
CALIBRATED_C: Final = 0.1  # one standard error of a probe that was compared: common practice
KILO: Final = 1000.0
HEAD: Final = "head"

SlotOf = Callable[[datetime], int]


@dataclass(frozen=True, slots=True)
class House:
    """Everything there is of vessels, probes and the clock, read at once."""

    epochs: EpochTable
    vessels: Sequence[Vessel]
    condensers: Sequence[Condenser]
    places: Sequence[Place]
    placements: Sequence[Placement]
    calibrations: Sequence[Calibration]
    held: Sequence[Occupancy]  # now
    air: Air
    at: datetime
    changes_at: datetime | None  # something begins or ends then

    @classmethod
    def read(cls, engine: Engine, now: datetime) -> "House":
        """Read it as it holds at a moment."""
        epochs, occupancies = EpochTable.load(engine), facts.occupancies(engine)
        placements, calibrations = facts.placements(engine), facts.calibrations(engine)
        return cls(
            epochs=epochs,
            vessels=facts.vessels(engine),
            condensers=facts.condensers(engine),
            places=facts.places(engine),
            placements=[one for one in placements if facts.holds(one, now)],
            calibrations=[one for one in calibrations if one.effective_at <= now],
            held=[one for one in occupancies if facts.holds(one, now)],
            air=_air(engine, epochs),
            at=now,
            changes_at=_next_change(now, [*occupancies, *placements], calibrations),
        )

    def slot_of(self, moment: datetime) -> int:
        """Give the slot of a moment, by the clock as it was then."""
        return slot_of(self.epochs, moment)

    def vessel(self, about: UUID) -> Vessel | None:
        """Return a vessel, where it still stands."""
        return next((one for one in self.vessels if one.about == about), None)

    def ways(self, engine: Engine, vessel: Vessel, from_slot: int) -> Ways:
        """Say how readings have reached a vessel since a slot."""
        from_us = self.epochs.utc_us(from_slot)
        found = tracks(engine, from_us, max(to_us(self.at), from_us) + SECOND_US)
        return Ways.of(found, vessel.name, self.air)

    def probes(self, vessel: Vessel) -> dict[str, ProbeGround]:
        """Say how far each place's probe can be trusted now."""
        rated = {
            one.probe_id: one for one in self.calibrations if one.quantity == TEMPERATURE
        }  # by time: the newest stands
        mine = {one.about: one.name for one in self.places if one.vessel in {vessel.about, None}}
        return {
            mine[one.place]: _probe(rated.get(one.probe_id))
            for one in self.placements
            if one.place in mine and one.quantity == TEMPERATURE
        }

    def still(self, vessel: Vessel) -> StillGround:
        """Describe a still as it was declared."""
        mine = [one for one in self.condensers if one.vessel == vessel.about]
        product = [one for one in mine if one.kind != "reflux"]
        return StillGround(
            volume_l=vessel.volume_l,
            heat_source=vessel.heat_source,
            power_w=_watts(vessel.power_kw),
            loss_w_per_k=vessel.heat_loss_w_per_k,
            element_cover_l=vessel.element_cover_l,
            has_reflux=any(one.kind == "reflux" for one in mine),
            head_after_reflux=self._head_after_reflux(vessel),
            condenser_flow_l_min=product[0].flow_l_min if product else None,
            condenser_duty_w=_watts(product[0].duty_kw) if product else None,
        )

    def _head_after_reflux(self, vessel: Vessel) -> bool | None:
        said = [one.head_probe for one in self.places if one.vessel == vessel.about]
        found = [one for one in said if one is not None]
        return found[0] == "after_reflux" if found else None


def slot_of(epochs: EpochTable, moment: datetime) -> int:
    """Give the slot of a moment, by the clock as it was then."""
    us = to_us(moment)
    pieces = epochs.slots(us, us + SECOND_US)
    return pieces[-1].from_slot if pieces else us // SECOND_US


def _probe(calibration: Calibration | None) -> ProbeGround:
    if calibration is None:
        return ProbeGround()
    return ProbeGround(calibrated=True, error_c=max(CALIBRATED_C, calibration.residual_c or 0.0))


def _watts(kilowatts: float | None) -> float | None:
    return None if kilowatts is None else kilowatts * KILO


def _air(engine: Engine, epochs: EpochTable) -> Air:
    """Read what stands in for a barometer: what was entered, else the altitude's pressure."""
    entered = [one for one in facts.all_current(engine, Setting) if one.key == ENTERED]
    high_m = stored(engine)[0].altitude_m
    return Air(
        None if high_m is None else round(pressure_at_altitude(high_m), 1),
        tuple((slot_of(epochs, one.effective_at), float(one.value)) for one in entered),
    )


def _next_change(
    now: datetime,
    lasting: Sequence[Occupancy | Placement],
    calibrations: Sequence[Calibration],
) -> datetime | None:
    times = [one.effective_at for one in (*lasting, *calibrations)]
    times += [one.ended_at for one in lasting if one.ended_at is not None]
    return min((time for time in times if time > now), default=None)
