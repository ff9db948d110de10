"""Runs whose temperatures are exact: Rayleigh's equation at a steady heat, with no reflux.

The still loses heat and resists its vapour as much as is common, and as is expected of it.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from api.estimates.estimator import Step
from api.estimates.ground import Measured, ProbeGround, RunGround, StillGround
from api.estimates.still.estimator import StillEstimator
from calc.heat import specific_heat
from calc.mixture import Mixture
from calc.rayleigh import Trajectory, trajectory
from calc.simple_distillation import way_to_end

START = 1_790_000_000
HPA = 1013.25  # in the still
OUT_HPA = 5.0  # that the vapour's way out takes: common, and what is expected
ROOM_C = 20.0
LOSS_W_K = 4.0
METAL_J_K = 2000.0
WARMS_S = 26_000.0  # how a pot of 25 L warms against that loss
GOOD = {place: ProbeGround(calibrated=True, error_c=0.05) for place in ("pot", "head")}


@dataclass(frozen=True)
class Exact:
    """One run: its steps, and what is true of it by calc."""

    steps: list[Step]
    way: Trajectory
    way_s: np.ndarray  # after the start, of each element of the way
    ground: RunGround
    still: StillGround

    @property
    def boil_s(self) -> float:
        """When it begins to boil."""
        return float(self.way_s[0])

    @property
    def end_s(self) -> float:
        """When the spout has fallen to the end."""
        return float(self.way_s[-1])

    def true(self, name: str, at_s: float) -> float:
        """Give a column of the way at a moment."""
        return float(np.interp(at_s, self.way_s, getattr(self.way, name)))

    def changed(self, **facts) -> RunGround:
        """Give the record with something else in it."""
        return replace(self.ground, **facts)


@cache
def exact(
    litres: float = 25.0,
    abv: float = 9.0,
    power_w: float = 1900.0,
    end_abv: float = 10.0,
    start_c: float = 20.0,
    hpa: float = HPA,
    cools_min: float = 0.0,
    purpose: str = "strip",
) -> Exact:
    """Make one; the same for the same numbers."""
    charge = Mixture.of_volume(litres, abv)
    way = trajectory(charge, way_to_end(charge, hpa, {"end_spout_abv": end_abv}), hpa)
    held = charge.mass_kg * 1000.0 * float(specific_heat(charge.abw_fraction, 60.0)) + METAL_J_K
    boils_c = float(way.pot_temperature_c[0])
    lost_w = LOSS_W_K * (way.pot_temperature_c - ROOM_C)
    boil_s = -held / LOSS_W_K * np.log(1.0 - LOSS_W_K * (boils_c - start_c)
                                       / (power_w - LOSS_W_K * (start_c - ROOM_C)))  # fmt: skip
    joules = way.boiling_kwh * 3.6e6 + METAL_J_K * (way.pot_temperature_c - boils_c)
    taken_s = np.diff(joules) / (power_w - (lost_w[1:] + lost_w[:-1]) / 2.0)
    way_s = boil_s + np.concatenate([[0.0], np.cumsum(taken_s)])
    end_s = float(way_s[-1]) + 60.0 * cools_min
    steps = [
        Step(START + int(s), _shown(s, way, way_s, start_c), hpa - OUT_HPA)
        for s in np.arange(10.0, end_s, 10.0)
    ]
    ground = RunGround(
        run_id="one",
        purpose=purpose,
        from_slot=START,
        charge_volume_l=Measured(litres, 0.01 * litres),
        charge_abv=Measured(abv, 0.15),
        dissolved_g_l=Measured(0.0, 0.5),
        powers_w=((START, power_w / 0.93),),
        heat_off_slot=START + int(way_s[-1]) if cools_min else None,
        end_abv=end_abv,
    )
    return Exact(steps, way, way_s, ground, StillGround(volume_l=40.0, heat_source="element"))


def _shown(s: float, way: Trajectory, way_s: np.ndarray, start_c: float) -> dict[str, float]:
    boil_s, end_s = float(way_s[0]), float(way_s[-1])
    pot = float(np.interp(s, way_s, way.pot_temperature_c))
    if s < boil_s:
        share = (1.0 - np.exp(-s / WARMS_S)) / (1.0 - np.exp(-boil_s / WARMS_S))
        pot = start_c + (pot - start_c) * share
    head = pot if s > boil_s + 60.0 else ROOM_C
    if s > end_s:
        pot, head = (ROOM_C + (c - ROOM_C) * np.exp((end_s - s) / t)
                     for c, t in ((pot, 9000.0), (head, 600.0)))  # fmt: skip
    return {"pot": float(pot), "head": float(head), "room": ROOM_C}


@pytest.fixture(scope="session")
def make():
    """Make exact runs."""
    return exact


@pytest.fixture(scope="session")
def told():
    """Go through steps; gives estimates by name at each of some seconds, or at the end."""

    def tell(run: Exact, *at_s, ground=None, probes=None, steps=None, still=None):
        estimator = StillEstimator(still or run.still)
        estimator.know(ground or run.ground, GOOD if probes is None else probes)
        left = list(run.steps if steps is None else steps)
        for one in at_s or (float("inf"),):
            now = [step for step in left if step.slot - START <= one]
            left = left[len(now) :]
            estimator.see(now)
            yield by_name(estimator)

    return tell


@pytest.fixture(scope="session")
def short(make):
    """A run that is hot already as it begins, and boils for twenty minutes."""
    run = make(start_c=84.0)
    last = START + run.boil_s + 1200.0
    return replace(run, steps=[step for step in run.steps if step.slot <= last])


def by_name(estimator: StillEstimator) -> dict:
    """Give estimates by name."""
    return {one.quantity: one for one in estimator.tell()}


@pytest.fixture(scope="session")
def names():
    """Tell by name."""
    return by_name


@pytest.fixture(scope="session")
def good():
    """Calibrated probes."""
    return GOOD
