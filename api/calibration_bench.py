"""What calibrating stands on: the last minutes of every probe, points kept, calibrations now."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Final
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field, TypeAdapter
from starlette.concurrency import run_in_threadpool

from api import pressure
from api.calibration_effect import Changed, Effect, effects
from api.calibration_ways import WAYS, Kind
from api.house import House
from api.messages import stale_after_s
from api.probes import Known
from logger import calibration
from logger.calibration import Line, Point, Steadiness
from logger.degrees import Degrees, Unit
from logger.store import facts
from logger.store.recent import Stretch, stretches
from logger.store.tables import TEMPERATURE, Calibration, CalibrationPoint


class Proposal(BaseModel):
    """A line through points, and what it does to estimates."""

    probe_id: str
    slope: float
    offset: float
    residual_c: Annotated[
        float | None,
        Field(description="Of the point furthest off; null where a line always meets all."),
    ]
    method: str
    effects: list[Effect]
    says: str


@dataclass(frozen=True, slots=True)
class Bench:
    """What is needed to judge and to fit, read at once."""

    known: Known
    stretches: Mapping[str, Stretch]
    end_slot: int
    open_points: Mapping[str, Sequence[CalibrationPoint]]
    lines: Mapping[str, Line]
    pressure_hpa: float
    degrees: Degrees

    def steadiness(self, probe_id: str) -> Steadiness:
        """Judge a probe's last minutes."""
        self.known.check(probe_id)
        return calibration.judge(self.stretches.get(probe_id), self.end_slot, self.degrees)

    def line(self, probe_id: str) -> Line:
        """Give the calibration a probe has now."""
        return self.lines.get(probe_id, Line())

    def proposal(
        self, probe_id: str, points: Sequence[Point], kinds: Sequence[str], hpa: float | None
    ) -> Proposal:
        """Draw the line and say what it does."""
        found = calibration.fit(points, self.degrees)
        changed = Changed(self.line(probe_id), found.line, two_points=len(points) > 1)
        return Proposal(
            probe_id=probe_id,
            slope=found.line.slope,
            offset=found.line.offset,
            residual_c=found.residual_c,
            method=_method(kinds),
            effects=effects(changed, hpa or self.pressure_hpa, self.degrees),
            says=_line_says(found, len(points), self.degrees),
        )


async def bench(house: House, unit: Unit) -> Bench:
    """Read it, for sentences in a unit; on the event loop."""
    slot, measured = house.board.slot, pressure.measured(house)
    scan, age_s = house.board.latest, house.age_s
    if scan is None or age_s is None or age_s > stale_after_s(scan.period_s):
        slot = 0
    return await run_in_threadpool(_bench, house, slot, measured, Degrees(unit))


def _bench(house: House, slot: int, measured: pressure.Known | None, degrees: Degrees) -> Bench:
    end = slot + 1
    read = stretches(house.reader.engine, max(end - calibration.WINDOW_S, 0), end) if slot else {}
    return Bench(
        known=Known.read(house),
        stretches={key.probe_id: one for key, one in read.items() if key.quantity == TEMPERATURE},
        end_slot=slot,
        open_points=open_points(house),
        lines={
            one.probe_id: Line(one.slope, one.offset)
            for one in facts.calibrations(house.engine, house.now)
            if one.quantity == TEMPERATURE
        },
        pressure_hpa=pressure.pressure_now(house, measured).pressure_hpa,
        degrees=degrees,
    )


def open_points(house: House) -> dict[str, list[CalibrationPoint]]:
    """Read the points no standing calibration uses, by probe."""
    used = used_points(house)
    found: dict[str, list[CalibrationPoint]] = {}
    for one in facts.calibration_points(house.engine):
        if one.about not in used:
            found.setdefault(one.probe_id, []).append(one)
    return found


def used_points(house: House) -> set[UUID]:
    """Read which points standing calibrations were worked out from."""
    found = facts.all_current(house.engine, Calibration)
    return {point.id for one in found for point in KEPT.validate_json(one.points)}


class KeptPoint(BaseModel):
    """A point as a calibration keeps it."""

    id: UUID
    kind: Kind
    reference_c: float
    measured_c: float
    spread_c: float
    pressure_hpa: float | None
    at: AwareDatetime

    @classmethod
    def of(cls, fact: CalibrationPoint) -> "KeptPoint":
        """Copy it from its record."""
        own = {name: getattr(fact, name) for name in cls.model_fields.keys() - {"id", "at"}}
        return cls.model_validate(own | {"id": fact.about, "at": fact.effective_at})


KEPT: Final = TypeAdapter(tuple[KeptPoint, ...])


def _line_says(found: calibration.Fit, number: int, degrees: Degrees) -> str:
    if number == 1:
        offset = degrees.change(found.line.offset)
        return f"{offset} everywhere; a second point would also mend the slope."
    ends = (f"{degrees.change(found.line.at(t) - t)} at {degrees.at(t, 0)}" for t in (0.0, 100.0))
    line = f"{' and '.join(ends)} (slope {found.line.slope:.4f})."
    if found.residual_c is None:
        return f"{line} Two points are always met exactly; a third would show how far to trust it."
    return f"{line} The point furthest off lies {degrees.apart(found.residual_c)} from the line."


def _method(kinds: Sequence[str]) -> str:
    names: dict[str, str] = {way.kind: way.title.lower() for way in WAYS}
    return " and ".join(dict.fromkeys(names[kind] for kind in kinds))
