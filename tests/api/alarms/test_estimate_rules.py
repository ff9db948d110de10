"""The rules that stand on estimates: when they call, when they are quiet, and what is not known."""

import pytest

from api.alarms.estimated import Estimated
from api.alarms.evaluate import NOTED, Evaluation
from api.alarms.events import Key
from api.alarms.ground import Ground, Moment, Spot, VesselGround
from api.alarms.model import Priority
from api.alarms.shipped import SHIPPED
from api.alarms.shipped_estimates import BY_ESTIMATES
from api.estimates.estimate import Estimate
from api.estimates.quantities import UNITS

MINUTE, HOUR = 60, 3600
STILL = VesselGround("still", "still", "still", stage="spirit", run_id="r", since_slot=0)
TANK = VesselGround("tank", "fermenter 1", "fermenter", stage="ferment", run_id="f", since_slot=0)
SPOTS = (Spot("pot", "pot", "still"), Spot("head", "head", "still"), Spot("f", "ferment", "tank"))
# what each is told by, what calls, what is quiet, and for how long it must hold
CASES = {
    "ferment_peak_passed": ("tank", "hours_since_peak", (2.0, 0.6), (2.0, 0.2), HOUR),
    "ferment_stuck": ("tank", "stuck_percent", (85.0, 85.0), (70.0, 70.0), 2 * HOUR),
    "boil_imminent": ("still", "minutes_to_boil", (8.0, 6.0), (12.0, 6.0), 3 * MINUTE),
    "tails_near": ("still", "tails_near", (60.0, 60.0), (40.0, 40.0), 3 * MINUTE),
    "run_ends_soon": ("still", "minutes_to_end", (8.0, 6.0), (14.0, 9.0), 3 * MINUTE),
    "balance_implausible": ("still", "measured_percent", (106.0, 102.0), (106.0, 98.0), 0),
    "alcohol_missing": ("still", "accounted_percent", (88.0, 85.0), (92.0, 88.0), 4 * MINUTE),
}


class Course:
    """A still and a ferment of which something is estimated, ten seconds by ten seconds."""

    def __init__(self) -> None:
        self.evaluation = Evaluation(Ground(SPOTS, (STILL, TANK)), SHIPPED)
        self.slot, self.changes = 0, []

    def go(self, seconds, vessel, estimate, behind_s=0):
        for _ in range(max(10, seconds) // 10 + 1):
            self.slot += 10
            told = {} if estimate is None else {estimate.quantity: estimate}
            self.evaluation.estimate({vessel: Estimated(self.slot - behind_s, told)})
            moment = Moment(self.slot, 10, {"pot": 80.0, "head": 75.0, "f": 25.0})
            self.changes += self.evaluation.see(moment)

    def of(self, rule):
        return [one for one in self.changes if one.key.rule == rule]

    def known(self, rule, vessel):
        return self.evaluation.judges[Key(rule, vessel)].known


def told(quantity, value, low):
    return Estimate(quantity, value, low, value + 5.0)


def test_every_rule_is_covered_here_by_a_quantity_that_is_told():
    assert {one.name for one in BY_ESTIMATES} == set(CASES)
    assert {quantity for _, quantity, *_ in CASES.values()} <= set(UNITS)
    assert {one.priority for one in BY_ESTIMATES} == {None, Priority.LOW, Priority.MEDIUM}


@pytest.mark.parametrize("rule", CASES)
def test_it_calls_where_it_should_and_not_before(rule):
    vessel, quantity, calls, quiet, seconds = CASES[rule]
    course = Course()
    course.go(seconds + MINUTE, vessel, told(quantity, *quiet))
    assert not course.of(rule)
    course.go(seconds, vessel, told(quantity, *calls))
    [change] = course.of(rule)
    assert change.what == (NOTED if SHIPPED[rule].priority is None else "raise")
    course.go(3 * HOUR, vessel, Estimate(quantity, None, None, None, "It is over."))
    assert [one.what for one in course.of(rule)][1:] == ([] if change.what == NOTED else ["clear"])


@pytest.mark.parametrize("rule", CASES)
def test_what_is_not_estimated_or_old_is_not_known(rule):
    vessel, quantity, calls, _, seconds = CASES[rule]
    course = Course()
    course.go(seconds, vessel, None)
    assert not course.known(rule, vessel)
    course.go(seconds, vessel, told(quantity, *calls), behind_s=600)
    assert not course.known(rule, vessel)
    assert not course.of(rule)
    course.go(0, vessel, told(quantity, *calls))
    assert course.known(rule, vessel)


def test_alcohol_that_comes_and_goes_by_an_unread_jar_does_not_call_twice():
    course = Course()
    for _ in range(3):
        course.go(8 * MINUTE, "still", told("accounted_percent", 88.0, 85.0))
        course.go(8 * MINUTE, "still", told("accounted_percent", 92.0, 88.0))
    assert [one.what for one in course.of("alcohol_missing")] == ["raise"]


def test_nothing_is_missing_of_a_run_whose_output_is_thrown_away():
    course = Course()
    cleans = VesselGround("still", "still", "still", stage="cleaning", run_id="r", since_slot=0)
    course.evaluation.lay(Ground(SPOTS, (cleans, TANK)))
    course.go(HOUR, "still", told("accounted_percent", 60.0, 55.0))
    assert all(one.after.suppressed for one in course.of("alcohol_missing"))


def test_tails_are_of_no_interest_while_nothing_is_cut():
    course = Course()
    strip = VesselGround("still", "still", "still", stage="strip", run_id="r", since_slot=0)
    course.evaluation.lay(Ground(SPOTS, (strip, TANK)))
    course.go(HOUR, "still", told("tails_near", 90.0, 80.0))
    assert all(one.after.suppressed for one in course.of("tails_near"))
