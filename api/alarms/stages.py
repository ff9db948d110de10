"""What a still is doing, judged from its temperatures: nobody need have pressed start.

Temperatures are common practice, no source, unless a line says otherwise.
"""

from enum import StrEnum
from typing import Final

from api.alarms.detectors import Level, Slope

HOT_POT_C: Final = 50.0
VAPOUR_C: Final = 60.0  # a head this warm has vapour in it
COOLER_BY_K: Final = 5.0  # before hot, or vapour, is over
HEATS_K_MIN: Final = 0.05
FALLS_K_MIN: Final = -0.12
FALLS_FAST_K_MIN: Final = -0.25  # no column that settles lets its head fall so; by simulated stills
RISES_K_MIN: Final = 0.01
SETTLED_S: Final = 600
BLIND_S: Final = 60  # a head that gave no good reading for longer tells nothing of now
SPENT_C: Final = 96.5  # little spirit is left in a pot that boils this hot at sea level
SEA_LEVEL_HPA: Final = 1013.25
K_PER_HPA: Final = 0.0277  # of boiling water near sea level: IAPWS, 1 K for 36 hPa
NECK_RISE_K: Final = 3.0
DISTINCT_K: Final = 3.0  # how far the inlet must differ from the room to tell anything
FOLLOWS_K: Final = 1.5
FOLLOWS_S: Final = 60
OUTLET_RISE_K: Final = 2.0
HELD_FROM: Final = 0.1  # what ran before is remembered from here on
COMES_ALONG: Final = 0.65  # an outlet of water that runs comes along with its inlet, nearly wholly
NEAR_VAPOUR_K: Final = 5.0  # an outlet this near to the head's warmth may be of standing water


class Phase(StrEnum):
    """What a still is doing."""

    IDLE = "idle"
    HEATING = "heating"
    BOILING = "boiling"
    COOLING = "cooling"


class StillWatch:
    """One still's phase, and since when it is hot, has vapour, or has lost its heat."""

    def __init__(self, control_cycle_s: float = 0.0) -> None:
        self.phase = Phase.IDLE
        self.pot: float | None = None
        self.head: float | None = None
        self.hot_since: int | None = None
        self.vapour_since: int | None = None
        self.heat_off_since: int | None = None
        self.pot_k_min: float | None = None
        self.head_k_min: float | None = None
        self.spent = False
        self.spent_when_off = False
        self.neck_rose = False
        self.neck_warm_c: float | None = None  # from here on it counts as warm
        self._head_slot = 0
        self._pot_slope = Slope(300, control_cycle_s)
        self._head_slope = Slope(120, control_cycle_s)
        self._head_cold = Level()

    def see(
        self,
        slot: int,
        period_s: int,
        pot: float | None,
        head: float | None,
        pressure_hpa: float | None,
    ) -> None:
        """Take what pot and head show; None where there is no good reading."""
        if pot is not None:
            self.pot = pot
            found = self._pot_slope.see(slot, period_s, pot)
            self.pot_k_min = None if found is None else found * 60.0
            self.spent = pot >= at_pressure(SPENT_C, pressure_hpa)
        if head is None and pot is not None and slot - self._head_slot > BLIND_S:
            self.head = self.head_k_min = None  # the pot alone must do
        if head is not None:
            self.head, self._head_slot = head, slot
            found = self._head_slope.see(slot, period_s, head)
            self.head_k_min = None if found is None else found * 60.0
        self._judge_heat(slot)
        self._judge_neck(slot, head)
        self.phase = self._judged_phase()

    def mind_cycle(self, control_cycle_s: float) -> None:
        """Judge slopes over more than two cycles of the heat's control."""
        self._pot_slope.mind_cycle(control_cycle_s)
        self._head_slope.mind_cycle(control_cycle_s)

    @property
    def hot(self) -> bool:
        """Say whether the still is hot enough to hurt."""
        return self.hot_since is not None

    def boiled_s(self, slot: int) -> int:
        """Say for how long there has been vapour in the head; 0 without."""
        return 0 if self.vapour_since is None else slot - self.vapour_since

    def settled(self, slot: int) -> bool:
        """Say whether it has boiled long enough for its temperatures to have found their places."""
        return self.phase is Phase.BOILING and self.boiled_s(slot) >= SETTLED_S

    def _judge_heat(self, slot: int) -> None:
        pot, head = self.pot, self.head
        vapour = self._over(head, VAPOUR_C, was=self.vapour_since is not None)
        if head is None:  # without a probe in the head the pot alone must do
            vapour = self._over(pot, VAPOUR_C + 20.0, was=self.vapour_since is not None)
        hot = vapour or self._over(pot, HOT_POT_C, was=self.hot)
        self.vapour_since = (self.vapour_since or slot) if vapour else None
        self.hot_since = (self.hot_since or slot) if hot else None
        falls = _below(self.head_k_min if head is not None else self.pot_k_min, FALLS_K_MIN)
        lost = falls and self._pot_has_lost()
        heats = self.pot_k_min is not None and self.pot_k_min > HEATS_K_MIN
        if not self.hot or heats:
            self.heat_off_since = None
        elif lost and self.heat_off_since is None:
            self.heat_off_since, self.spent_when_off = slot, self.spent

    def _pot_has_lost(self) -> bool:
        """Say whether the pot speaks for it too: a column that settles cools a head as slowly."""
        fast = self.head is None or _below(self.head_k_min, FALLS_FAST_K_MIN)
        return _below(self.pot_k_min, HEATS_K_MIN if fast else RISES_K_MIN)

    def _judge_neck(self, slot: int, head: float | None) -> None:
        if head is None:
            return
        cold = self._head_cold.see(slot, head, held=self.neck_rose)
        self.neck_warm_c = None if cold is None else cold + NECK_RISE_K
        self.neck_rose = cold is not None and head > cold + NECK_RISE_K and not self._is_cold()

    def _is_cold(self) -> bool:
        return self.pot is not None and self.pot < HOT_POT_C - 15.0

    def _judged_phase(self) -> Phase:
        if not self.hot:
            rises = self.pot_k_min is not None and self.pot_k_min > 2 * HEATS_K_MIN
            return Phase.HEATING if rises and _above(self.pot, 30.0) else Phase.IDLE
        if self.heat_off_since is not None:
            return Phase.COOLING
        if self.vapour_since is not None:
            return Phase.BOILING
        return Phase.COOLING if _below(self.pot_k_min, -HEATS_K_MIN) else Phase.HEATING

    @staticmethod
    def _over(value: float | None, limit: float, *, was: bool) -> bool:
        return value is not None and value >= limit - (COOLER_BY_K if was else 0.0)


class WaterWatch:
    """Whether water has been proven to run through one condenser, and how its outlet stands."""

    def __init__(self) -> None:
        self.proven = False
        self.rose_since_vapour = False
        self.outlet: float | None = None  # the newest good reading
        self.outlet_level: float | None = None  # some minutes ago, while boiling
        self.inlet_level: float | None = None
        self.dropped = 0.0  # how much of the outlet's height above the room has gone
        self.inlet_moved: float | None = None  # how much of its way to the room; None tells nothing
        self.drifted = 0.0  # the same, where the outlet has not followed: the water stands
        self.spread = 0.0  # the outlet's height above the inlet, as it ran
        self._outlet = Level(600, 120)
        self._inlet = Level(600, 120)
        self._cold = Level(600, 120)  # of the outlet, before vapour
        self._followed_since: int | None = None
        self._at_vapour: float | None = None

    def see(
        self,
        slot: int,
        still: StillWatch,
        outlet: float | None,
        inlet: float | None,
        room: float | None,
        flow: float | None,
    ) -> None:
        """Take what the condenser's water shows."""
        if not still.hot:
            self._rest()
        if flow is not None:
            self.proven = flow > 0.0
        if outlet is None:
            return
        self.outlet = outlet
        if still.vapour_since is None:
            self._before_vapour(slot, outlet, inlet, room)
        else:
            self._with_vapour(slot, still, outlet, inlet, room)

    def is_below(self, head: float) -> bool:
        """Say whether the outlet is well below the vapour's warmth."""
        return self.outlet is not None and self.outlet < head - NEAR_VAPOUR_K

    def reported(self) -> None:
        """Take a person's word that the water runs."""
        self.proven = True

    def _rest(self) -> None:
        self.proven = self.rose_since_vapour = False
        self.dropped = self.drifted = 0.0

    def _before_vapour(
        self, slot: int, outlet: float, inlet: float | None, room: float | None
    ) -> None:
        for level in (self._outlet, self._inlet):
            level.clear()
        self.rose_since_vapour, self.dropped, self.drifted = False, 0.0, 0.0
        self.inlet_moved = None
        cold = self._cold.see(slot, outlet)
        self._at_vapour = outlet
        moved = cold is not None and abs(outlet - cold) > DISTINCT_K
        distinct = inlet is not None and room is not None and abs(inlet - room) > DISTINCT_K
        follows = inlet is not None and abs(outlet - inlet) < FOLLOWS_K
        if not (follows and (distinct or moved)):
            self._followed_since = None
            return
        self._followed_since = self._followed_since or slot
        if slot - self._followed_since >= FOLLOWS_S:
            self.proven = True

    def _with_vapour(
        self,
        slot: int,
        still: StillWatch,
        outlet: float,
        inlet: float | None,
        room: float | None,
    ) -> None:
        at_first = self._at_vapour
        if at_first is None:  # it boiled before anybody watched: the water tells by what it is now
            foot = inlet if inlet is not None else room
            self._at_vapour = at_first = outlet if foot is None else foot
            self.rose_since_vapour = foot is None
        if outlet > at_first + OUTLET_RISE_K:
            self.rose_since_vapour = self.proven = True
        stands = self.dropped > HELD_FROM or self.drifted > HELD_FROM
        held = stands or not still.settled(slot)
        keep = held and self.outlet_level is not None
        self.outlet_level = self._outlet.see(slot, outlet, held=keep)
        if inlet is not None:
            self.inlet_level = self._inlet.see(slot, inlet, held=keep)
        self._measure_drop(outlet, room)
        self._measure_drift(outlet, inlet, room)

    def _measure_drop(self, outlet: float, room: float | None) -> None:
        level, foot = self.outlet_level, room if room is not None else self.inlet_level
        if level is None or foot is None or level - foot < DISTINCT_K:
            self.dropped = 0.0
            return
        self.spread = level - (self.inlet_level if self.inlet_level is not None else foot)
        self.dropped = (level - outlet) / (level - foot)

    def _measure_drift(self, outlet: float, inlet: float | None, room: float | None) -> None:
        """See whether the inlet drifts to the room and the outlet does not come along."""
        self.inlet_moved, self.drifted = None, 0.0
        level, ran = self.inlet_level, self.outlet_level
        if level is None or ran is None or inlet is None or room is None:
            return
        if abs(room - level) < DISTINCT_K:
            return
        self.inlet_moved = moved = (inlet - level) / (room - level)
        along = (outlet - ran) / (inlet - level) if inlet != level else 1.0
        if moved <= 1.0 and along < COMES_ALONG:
            self.drifted = max(0.0, moved)


def at_pressure(temperature_c: float, pressure_hpa: float | None) -> float:
    """Return a boiling point near that of water as it is at a pressure; None: at sea level."""
    hpa = SEA_LEVEL_HPA if pressure_hpa is None else pressure_hpa
    return temperature_c + (hpa - SEA_LEVEL_HPA) * K_PER_HPA


def _above(value: float | None, limit: float) -> bool:
    return value is not None and value > limit


def _below(value: float | None, limit: float) -> bool:
    return value is not None and value < limit
