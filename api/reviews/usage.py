"""Energy and water that a run used, from the best there is, and on what it stands. Pure.

What was measured goes first; then what was marked or declared, times how long it ran. A gap in a
measured flow or power counts for nothing, and the answer says how long the gaps were.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

import numpy as np

from api.reviews.lines import Line
from calc.element import energy_cost
from calc.quantities import POWER

ENERGY: Final = "energy_kwh"  # a counter
POWER_KW: Final = "power_kw"
FLOW: Final = "flow_l_min"
LONGEST_STEP_S: Final = 120.0  # longer without a reading is a gap

Standing = Literal["measured", "marked", "plate", "declared", "unknown"]


@dataclass(frozen=True, slots=True)
class Used:
    """An amount over a stretch; None where it cannot be told, and why."""

    amount: float | None
    basis: Standing
    says: str


@dataclass(frozen=True, slots=True)
class Power:
    """The heat from a moment on, as marked."""

    at: datetime
    power_kw: float
    text: str = ""


@dataclass(frozen=True, slots=True)
class Heating:
    """Everything that can tell the energy of a run."""

    counter: Line | None
    power: Line | None
    marked: Sequence[Power]
    plate_kw: float | None
    on_at: datetime | None
    off_at: datetime | None

    def used(self, from_at: datetime, to_at: datetime) -> Used:
        """Return the energy of a stretch."""
        start, end = from_at.timestamp(), to_at.timestamp()
        if self.counter is not None and self.counter.times_s.size > 1:
            kwh = counted(self.counter.between(start, end))
            return Used(kwh, "measured", "Counted by the energy meter.")
        if self.power is not None and self.power.times_s.size > 1:
            whole, gap_s = integrated(self.power.between(start, end))
            return Used(whole / 60.0, "measured", f"From the measured power{_gaps(gap_s)}.")
        if self.marked:
            return self._from_marks(from_at, to_at)
        return self._from_plate(from_at, to_at)

    def _from_marks(self, from_at: datetime, to_at: datetime) -> Used:
        steps = [(one.at, one.power_kw) for one in self.marked]
        if self.on_at is not None and self.on_at < steps[0][0]:
            if self.plate_kw is None:
                why = "Heat was on before the first power that was marked."
                return Used(None, "unknown", why)
            steps.insert(0, (self.on_at, self.plate_kw))
        last = to_at if self.off_at is None else min(to_at, self.off_at)
        ends = [*(at for at, _ in steps[1:]), max(last, steps[-1][0])]
        kwh = sum(
            _energy_kwh(kw, max(at, from_at), min(end, last))
            for (at, kw), end in zip(steps, ends, strict=True)
        )
        by_plate = len(steps) > len(self.marked)
        before = ", and before the first by the power on the still's plate" if by_plate else ""
        return Used(kwh, "marked", f"From the power as marked, times its time{before}.")

    def _from_plate(self, from_at: datetime, to_at: datetime) -> Used:
        if self.plate_kw is None:
            return Used(None, "unknown", "No power was marked, and none is set for the still.")
        if self.on_at is None:
            why = "No power was marked, and the temperatures do not show when the heat went on."
            return Used(None, "unknown", why)
        last = to_at if self.off_at is None else min(to_at, self.off_at)
        kwh = _energy_kwh(self.plate_kw, max(self.on_at, from_at), last)
        return Used(
            kwh,
            "plate",
            f"From the power on the still's plate, {self.plate_kw:g} kW, as if it had been on in "
            "full from heat on to the end: at most so much.",
        )


def counted(line: Line) -> float:
    """Sum what a counter rose by; where it fell it had begun anew."""
    steps = np.diff(line.values)
    return float(steps[steps > 0].sum())


def integrated(line: Line) -> tuple[float, float]:
    """Sum a quantity a minute over time; also the seconds of gaps, which count for nothing."""
    seconds = np.diff(line.times_s)
    known = seconds <= max(LONGEST_STEP_S, 3 * line.bucket_s)
    means = (line.values[1:] + line.values[:-1]) / 2.0
    return float((means * seconds)[known].sum()) / 60.0, float(seconds[~known].sum())


def water_used(
    flow: Line | None, declared_l_min: float | None, from_at: datetime | None, to_at: datetime
) -> Used:
    """Return the cooling water of a run, from the first vapour to the end."""
    if flow is not None and flow.times_s.size > 1:
        litres, gap_s = integrated(flow)
        return Used(litres, "measured", f"From the measured flow{_gaps(gap_s)}.")
    if declared_l_min is None:
        return Used(None, "unknown", "No flow was measured, and none is set for the condenser.")
    if from_at is None:
        return Used(None, "unknown", "Nothing shows from when on the water ran.")
    minutes = max((to_at - from_at).total_seconds(), 0.0) / 60.0
    return Used(
        declared_l_min * minutes,
        "declared",
        f"From the condenser's own flow, {declared_l_min:g} L/min, which is the most it takes: at "
        "most so much.",
    )


def _energy_kwh(power_kw: float, from_at: datetime, to_at: datetime) -> float:
    hours = (to_at - from_at).total_seconds() / 3600.0
    if hours <= 0.0 or power_kw < POWER.low:
        return 0.0
    return energy_cost(power_kw, hours, 0.0).energy_kwh


def _gaps(gap_s: float) -> str:
    return f"; {gap_s / 60.0:.0f} min without a reading are left out" if gap_s >= 60.0 else ""
