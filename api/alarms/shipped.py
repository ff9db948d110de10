"""The rules that are shipped. Limits are common practice with no source where none is named.

A basis says why a limit is what it is wherever that is not plain: most are for owners to confirm.
"""

from typing import Final

from api.alarms import measures_heating as heating
from api.alarms import measures_house as house
from api.alarms import measures_probes as probes
from api.alarms import measures_tanks as tanks
from api.alarms import measures_water as water
from api.alarms.model import Priority
from api.alarms.rules import PRACTICE, Limits, Rule, Scope, Side, registered
from api.alarms.shipped_estimates import BY_ESTIMATES
from api.alarms.sights import ANY_RUN, IDLE, OPEN_MASH_MIN, RUN, SystemSight
from api.record.checking import STRONGEST_ABV
from calc.yeast import YEAST_MAXIMUM_C

LOW: Final = Priority.LOW
MEDIUM: Final = Priority.MEDIUM
HIGH: Final = Priority.HIGH
MINUTE: Final = 60
HOUR: Final = 3600
COLDEST_C: Final = -55.0  # what a DS18B20 measures, by its data sheet
HOTTEST_C: Final = 125.0
YEAST_C: Final = tanks.ORDINARY_C
FERMENT: Final = frozenset({"ferment"})
MASH: Final = frozenset({"mash"})
FOAMS: Final = frozenset({"strip", "single", "sacrificial", RUN})
CUTS: Final = frozenset({"spirit", "single", "botanical", "feints"})
SIMULATED: Final = f"{PRACTICE}; the window by simulation, see tests/bench/alarm_rates.py"
ORDINARY: Final = (
    f"what an ordinary yeast stands, {PRACTICE}; a spirit yeast stands "
    f"{YEAST_MAXIMUM_C['spirit']:.0f} °C and one for warm rooms "
    f"{YEAST_MAXIMUM_C['heat-tolerant']:.0f} °C, and counts with that where the record names it "
    "so; a limit that you set stands"
)
BELOW_MAXIMUM_K: Final = 2.0
NEARLY_C: Final = YEAST_C - BELOW_MAXIMUM_K
JUMPS: Final = (
    f"{SIMULATED}. Not while stripping: there it warms as fast all along, and nothing is cut"
)
REST_MIN: Final = 60.0


def _silent_s(sight: SystemSight) -> float | None:
    return sight.silent_s


def _down_min(sight: SystemSight) -> float | None:
    return IDLE if sight.down_s is None else sight.down_s / MINUTE


def _step_s(sight: SystemSight) -> float | None:
    return IDLE if sight.clock_step_s is None else abs(sight.clock_step_s)


def _free_mb(sight: SystemSight) -> float | None:
    return sight.free_mb


_FERMENTS: Final = (
    Rule(
        name="ferment_too_hot", scope=Scope.FERMENT, place="ferment",
        measure=lambda: tanks.FermentWarmth(NEARLY_C),
        unit="°C", limits=Limits(NEARLY_C, 0.5, 10 * MINUTE, 10 * MINUTE),
        least=COLDEST_C, most=HOTTEST_C, normal=25.0, priority=MEDIUM, time_to_act_s=HOUR,
        stages=FERMENT,
        basis=f"2 K below {ORDINARY}. At the maximum itself it would come too late: to cool a "
        "ferment takes an hour or two",
    ),
    Rule(
        name="ferment_too_cold", scope=Scope.FERMENT, place="ferment",
        measure=lambda: tanks.At("ferment"),
        unit="°C", limits=Limits(16.0, 0.5, HOUR, HOUR), least=COLDEST_C, most=HOTTEST_C,
        normal=25.0, side=Side.BELOW, priority=LOW, time_to_act_s=6 * HOUR, stages=FERMENT,
        basis=f"where an ordinary yeast slows, {PRACTICE}",
    ),
    Rule(
        name="ferment_reaching_maximum", scope=Scope.FERMENT, place="ferment",
        measure=tanks.FermentAhead,
        unit="°C", limits=Limits(YEAST_C, 1.0, 10 * MINUTE, 30 * MINUTE),
        least=COLDEST_C, most=HOTTEST_C, normal=25.0, priority=LOW, time_to_act_s=2 * HOUR,
        stages=FERMENT, basis=ORDINARY,
        window_s=tanks.SLOPE_S,
    ),
    Rule(
        name="ferment_rising", scope=Scope.FERMENT, place="ferment", measure=tanks.FermentSlope,
        unit="K/h", limits=Limits(0.5, 0.2, 10 * MINUTE, HOUR), least=0.05, most=20.0, normal=0.0,
        priority=None, time_to_act_s=HOUR, stages=FERMENT,
        basis=f"{PRACTICE}. A healthy ferment warms as fast, so this is noted and calls nobody",
        window_s=tanks.SLOPE_S,
    ),
)  # fmt: skip
_MASHES: Final = (
    Rule(
        name="mash_off_rest", scope=Scope.MASH, place="mash",
        measure=lambda: tanks.OffRest(REST_MIN),
        unit="K", limits=Limits(2.0, 0.5, MINUTE, MINUTE), least=0.2, most=20.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=10 * MINUTE, stages=MASH,
        basis=f"{PRACTICE}. A rest that is written down counts from the middle of its range, and "
        "nothing within that range is off it; without one, from where the mash has been steady",
    ),
    Rule(
        name="mash_rest_reached", scope=Scope.MASH, place="mash", measure=tanks.RestMinutes,
        unit="min", limits=Limits(REST_MIN, 0.0, 0, 0), least=5.0, most=1440.0, normal=0.0,
        priority=LOW, time_to_act_s=30 * MINUTE, stages=MASH,
        basis=f"{PRACTICE}. The minutes planned for a rest that is written down come before it",
    ),
    Rule(
        name="open_mash_long", scope=Scope.STILL, place="pot", measure=tanks.OpenMash,
        unit="min", limits=Limits(OPEN_MASH_MIN, 0.0, 0, 0), least=30.0, most=1440.0,
        normal=0.0, priority=LOW, time_to_act_s=30 * MINUTE,
        basis=f"{PRACTICE}. For so long, and below 80 °C unless somebody says that it is being "
        "cooked, a mash in the pot covers the alarms of a hot still",
    ),
)  # fmt: skip
_HEATING: Final = (
    Rule(
        name="water_not_proven", scope=Scope.PRODUCT, place="pot", measure=heating.WaterNotProven,
        unit="°C", limits=Limits(50.0, 5.0, 10, 10), least=COLDEST_C, most=HOTTEST_C, normal=20.0,
        priority=LOW, time_to_act_s=10 * MINUTE, stages=ANY_RUN,
        basis=f"{PRACTICE}. From a pot at 30 °C on where the neck has warmed by 3 K. Low: vapour "
        "is minutes away yet, and an outlet that stays cold then is high",
    ),
    Rule(
        name="no_outlet_rise", scope=Scope.PRODUCT, place="coolant_out",
        measure=heating.NoOutletRise,
        unit="s", limits=Limits(90.0, 0.0, 0, 0), least=10.0, most=1800.0, normal=0.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN,
        basis=f"{PRACTICE}. While a reflux condenser may take all the vapour it waits, but not in "
        "a strip. Without a probe in head or column nothing tells when vapour comes",
    ),
    Rule(
        name="foam_prompt", scope=Scope.STILL, place="pot", measure=heating.FoamPrompt,
        unit="°C", limits=Limits(70.0, 5.0, 5, 5), least=COLDEST_C, most=HOTTEST_C, normal=20.0,
        priority=LOW, time_to_act_s=5 * MINUTE, stages=FOAMS,
    ),
    Rule(
        name="fill_too_high", scope=Scope.STILL, place="pot", measure=heating.Filled,
        unit="%", limits=Limits(heating.CLEAR_FILL_PERCENT, 1.0, 10, 10), least=10.0, most=100.0,
        normal=0.0, priority=MEDIUM, time_to_act_s=15 * MINUTE, stages=ANY_RUN,
        basis=f"a clear wash, {PRACTICE}; {heating.THICK_FILLS_LESS:.0f} % less for one of grain, "
        f"fruit or molasses, {heating.SPIRIT_FILLS_MORE:.0f} % more for low wines and feints",
    ),
    Rule(
        name="charge_too_strong", scope=Scope.STILL, place="pot", measure=heating.ChargeStrength,
        unit="% vol", limits=Limits(STRONGEST_ABV, 1.0, 10, 10), least=1.0, most=100.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=15 * MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="boil_over", scope=Scope.STILL, place="head", measure=heating.BoilOver,
        unit="K", limits=Limits(8.0, 4.0, 3, 120), least=1.0, most=60.0, normal=0.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN,
        basis=f"{PRACTICE}. Within 30 s, while the pot cannot boil yet; so high that a neck which "
        "warms ahead of vapour is none",
    ),
)  # fmt: skip
_RUNNING: Final = (
    Rule(
        name="coolant_out_warm", scope=Scope.PRODUCT_TUBE, place="coolant_out",
        measure=water.Outlet,
        unit="°C", limits=Limits(60.0, 2.0, 20, 30), least=COLDEST_C, most=HOTTEST_C, normal=35.0,
        priority=MEDIUM, time_to_act_s=3 * MINUTE, stages=ANY_RUN,
        basis=f"a product condenser, {PRACTICE}; a worm tub's top warms all run and is left out",
    ),
    Rule(
        name="coolant_out_hot", scope=Scope.PRODUCT_TUBE, place="coolant_out", measure=water.Outlet,
        unit="°C", limits=Limits(70.0, 2.0, 5, 30), least=COLDEST_C, most=HOTTEST_C, normal=35.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="reflux_out_warm", scope=Scope.REFLUX, place="reflux_out", measure=water.Outlet,
        unit="°C", limits=Limits(80.0, 2.0, 60, 60), least=COLDEST_C, most=HOTTEST_C, normal=60.0,
        priority=LOW, time_to_act_s=10 * MINUTE, stages=CUTS,
        basis=f"{PRACTICE}. A reflux condenser's water leaves at 50 to 70 °C by design",
    ),
    Rule(
        name="coolant_jump", scope=Scope.PRODUCT, place="coolant_out",
        measure=lambda: water.OutletSlope(20, 60.0),
        unit="K/min", limits=Limits(1.0, 0.5, 0, 30), least=0.1, most=60.0, normal=0.0,
        priority=LOW, time_to_act_s=2 * MINUTE, stages=ANY_RUN, window_s=20,
        basis=f"{SIMULATED}. Low: power that is raised does the same, and water that is lost shows "
        "in other rules as well",
    ),
    Rule(
        name="coolant_surge", scope=Scope.PRODUCT, place="coolant_out",
        measure=lambda: water.OutletSlope(6, 1.0),
        unit="K/s", limits=Limits(0.15, 0.05, 0, 30), least=0.01, most=10.0, normal=0.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN, window_s=6,
        basis=f"{SIMULATED}. Not 0.1 K/s: power that is raised during a run warms the outlet as "
        "fast, on simulated stills; 0.5 K/s still shows within 4 s, beyond the probe's own lag",
    ),
    Rule(
        name="coolant_loss", scope=Scope.PRODUCT, place="coolant_out", measure=water.CoolantLoss,
        unit="%", limits=Limits(20.0, 5.0, 5, 60), least=5.0, most=90.0, normal=0.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN,
        basis=f"{PRACTICE}; the share by which an outlet has come from where it ran towards the "
        "room, or the inlet has and the outlet does not come along, by simulated stills. Where "
        "water and room are alike it has nothing to judge by",
    ),
    Rule(
        name="spout_jump", scope=Scope.PRODUCT, place="spout", measure=water.SpoutJump,
        unit="K", limits=Limits(3.0, 1.0, 0, 60), least=0.5, most=30.0, normal=0.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN, basis=f"within 30 s, {PRACTICE}",
    ),
    Rule(
        name="spout_warm", scope=Scope.PRODUCT, place="spout", measure=water.SpoutWarm,
        unit="°C", limits=Limits(30.0, 1.0, 30, 30), least=COLDEST_C, most=HOTTEST_C, normal=20.0,
        priority=MEDIUM, time_to_act_s=2 * MINUTE, stages=ANY_RUN,
        basis=f"{PRACTICE}. Where the water comes in warm, 10 K above it",
    ),
    Rule(
        name="spout_hot", scope=Scope.PRODUCT, place="spout", measure=water.Spout,
        unit="°C", limits=Limits(40.0, 1.0, 5, 30), least=COLDEST_C, most=HOTTEST_C, normal=20.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="inlet_warm", scope=Scope.PRODUCT, place="coolant_in", measure=water.Inlet,
        unit="°C", limits=Limits(30.0, 1.0, 60, 60), least=COLDEST_C, most=HOTTEST_C, normal=15.0,
        priority=MEDIUM, time_to_act_s=10 * MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="inlet_rising", scope=Scope.PRODUCT, place="coolant_in", measure=water.InletSlope,
        unit="K/h", limits=Limits(4.0, 1.5, 60, 10 * MINUTE), least=0.5, most=60.0, normal=0.0,
        priority=LOW, time_to_act_s=HOUR, stages=ANY_RUN, window_s=water.INLET_S,
        basis=f"{PRACTICE}; half of what 2 kW do to 200 L. Water below 20 °C may warm as it likes",
    ),
    Rule(
        name="head_jump", scope=Scope.STILL, place="head",
        measure=lambda: water.PlaceSlope("head", 120),
        unit="K/min", limits=Limits(0.15, 0.05, 0, 5 * MINUTE), least=0.02, most=30.0, normal=0.0,
        priority=LOW, time_to_act_s=5 * MINUTE, stages=CUTS, basis=JUMPS, window_s=120,
    ),
    Rule(
        name="column_jump", scope=Scope.STILL, place="column",
        measure=lambda: water.PlaceSlope("column", 120),
        unit="K/min", limits=Limits(0.15, 0.05, 0, 5 * MINUTE), least=0.02, most=30.0, normal=0.0,
        priority=LOW, time_to_act_s=5 * MINUTE, stages=CUTS, basis=JUMPS, window_s=120,
    ),
    Rule(
        name="element_near", scope=Scope.STILL, place="pot", measure=heating.AboveElement,
        unit="L", limits=Limits(5.0, 1.0, 10, 10), least=0.5, most=1000.0, normal=1e6,
        side=Side.BELOW, priority=HIGH, time_to_act_s=5 * MINUTE, stages=ANY_RUN,
        basis=f"above what covers the element, {PRACTICE}",
    ),
    Rule(
        name="receiver_nearly_full", scope=Scope.STILL, place="spout",
        measure=heating.ReceiverFilled,
        unit="%", limits=Limits(90.0, 2.0, 0, 0), least=10.0, most=100.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=2 * MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="water_off_while_hot", scope=Scope.PRODUCT, place="head", measure=water.WaterOffHot,
        unit="°C", limits=Limits(60.0, 2.0, 20, 30), least=COLDEST_C, most=HOTTEST_C, normal=20.0,
        priority=HIGH, time_to_act_s=2 * MINUTE, stages=ANY_RUN,
        basis=f"the head, {PRACTICE}; the water by its flow, else by an inlet that drifts to the "
        "room or an outlet that warms",
    ),
    Rule(
        name="heat_lost", scope=Scope.STILL, place="head", measure=heating.HeatLost,
        unit="K/min", limits=Limits(-0.12, 0.05, 5, 60), least=-30.0, most=-0.02, normal=0.0,
        side=Side.BELOW, priority=HIGH, time_to_act_s=2 * MINUTE, stages=ANY_RUN, window_s=120,
        basis=f"{PRACTICE}; chosen on simulated stills. A charge that boils at 96.5 °C or more is "
        "spent, and its end is no loss",
    ),
    Rule(
        name="unattended", scope=Scope.STILL, place="pot", measure=heating.Unattended,
        unit="min", limits=Limits(15.0, 0.0, 0, 0), least=2.0, most=240.0, normal=0.0,
        priority=HIGH, time_to_act_s=5 * MINUTE, stages=ANY_RUN,
        basis=f"{PRACTICE}. A mark that somebody set and a jar that somebody changed are work at "
        "the still, on whatever screen they are written down, and count from the time they give. "
        "So do the button there and a tap at the machine's own screen; to acknowledge, or to tap "
        "“I am at the still”, from elsewhere does not count",
    ),
    Rule(
        name="unattended_soon", scope=Scope.STILL, place="pot", measure=heating.UnattendedSoon,
        unit="min", limits=Limits(13.0, 0.0, 0, 0), least=1.0, most=239.0, normal=0.0,
        priority=LOW, time_to_act_s=2 * MINUTE, stages=ANY_RUN, chirps=True,
        basis=f"{PRACTICE}. It comes 2 min before the still counts as left alone, whatever is set",
    ),
)  # fmt: skip
_ALWAYS: Final = (
    Rule(
        name="probe_refused", scope=Scope.SPOT, measure=house.Refused,
        unit="s", limits=Limits(10.0, 0.0, 0, 5), least=5.0, most=3600.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=5 * MINUTE, basis=f"{PRACTICE}; three scans at the least",
    ),
    Rule(
        name="probe_stale", scope=Scope.SPOT, measure=house.Stale,
        unit="s", limits=Limits(29.0, 0.0, 0, 5), least=3.0, most=3600.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=5 * MINUTE,
        basis=f"told at 30 s, {PRACTICE}; three scans at the least",
    ),
    Rule(
        name="probe_frozen", scope=Scope.SPOT, measure=house.Frozen,
        unit="min", limits=Limits(15.0, 0.0, 0, 5), least=2.0, most=240.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=5 * MINUTE,
        basis=f"{PRACTICE}; only where another probe of the vessel has moved by more than 1 K",
    ),
    Rule(
        name="probes_do_not_fit", scope=Scope.STILL, place="pot", measure=probes.DoNotFit,
        unit="K", limits=Limits(3.0, 1.0, 2 * MINUTE, MINUTE), least=0.5, most=60.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=5 * MINUTE, stages=ANY_RUN,
        basis=f"{PRACTICE}. Vapour is no warmer than what boils, nor the water that leaves colder "
        "than what comes. A pot's probe that is buried, and a spout's that has slipped, show no "
        "such thing: look at both before every run",
    ),
    Rule(
        name="head_stays_cold", scope=Scope.STILL, place="head", measure=probes.HeadStaysCold,
        unit="min", limits=Limits(10.0, 0.0, 0, 0), least=3.0, most=120.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=5 * MINUTE, stages=ANY_RUN,
        basis=f"{PRACTICE}; from 1 K below where the charge boils, and from 96.5 °C where its "
        "strength is not known",
    ),
    Rule(
        name="logger_silent", scope=Scope.SYSTEM, measure=lambda: house.OfSystem(_silent_s),
        unit="s", limits=Limits(30.0, 0.0, 0, 0), least=10.0, most=3600.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=5 * MINUTE,
    ),
    Rule(
        name="service_was_down", scope=Scope.SYSTEM, measure=lambda: house.OfSystem(_down_min),
        unit="min", limits=Limits(1.0, 0.0, 0, 0), least=0.5, most=1440.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=5 * MINUTE,
    ),
    Rule(
        name="clock_stepped", scope=Scope.SYSTEM, measure=lambda: house.OfSystem(_step_s),
        unit="s", limits=Limits(10.0, 0.0, 0, 0), least=1.0, most=86_400.0, normal=0.0,
        priority=LOW, time_to_act_s=HOUR,
    ),
    Rule(
        name="card_nearly_full", scope=Scope.SYSTEM, measure=lambda: house.OfSystem(_free_mb),
        unit="MB", limits=Limits(500.0, 100.0, 0, 0), least=20.0, most=1e6, normal=1e7,
        side=Side.BELOW, priority=LOW, time_to_act_s=24 * HOUR,
    ),
)  # fmt: skip

SHIPPED: Final = registered((*_FERMENTS, *_MASHES, *_HEATING, *_RUNNING, *BY_ESTIMATES, *_ALWAYS))
