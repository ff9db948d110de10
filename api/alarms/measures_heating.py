"""What is measured of a still on its way to the boil, and of its heat and charge."""

from collections.abc import Callable, Mapping
from typing import Final

from api.alarms.detectors import Rise, Slope
from api.alarms.ground import Charge
from api.alarms.rules import Limits
from api.alarms.sights import IDLE, RUN, CondenserSight, Measure, VesselSight
from api.alarms.stages import Phase
from api.record.checking import CLEAR_FILL, ON_GRAIN_FILL, SPIRIT_FILL
from calc.boiling import boiling_point

NO_BOIL_C: Final = 75.0  # no wash or low wines gives vapour at the head while its pot is cooler
BOIL_MARGIN_K: Final = 2.0  # a pot's probe lags and errs by less; practice, no source
CLOUDY_S: Final = 600  # how long a report of a cloudy spout counts
WARMING_C: Final = 30.0
SURGE_S: Final = 30
STARTED_S: Final = 120
OF_SPIRIT: Final = frozenset({"spirit", "feints", "botanical"})  # their charge foams little
REFLUXED: Final = OF_SPIRIT | {"single", RUN}
CLIMB_WINDOW_S: Final = 60
CLIMBS_K_MIN: Final = 0.25  # a head whose reflux has ceased; by simulated stills
CLIMBS_S: Final = 10
CLEAR_FILL_PERCENT: Final = round(100.0 * CLEAR_FILL[1], 1)
THICK_FILLS_LESS: Final = round(100.0 * (CLEAR_FILL[1] - ON_GRAIN_FILL[1]), 1)
SPIRIT_FILLS_MORE: Final = round(100.0 * (SPIRIT_FILL[1] - CLEAR_FILL[1]), 1)
CHIRP_BEFORE_MIN: Final = 2.0  # at least so long before the still counts as left alone


class WaterNotProven(Measure[CondenserSight]):
    """The pot's temperature while nothing has shown that water runs; the neck's without a pot's."""

    __slots__ = ("_neck_limit_c",)

    def __init__(self) -> None:
        self._neck_limit_c: float | None = None

    def see(self, sight: CondenserSight) -> float | None:
        """Return it."""
        still = sight.still
        warm_c = still.neck_warm_c if still.pot is None else WARMING_C
        self._neck_limit_c = warm_c if still.neck_rose else None
        if sight.water.proven:
            return IDLE
        if still.pot is None:  # the neck alone must do
            return still.head if still.neck_rose and still.vapour_since is None else IDLE
        # without a probe in the head nothing tells when vapour comes
        blind = still.head is None and still.phase is Phase.BOILING
        return still.pot if blind or still.phase is Phase.HEATING else IDLE

    def limit(self, declared: float) -> float:
        """Return the limit; a neck that warms ahead of the pot is as good a sign."""
        neck_c = self._neck_limit_c
        return declared if neck_c is None else min(declared, neck_c)


class NoOutletRise(Measure[CondenserSight]):
    """Seconds of vapour in the head without the outlet having risen.

    Under reflux another condenser may take all the vapour at first. Where its outlet has become as
    warm as the vapour, its water may stand, and prove nothing; then the head gives it away, which
    stays where it is under full reflux and climbs where there is none.
    """

    __slots__ = ("_climbs_from", "_passes", "_slope")

    def __init__(self) -> None:
        self._slope = Slope(CLIMB_WINDOW_S)
        self._climbs_from: int | None = None
        self._passes = False

    def see(self, sight: CondenserSight) -> float | None:
        """Return it."""
        vessel, still = sight.vessel, sight.still
        if sight.ground.outlet not in vessel.values:
            return None  # no probe there
        if still.head is None:
            return None  # nothing tells when vapour comes
        boiled_s = still.boiled_s(vessel.slot)
        if sight.water.rose_since_vapour or still.phase is Phase.COOLING or not boiled_s:
            self._forget()
            return IDLE
        return IDLE if self._is_taken(sight, still.head) else float(boiled_s)

    def _is_taken(self, sight: CondenserSight, head: float) -> bool:
        """Say whether another condenser takes all the vapour."""
        vessel = sight.vessel
        rose = [one for one in vessel.waters if one is not sight.water and one.rose_since_vapour]
        if vessel.stage not in REFLUXED or not rose:
            return False
        if any(one.is_below(head) for one in rose):
            self._forget()
            return True
        self._see_climb(vessel, head)
        return not self._passes

    def _see_climb(self, vessel: VesselSight, head: float) -> None:
        found = self._slope.see(vessel.slot, vessel.period_s, head)
        if found is None or found * 60.0 < CLIMBS_K_MIN:
            self._climbs_from = None
            return
        self._climbs_from = self._climbs_from or vessel.slot
        self._passes = self._passes or vessel.slot - self._climbs_from >= CLIMBS_S

    def _forget(self) -> None:
        self._slope, self._passes = Slope(CLIMB_WINDOW_S), False
        self._climbs_from = None


class FoamPrompt(Measure[VesselSight]):
    """The pot's temperature on its way to the first vapour."""

    __slots__ = ()

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        still = sight.still
        if still is None or still.vapour_since is not None or still.phase is Phase.COOLING:
            return IDLE
        return still.pot


class Filled(Measure[VesselSight]):
    """How much of the pot the charge fills, %, until it boils."""

    __slots__ = ("_more",)

    def __init__(self) -> None:
        self._more = 0.0

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        charge = sight.charge
        thick = charge is not None and charge.is_thick
        self._more = -THICK_FILLS_LESS if thick else 0.0
        if sight.stage in OF_SPIRIT:
            self._more = SPIRIT_FILLS_MORE
        return _or_idle(sight, charge, lambda one: one.fill_fraction, 100.0)

    def limit(self, declared: float) -> float:
        """Return the limit for this wash, or for low wines."""
        return declared + self._more


class ChargeStrength(Measure[VesselSight]):
    """The charge's strength, % vol, until it boils."""

    __slots__ = ()

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        return _or_idle(sight, sight.charge, lambda one: one.abv, 1.0)


class BoilOver(Measure[VesselSight]):
    """How far the head has surged within half a minute while its pot cannot boil yet, K.

    A cloudy spout that somebody reports counts as a surge of any height.
    """

    __slots__ = ("_boils_c", "_known", "_rise")

    REPORTED_K: Final = 99.0

    def __init__(self) -> None:
        self._rise = Rise(SURGE_S)
        self._known: tuple[float, int] | None = None
        self._boils_c = NO_BOIL_C

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        still, head = sight.still, sight.values.get("head")
        if still is None:
            return IDLE
        cloudy = sight.cloudy_slot
        if cloudy is not None and 0 <= sight.slot - cloudy <= CLOUDY_S and still.hot:
            return self.REPORTED_K
        if head is None:
            return None
        rise = self._rise.see(sight.slot, sight.period_s, head)
        cool = still.pot is not None and still.pot < self._no_boil_c(sight)
        return rise if cool and still.pot_k_min is not None and still.pot_k_min > 0 else IDLE

    def _no_boil_c(self, sight: VesselSight) -> float:
        """Say below what a pot cannot boil: of a charge that is known, a little under its boil."""
        charge, hpa = sight.charge, sight.pressure_hpa
        if charge is None or charge.abv is None or hpa is None:
            return NO_BOIL_C
        known = charge.abv, round(hpa)
        if known != self._known:
            self._known, self._boils_c = known, boiling_point(*known).temperature_c
        return max(NO_BOIL_C, self._boils_c - BOIL_MARGIN_K)


class AboveElement(Measure[VesselSight]):
    """Litres left above what covers the heating element."""

    __slots__ = ()

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        ground, charge, still = sight.ground, sight.charge, sight.still
        if ground.heat_source != "element" or still is None or not still.hot:
            return IDLE
        if ground.element_cover_l is None or charge is None or charge.volume_l is None:
            return None
        return charge.volume_l - (charge.collected_l or 0.0) - ground.element_cover_l


class ReceiverFilled(Measure[VesselSight]):
    """How full the receiver is, %."""

    __slots__ = ()

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        charge = sight.charge
        if charge is None:
            return None
        if charge.receiver_fraction is None:
            return IDLE  # none stands there, or nobody knows what it holds
        return charge.receiver_fraction * 100.0


class Unattended(Measure[VesselSight]):
    """Minutes since anybody showed that they are at the hot still."""

    __slots__ = ()

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        still = sight.still
        if still is None or still.hot_since is None:
            return IDLE
        if sight.touched_slot is None:
            return None  # nobody can press anything here, as in a replay
        return (sight.slot - max(sight.touched_slot, still.hot_since)) / 60.0


class UnattendedSoon(Unattended):
    """The same, against a limit that always comes before the other."""

    __slots__ = ("_alone_min",)

    def __init__(self) -> None:
        self._alone_min: float | None = None

    def mind_limits(self, limits: Mapping[str, Limits]) -> None:
        """Take when the still counts as left alone."""
        alone = limits.get("unattended")
        self._alone_min = None if alone is None else alone.limit

    def limit(self, declared: float) -> float:
        """Return the limit."""
        alone = self._alone_min
        if alone is None:
            return declared
        return min(declared, max(alone - CHIRP_BEFORE_MIN, alone / 2.0))


class HeatLost(Measure[VesselSight]):
    """How fast the head falls, K/min, while the charge still has spirit in it."""

    __slots__ = ()

    def see(self, sight: VesselSight) -> float | None:
        """Return it; a value below 0 falls."""
        still = sight.still
        if still is None or still.vapour_since is None or still.heat_off_since is None:
            return IDLE
        if still.spent_when_off or still.boiled_s(sight.slot) < STARTED_S:
            return IDLE  # the run is over, or has not begun
        return still.head_k_min if still.head is not None else still.pot_k_min


def _or_idle(
    sight: VesselSight,
    charge: Charge | None,
    part: Callable[[Charge], float | None],
    scale: float,
) -> float | None:
    still = sight.still
    if still is None or still.vapour_since is not None:
        return IDLE
    if still.pot is None or still.pot < WARMING_C:
        return IDLE
    value = None if charge is None else part(charge)
    return None if value is None else value * scale
