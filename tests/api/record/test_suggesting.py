"""First drop and changes of power, proposed from temperatures, against the simulated plant."""

from math import log

import numpy as np
import pytest

from api.record.suggesting import Line, first_drop, power_changes
from logger.plant.distillery import demo_size, spirit_run
from logger.plant.run import Run

PLACES = ("pot", "head", "spout", "coolant_in", "coolant_out")
NOISE_C = 0.03


class Watched:
    """A spirit run as probes saw it, and when things truly happened."""

    def __init__(self, hours) -> None:
        run = Run(spirit_run("pour 190 L of 24 % vol at 17 C into still", "rye 0"), demo_size())
        dice = np.random.default_rng(3)
        self.rows, self.first_drop_s, self.powers = [], None, []
        while run.t_s < hours * 3600.0:
            run.advance(run.t_s + 10.0)
            felt = run.plant.readings()
            self.rows.append((run.t_s, {n: self._read(felt[n], dice) for n in PLACES}))
            if self.first_drop_s is None and run.plant.collected_l > 0.0:
                self.first_drop_s = run.t_s
            if not self.powers or self.powers[-1][1] != run.plant.power_w:
                self.powers.append((run.t_s, run.plant.power_w))

    @staticmethod
    def _read(value, dice) -> float:
        return round((value + NOISE_C * dice.standard_normal()) * 16) / 16

    def line(self, name, to_s=float("inf")):
        return Line.of([(at, values[name]) for at, values in self.rows if at <= to_s])


@pytest.fixture(scope="module")
def watched():
    return Watched(5.0)


@pytest.mark.parametrize("moving", ["spout", "coolant_out"])
def test_the_first_drop_is_found_within_a_minute(watched, moving):
    found = first_drop(watched.line("head"), watched.line(moving), moving)
    assert abs(found.at_s - watched.first_drop_s) <= 60.0


def test_nothing_is_proposed_before_anything_runs(watched):
    before = watched.first_drop_s - 300.0
    head, spout = watched.line("head", before), watched.line("spout", before)
    assert first_drop(head, spout, "spout") is None


def test_changes_while_it_boils_are_found_and_no_other_is_made_up(watched):
    changes = power_changes(*(watched.line(n) for n in ("pot", "coolant_out", "coolant_in")))
    less, more = [one for one in changes if one.at_s > watched.first_drop_s + 600.0]
    (less_s, _), (more_s, _) = watched.powers[-2:]  # the last with the reflux closed as well
    assert abs(less.at_s - less_s) <= 120.0
    assert abs(more.at_s - more_s) <= 120.0
    assert less.ratio < 1.0 < more.ratio
    assert (less.why.split()[-1], more.why.split()[-1]) == ("less.", "more.")


def ramp(rates_k_min, minutes):
    times = np.arange(0.0, 60.0 * minutes * len(rates_k_min), 5.0)
    steps = [rates_k_min[int(at // (60 * minutes))] / 12.0 for at in times]
    values = 20.0 + np.cumsum(steps)
    return Line(times, np.round(values * 16) / 16)


def test_less_heat_is_seen_in_a_slower_rise():
    nothing = Line.of([])
    [change] = power_changes(ramp([1.0, 0.6], 20), nothing, None)
    assert abs(change.at_s - 1200.0) <= 180.0
    assert abs(log(change.ratio / 0.6)) < 0.1
    assert change.why == f"The pot warms {100 - 100 * change.ratio:.0f} % slower."
    assert power_changes(ramp([1.0], 40), nothing, None) == ()


def test_a_single_bad_reading_proposes_nothing():
    times = np.arange(0.0, 1800.0, 10.0)
    values = np.full(times.size, 20.0)
    values[90] = 85.0
    still = Line(times, np.full(times.size, 18.0))
    assert first_drop(Line(times, values), still, "spout") is None
