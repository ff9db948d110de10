"""The shipped rules that stand on estimates. None is high: they advise, and the nose decides."""

from typing import Final

from api.alarms.measures_estimates import Told
from api.alarms.model import Priority
from api.alarms.rules import PRACTICE, Limits, Rule, Scope, Side
from api.alarms.sights import ANY_RUN

LOW: Final = Priority.LOW
MEDIUM: Final = Priority.MEDIUM
MINUTE: Final = 60
HOUR: Final = 3600
FERMENT: Final = frozenset({"ferment"})
CUTS: Final = frozenset({"spirit", "single", "botanical", "feints"})
JARRED: Final = ANY_RUN - {"cleaning", "sacrificial"}  # what these give is thrown away
BY_ESTIMATE: Final = f"{PRACTICE}. By an estimate: what it rests on stands on the live page"

BY_ESTIMATES: Final = (
    Rule(
        name="ferment_peak_passed", scope=Scope.FERMENT, place="ferment",
        measure=lambda: Told("hours_since_peak", "low"),
        unit="h", limits=Limits(0.5, 0.4, 10 * MINUTE, HOUR), least=0.1, most=48.0, normal=0.0,
        priority=None, time_to_act_s=HOUR, stages=FERMENT,
        basis=f"{BY_ESTIMATE}. Noted once the peak is past beyond doubt (the early end of the "
        "95 % band)",
    ),
    Rule(
        name="ferment_stuck", scope=Scope.FERMENT, place="ferment",
        measure=lambda: Told("stuck_percent"),
        unit="%", limits=Limits(80.0, 20.0, HOUR, HOUR), least=50.0, most=99.0, normal=0.0,
        priority=LOW, time_to_act_s=12 * HOUR, stages=FERMENT,
        basis=f"{BY_ESTIMATE}. How likely it is that the ferment stands still before its end",
    ),
    Rule(
        name="boil_imminent", scope=Scope.STILL, place="pot",
        measure=lambda: Told("minutes_to_boil"), side=Side.BELOW,
        unit="min", limits=Limits(10.0, 5.0, MINUTE, MINUTE), least=2.0, most=60.0, normal=120.0,
        priority=LOW, time_to_act_s=10 * MINUTE, stages=ANY_RUN, basis=BY_ESTIMATE,
    ),
    Rule(
        name="tails_near", scope=Scope.STILL, place="head",
        measure=lambda: Told("tails_near"),
        unit="%", limits=Limits(50.0, 20.0, MINUTE, 5 * MINUTE), least=10.0, most=99.0,
        normal=0.0, priority=LOW, time_to_act_s=10 * MINUTE, stages=CUTS,
        basis=f"{BY_ESTIMATE}. How likely it is that the tails are near; how near, it says",
    ),
    Rule(
        name="run_ends_soon", scope=Scope.STILL, place="spout",
        measure=lambda: Told("minutes_to_end"), side=Side.BELOW,
        unit="min", limits=Limits(10.0, 5.0, MINUTE, 5 * MINUTE), least=1.0, most=120.0,
        normal=240.0, priority=LOW, time_to_act_s=10 * MINUTE, stages=ANY_RUN,
        basis=f"{BY_ESTIMATE}, and what ends a run is set there",
    ),
    Rule(
        name="balance_implausible", scope=Scope.STILL, place="spout",
        measure=lambda: Told("measured_percent", "low"),
        unit="%", limits=Limits(100.0, 2.0, 0, 0), least=50.0, most=200.0, normal=50.0,
        priority=LOW, time_to_act_s=HOUR, stages=ANY_RUN,
        basis="no still gives more alcohol than was put in: the low end of the 95 % band of what "
        "was measured of the jars and of the charge",
    ),
    Rule(
        name="alcohol_missing", scope=Scope.STILL, place="spout",
        measure=lambda: Told("accounted_percent", "high"), side=Side.BELOW,
        unit="%", limits=Limits(95.0, 2.0, 2 * MINUTE, 10 * MINUTE), least=50.0, most=99.0,
        normal=100.0, priority=MEDIUM, time_to_act_s=10 * MINUTE, stages=JARRED,
        basis=f"{PRACTICE}; by simulated runs, see tests/bench/estimate_rules.py. What was put in "
        "is in the jars, under the spout or in the pot: the high end of that band. A twentieth may "
        "be tasted, poured away or cling to a column",
    ),
)  # fmt: skip
