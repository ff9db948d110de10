"""The rules that are shipped. Limits are common practice with no source where none is named."""

from typing import Final

from api.alarms import measures_heating as heating
from api.alarms import measures_house as house
from api.alarms import measures_tanks as tanks
from api.alarms import measures_water as water
from api.alarms.model import Priority
from api.alarms.rules import PRACTICE, Limits, Rule, Scope, Side, registered
from api.alarms.sights import ANY_RUN, IDLE, OPEN_MASH_S, RUN, SystemSight
from calc.yeast import YEAST_MAXIMUM_C

LOW: Final = Priority.LOW
MEDIUM: Final = Priority.MEDIUM
HIGH: Final = Priority.HIGH
MINUTE: Final = 60
HOUR: Final = 3600
COLDEST_C: Final = -55.0  # what a DS18B20 measures, by its data sheet
HOTTEST_C: Final = 125.0
YEAST_C: Final = YEAST_MAXIMUM_C["ordinary"]
FERMENT: Final = frozenset({"ferment"})
MASH: Final = frozenset({"mash"})
FOAMS: Final = frozenset({"strip", "single", "sacrificial", RUN})
CUTS: Final = frozenset({"spirit", "single", "botanical", "feints"})
SIMULATED: Final = f"{PRACTICE}; the window by simulation, see tests/bench/alarm_rates.py"
ORDINARY: Final = f"what an ordinary yeast stands, {PRACTICE}"
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
        measure=lambda: tanks.At("ferment"),
        unit="°C", limits=Limits(YEAST_C, 0.5, 10 * MINUTE, 10 * MINUTE),
        least=COLDEST_C, most=HOTTEST_C, normal=25.0, priority=MEDIUM, time_to_act_s=HOUR,
        stages=FERMENT, basis=ORDINARY,
    ),
    Rule(
        name="ferment_too_cold", scope=Scope.FERMENT, place="ferment",
        measure=lambda: tanks.At("ferment"),
        unit="°C", limits=Limits(16.0, 0.5, HOUR, HOUR), least=COLDEST_C, most=HOTTEST_C,
        normal=25.0, side=Side.BELOW, priority=LOW, time_to_act_s=6 * HOUR, stages=FERMENT,
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
        priority=None, time_to_act_s=HOUR, stages=FERMENT, basis=SIMULATED,
        window_s=tanks.SLOPE_S,
    ),
)  # fmt: skip
_MASHES: Final = (
    Rule(
        name="mash_off_rest", scope=Scope.MASH, place="mash",
        measure=lambda: tanks.OffRest(REST_MIN),
        unit="K", limits=Limits(2.0, 0.5, MINUTE, MINUTE), least=0.2, most=20.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=10 * MINUTE, stages=MASH,
    ),
    Rule(
        name="mash_rest_reached", scope=Scope.MASH, place="mash", measure=tanks.RestMinutes,
        unit="min", limits=Limits(REST_MIN, 0.0, 0, 0), least=5.0, most=1440.0, normal=0.0,
        priority=LOW, time_to_act_s=30 * MINUTE, stages=MASH,
    ),
    Rule(
        name="open_mash_long", scope=Scope.STILL, place="pot", measure=tanks.OpenMash,
        unit="min", limits=Limits(OPEN_MASH_S / MINUTE, 0.0, 0, 0), least=30.0, most=1440.0,
        normal=0.0, priority=LOW, time_to_act_s=30 * MINUTE,
    ),
)  # fmt: skip
_HEATING: Final = (
    Rule(
        name="water_not_proven", scope=Scope.PRODUCT, place="pot", measure=heating.WaterNotProven,
        unit="°C", limits=Limits(50.0, 5.0, 10, 10), least=COLDEST_C, most=HOTTEST_C, normal=20.0,
        priority=LOW, time_to_act_s=10 * MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="no_outlet_rise", scope=Scope.PRODUCT, place="coolant_out",
        measure=heating.NoOutletRise,
        unit="s", limits=Limits(90.0, 0.0, 0, 0), least=10.0, most=1800.0, normal=0.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="foam_prompt", scope=Scope.STILL, place="pot", measure=heating.FoamPrompt,
        unit="°C", limits=Limits(70.0, 5.0, 5, 5), least=COLDEST_C, most=HOTTEST_C, normal=20.0,
        priority=LOW, time_to_act_s=5 * MINUTE, stages=FOAMS,
    ),
    Rule(
        name="fill_too_high", scope=Scope.STILL, place="pot", measure=heating.Filled,
        unit="%", limits=Limits(75.0, 1.0, 10, 10), least=10.0, most=100.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=15 * MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="charge_too_strong", scope=Scope.STILL, place="pot", measure=heating.ChargeStrength,
        unit="% vol", limits=Limits(40.0, 1.0, 10, 10), least=1.0, most=100.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=15 * MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="boil_over", scope=Scope.STILL, place="head", measure=heating.BoilOver,
        unit="K", limits=Limits(8.0, 4.0, 3, 120), least=1.0, most=60.0, normal=0.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN,
    ),
)  # fmt: skip
_RUNNING: Final = (
    Rule(
        name="coolant_out_warm", scope=Scope.PRODUCT_TUBE, place="coolant_out",
        measure=water.Outlet,
        unit="°C", limits=Limits(60.0, 2.0, 20, 30), least=COLDEST_C, most=HOTTEST_C, normal=35.0,
        priority=MEDIUM, time_to_act_s=3 * MINUTE, stages=ANY_RUN,
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
    ),
    Rule(
        name="coolant_jump", scope=Scope.PRODUCT, place="coolant_out",
        measure=lambda: water.OutletSlope(20, 60.0),
        unit="K/min", limits=Limits(1.0, 0.5, 0, 30), least=0.1, most=60.0, normal=0.0,
        priority=LOW, time_to_act_s=2 * MINUTE, stages=ANY_RUN, basis=SIMULATED, window_s=20,
    ),
    Rule(
        name="coolant_surge", scope=Scope.PRODUCT, place="coolant_out",
        measure=lambda: water.OutletSlope(6, 1.0),
        unit="K/s", limits=Limits(0.15, 0.05, 0, 30), least=0.01, most=10.0, normal=0.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN, basis=SIMULATED, window_s=6,
    ),
    Rule(
        name="coolant_loss", scope=Scope.PRODUCT, place="coolant_out", measure=water.CoolantLoss,
        unit="%", limits=Limits(20.0, 5.0, 5, 60), least=5.0, most=90.0, normal=0.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="spout_jump", scope=Scope.PRODUCT, place="spout", measure=water.SpoutJump,
        unit="K", limits=Limits(3.0, 1.0, 0, 60), least=0.5, most=30.0, normal=0.0,
        priority=HIGH, time_to_act_s=MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="spout_warm", scope=Scope.PRODUCT, place="spout", measure=water.SpoutWarm,
        unit="°C", limits=Limits(30.0, 1.0, 30, 30), least=COLDEST_C, most=HOTTEST_C, normal=20.0,
        priority=MEDIUM, time_to_act_s=2 * MINUTE, stages=ANY_RUN,
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
    ),
    Rule(
        name="head_jump", scope=Scope.STILL, place="head",
        measure=lambda: water.PlaceSlope("head", 120),
        unit="K/min", limits=Limits(0.15, 0.05, 0, 5 * MINUTE), least=0.02, most=30.0, normal=0.0,
        priority=LOW, time_to_act_s=5 * MINUTE, stages=CUTS, basis=SIMULATED, window_s=120,
    ),
    Rule(
        name="column_jump", scope=Scope.STILL, place="column",
        measure=lambda: water.PlaceSlope("column", 120),
        unit="K/min", limits=Limits(0.15, 0.05, 0, 5 * MINUTE), least=0.02, most=30.0, normal=0.0,
        priority=LOW, time_to_act_s=5 * MINUTE, stages=CUTS, basis=SIMULATED, window_s=120,
    ),
    Rule(
        name="element_near", scope=Scope.STILL, place="pot", measure=heating.AboveElement,
        unit="L", limits=Limits(5.0, 1.0, 10, 10), least=0.5, most=1000.0, normal=1e6,
        side=Side.BELOW, priority=HIGH, time_to_act_s=5 * MINUTE, stages=ANY_RUN,
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
    ),
    Rule(
        name="heat_lost", scope=Scope.STILL, place="head", measure=heating.HeatLost,
        unit="K/min", limits=Limits(-0.12, 0.05, 5, 60), least=-30.0, most=-0.02, normal=0.0,
        side=Side.BELOW, priority=HIGH, time_to_act_s=2 * MINUTE, stages=ANY_RUN, window_s=120,
    ),
    Rule(
        name="unattended", scope=Scope.STILL, place="pot", measure=heating.Unattended,
        unit="min", limits=Limits(15.0, 0.0, 0, 0), least=2.0, most=240.0, normal=0.0,
        priority=HIGH, time_to_act_s=5 * MINUTE, stages=ANY_RUN,
    ),
    Rule(
        name="unattended_soon", scope=Scope.STILL, place="pot", measure=heating.Unattended,
        unit="min", limits=Limits(13.0, 0.0, 0, 0), least=1.0, most=239.0, normal=0.0,
        priority=LOW, time_to_act_s=2 * MINUTE, stages=ANY_RUN, chirps=True,
    ),
)  # fmt: skip
_ALWAYS: Final = (
    Rule(
        name="probe_refused", scope=Scope.SPOT, measure=house.Refused,
        unit="s", limits=Limits(10.0, 0.0, 0, 5), least=5.0, most=3600.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=5 * MINUTE,
    ),
    Rule(
        name="probe_stale", scope=Scope.SPOT, measure=house.Stale,
        unit="s", limits=Limits(29.0, 0.0, 0, 5), least=3.0, most=3600.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=5 * MINUTE,
    ),
    Rule(
        name="probe_frozen", scope=Scope.SPOT, measure=house.Frozen,
        unit="min", limits=Limits(15.0, 0.0, 0, 5), least=2.0, most=240.0, normal=0.0,
        priority=MEDIUM, time_to_act_s=5 * MINUTE,
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

SHIPPED: Final = registered((*_FERMENTS, *_MASHES, *_HEATING, *_RUNNING, *_ALWAYS))
