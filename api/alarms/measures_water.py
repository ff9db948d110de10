"""What is measured of condensers, their water and the spout."""

from typing import Final

from api.alarms.detectors import Rise, Slope
from api.alarms.sights import IDLE, CondenserSight, Measure, VesselSight
from api.alarms.stages import Phase

SPOUT_ABOVE_INLET_K: Final = 10.0
SPOUT_S: Final = 30
SPOUT_SETTLED_S: Final = 300
INLET_S: Final = 1200
INLET_COLD_C: Final = 20.0
INLET_MOVED: Final = 0.04  # of the way to the room: water that stands takes the room's warmth
SLOW_S: Final = 45  # heat that is lost takes the outlet down faster than this
GONE: Final = 0.8
DROPPED: Final = 0.15
WATER_OFF: Final = 0.25
OUTLET_UP_K: Final = 5.0


class Outlet(Measure[CondenserSight]):
    """The outlet's temperature while the still is hot."""

    __slots__ = ()

    def see(self, sight: CondenserSight) -> float | None:
        """Return it."""
        return sight.outlet if sight.still.hot else IDLE


class OutletSlope(Measure[CondenserSight]):
    """How fast the outlet warms once the boil has settled, K a stretch of time."""

    __slots__ = ("_per_s", "_slope")

    def __init__(self, window_s: int, per_s: float) -> None:
        self._slope, self._per_s = Slope(window_s), per_s

    def mind_cycle(self, control_cycle_s: float) -> None:
        """Look over more than two of them."""
        self._slope.mind_cycle(control_cycle_s)

    def see(self, sight: CondenserSight) -> float | None:
        """Return it."""
        if sight.outlet is None:
            return None
        vessel = sight.vessel
        found = self._slope.see(vessel.slot, vessel.period_s, sight.outlet)
        if not sight.still.settled(vessel.slot):
            return IDLE
        return None if found is None else found * self._per_s


class PlaceSlope(Measure[VesselSight]):
    """How fast a place of a still warms once the boil has settled, K/min."""

    __slots__ = ("_place", "_slope")

    def __init__(self, place: str, window_s: int) -> None:
        self._place, self._slope = place, Slope(window_s)

    def mind_cycle(self, control_cycle_s: float) -> None:
        """Look over more than two of them."""
        self._slope.mind_cycle(control_cycle_s)

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        value = sight.values.get(self._place)
        if value is None or sight.still is None:
            return None
        found = self._slope.see(sight.slot, sight.period_s, value)
        if not sight.still.settled(sight.slot):
            return IDLE
        return None if found is None else found * 60.0


class CoolantLoss(Measure[CondenserSight]):
    """How much of its height above the room the outlet has lost while the still boils, %.

    An outlet probe on the hose cools when the water stands. So it does when the heat is lost, but
    then it falls fast and to the inlet; standing water drifts, and takes the inlet along. An outlet
    that runs as warm as the room cannot show it: there the inlet alone drifts to the room.
    """

    __slots__ = ("_since",)

    def __init__(self) -> None:
        self._since: int | None = None

    def see(self, sight: CondenserSight) -> float | None:
        """Return it."""
        vessel, water, still = sight.vessel, sight.water, sight.still
        if still.vapour_since is None or still.heat_off_since is not None:
            self._since = None
            return IDLE
        if vessel.values.get("coolant_flow") == 0.0:
            return 100.0
        if sight.outlet is None:
            return None
        dropped = water.dropped
        if dropped <= DROPPED:
            self._since = None
            return 100.0 * water.drifted
        self._since = self._since or vessel.slot
        slow = vessel.slot - self._since >= SLOW_S and dropped < GONE
        evidence = sight.water.inlet_moved
        sure = slow if evidence is None else evidence >= INLET_MOVED
        return 100.0 * dropped if sure else 0.0


class SpoutJump(Measure[CondenserSight]):
    """How far the spout has risen within half a minute, K."""

    __slots__ = ("_rise",)

    def __init__(self) -> None:
        self._rise = Rise(SPOUT_S)

    def see(self, sight: CondenserSight) -> float | None:
        """Return it."""
        if sight.spout is None:
            return None
        vessel = sight.vessel
        rise = self._rise.see(vessel.slot, vessel.period_s, sight.spout)
        settled = sight.still.boiled_s(vessel.slot) >= SPOUT_SETTLED_S
        return rise if settled and sight.still.phase is Phase.BOILING else IDLE


class Spout(Measure[CondenserSight]):
    """The spout's temperature while there is vapour."""

    __slots__ = ("_inlet",)

    def __init__(self) -> None:
        self._inlet: float | None = None

    def see(self, sight: CondenserSight) -> float | None:
        """Return it."""
        self._inlet = sight.inlet
        return sight.spout if sight.still.vapour_since is not None else IDLE


class SpoutWarm(Spout):
    """The same, against a limit that follows warm water."""

    __slots__ = ()

    def limit(self, declared: float) -> float:
        """Return the limit."""
        if self._inlet is None:
            return declared
        return max(declared, self._inlet + SPOUT_ABOVE_INLET_K)


class Inlet(Measure[CondenserSight]):
    """The inlet's temperature while it boils."""

    __slots__ = ()

    def see(self, sight: CondenserSight) -> float | None:
        """Return it."""
        return sight.inlet if sight.still.phase is Phase.BOILING else IDLE


class InletSlope(Measure[CondenserSight]):
    """How fast water that is no longer cold warms, K/h."""

    __slots__ = ("_slope",)

    def __init__(self) -> None:
        self._slope = Slope(INLET_S)

    def see(self, sight: CondenserSight) -> float | None:
        """Return it."""
        if sight.inlet is None:
            return None
        vessel = sight.vessel
        found = self._slope.see(vessel.slot, vessel.period_s, sight.inlet)
        long = sight.still.boiled_s(vessel.slot) >= INLET_S and sight.still.settled(vessel.slot)
        if not long or sight.inlet < INLET_COLD_C:
            return IDLE
        return None if found is None else found * 3600.0


class WaterOffHot(Measure[CondenserSight]):
    """The head's temperature, once the heat is off and the water seems to be off as well."""

    __slots__ = ()

    def see(self, sight: CondenserSight) -> float | None:
        """Return it."""
        still = sight.still
        if still.head is None:
            return None
        if still.phase is not Phase.COOLING:
            return IDLE
        if sight.vessel.values.get("coolant_flow") == 0.0:
            return still.head
        moved = sight.water.inlet_moved
        level = sight.water.outlet_level
        up = level is not None and sight.outlet is not None and sight.outlet > level + OUTLET_UP_K
        return still.head if up or (moved is not None and moved >= WATER_OFF) else IDLE
