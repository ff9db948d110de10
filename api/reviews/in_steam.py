"""What the probes of a still read in the steam of its cleaning runs, against boiling water."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from sqlmodel import col

from api.estimates.estimator import MEASURED_HPA
from api.house import House
from api.pressure import as_known, by_hand, site_hpa
from api.reviews.bodies import GapBody
from api.reviews.bodies_trends import Basis, DriftBody
from api.reviews.drift import drift
from api.reviews.facts_read import wanted
from api.reviews.figures import Figures
from api.reviews.lines import Line, Lines, read_lines
from calc.pressure import water_boiling_point
from calc.quantities import PRESSURE
from logger.store import facts
from logger.store.series import IMPORTED
from logger.store.tables import TEMPERATURE, Placement, ProbeCard

IN_STEAM: Final = ("pot", "column", "head")
NONE_STEAMED: Final = (
    "No cleaning run with a probe that stood in steam for five minutes was entered."
)
NO_PRESSURE: Final = (
    "Of {count} it is not known what water boiled at: no barometer was read, no pressure was "
    "entered before, and the altitude is not set. Set the altitude, and the drift is told."
)
FROM_A_TRACE: Final = "from a trace"  # which does not say what probe it was read by


@dataclass(frozen=True, slots=True)
class Air:
    """The air's pressure in a run, and how it is known."""

    pressure_hpa: float
    basis: Basis
    error_hpa: float = MEASURED_HPA

    @property
    def water_error_k(self) -> float:
        """How far what water boils at may be off with it, one standard error."""
        return abs(
            water_boiling_point(self.pressure_hpa - self.error_hpa)
            - water_boiling_point(self.pressure_hpa)
        )


@dataclass(frozen=True, slots=True)
class InSteam:
    """What a cleaning run's probes said, and the air's pressure, where that is known."""

    run: Figures
    lines: Lines
    air: Air | None
    placements: Sequence[Placement]
    names: Mapping[str, str]  # of probes, as people call them


def read_in_steam(house: House, runs: Sequence[Figures]) -> list[InSteam]:
    """Read the cleaning runs among some."""
    cleaning = [one for one in runs if one.ground.run.stage == "cleaning"]
    if not cleaning:
        return []
    engine = house.reader.engine
    placed = facts.all_current(engine, Placement, col(Placement.quantity) == TEMPERATURE)
    names = {one.probe_id: one.name for one in facts.all_current(engine, ProbeCard)}
    return [_read(house, one, placed, names) for one in cleaning]


def drifts(cleaned: InSteam) -> Iterator[DriftBody]:
    """Tell how far each probe was off; nothing where what water boiled at is not known."""
    run, air, still = cleaned.run.ground.run, cleaned.air, cleaned.run.ground.read.still
    if air is None:
        return
    for place, probe_id, line in _by_probe(cleaned):
        found = drift(line, air.pressure_hpa)
        if found is None:
            continue
        yield DriftBody(
            run_id=run.about,
            vessel_id=run.vessel,
            vessel=still.name if still else None,
            place=place,
            place_id=line.place_id,
            probe_id=probe_id,
            probe=_name(cleaned.names, probe_id),
            from_at=found.from_at,
            to_at=found.to_at,
            measured_c=found.measured_c,
            water_c=found.water_c,
            difference_k=found.difference_k,
            pressure_hpa=air.pressure_hpa,
            pressure_basis=air.basis,
            water_error_k=air.water_error_k,
        )


def drift_gaps(cleaned: Sequence[InSteam], told: Sequence[DriftBody]) -> Iterator[GapBody]:
    """Say why a drift is not told: without the pressure it would be the altitude's, not its own."""
    count = sum(one.air is None for one in cleaned)
    if count:
        runs = "one cleaning run" if count == 1 else f"{count} cleaning runs"
        yield GapBody(about="drift", why=NO_PRESSURE.format(count=runs))
    elif not told:
        yield GapBody(about="drift", why=NONE_STEAMED)


def _by_probe(cleaned: InSteam) -> Iterator[tuple[str, str, Line]]:
    """Cut each place's line where its probe was changed: a drift is a probe's, not a place's."""
    for place in IN_STEAM:
        line = cleaned.lines.of(place)
        for one in cleaned.placements:
            if line is None or one.place != line.place_id:
                continue
            until_s = one.ended_at.timestamp() if one.ended_at else math.inf
            yield place, one.probe_id, line.between(one.effective_at.timestamp(), until_s)


def _name(names: Mapping[str, str], probe_id: str) -> str:
    told = FROM_A_TRACE if probe_id.startswith(IMPORTED) else probe_id
    return names.get(probe_id) or told


def _read(
    house: House, run: Figures, placements: Sequence[Placement], names: Mapping[str, str]
) -> InSteam:
    seen = frozenset((*IN_STEAM, PRESSURE.name))
    lines = read_lines(house, wanted(run.ground.read, run.ground.until, seen))
    return InSteam(run, lines, _air(house, run, lines), placements, names)


def _air(house: House, run: Figures, lines: Lines) -> Air | None:
    """Return the air's pressure in a run: measured, else as entered before, else by altitude."""
    measured = lines.measuring(PRESSURE.name)
    if measured is not None and measured.times_s.size:
        return Air(float(measured.values.mean()), "barometer")
    until = run.ground.until
    known = as_known(by_hand(house, until), site_hpa(house), until)
    return None if known.hpa is None else Air(known.hpa, known.by, known.error_hpa)
