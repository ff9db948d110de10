"""What is measured of mashes and ferments."""

from collections import deque
from typing import Final

from api.alarms.detectors import Slope
from api.alarms.ground import PlannedRest
from api.alarms.sights import IDLE, Measure, VesselSight
from calc.yeast import YEAST_MAXIMUM_C

MINUTE_S: Final = 60
ORDINARY_C: Final = YEAST_MAXIMUM_C["ordinary"]
AHEAD_S: Final = 7200  # how far a ferment's warmth is projected
SLOPE_S: Final = 3600
STEADY_MIN: Final = 10
STEADY_K: Final = 2.0  # from the lowest to the highest minute
REST_C: Final = (40.0, 78.0)  # rests that anybody holds: protein to mash-out


class MinuteMean:
    """The mean of the good readings of each whole minute, once it is over."""

    __slots__ = ("_minute", "_number", "_sum")

    def __init__(self) -> None:
        self._minute = self._number = 0
        self._sum = 0.0

    def see(self, slot: int, value: float) -> tuple[int, float] | None:
        """Take a reading; gives the slot and mean of the minute before, where one has ended."""
        minute = slot // MINUTE_S
        ended = None
        if minute != self._minute:
            if self._number:
                ended = self._minute * MINUTE_S, self._sum / self._number
            self._minute, self._number, self._sum = minute, 0, 0.0
        self._number += 1
        self._sum += value
        return ended


class At(Measure[VesselSight]):
    """The temperature at a place."""

    __slots__ = ("_place",)

    def __init__(self, place: str) -> None:
        self._place = place

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        return sight.values.get(self._place)


class FermentWarmth(At):
    """A ferment's temperature, against what its own yeast stands where the record names it."""

    __slots__ = ("_more_k", "_shipped_c")

    def __init__(self, shipped_c: float) -> None:
        super().__init__("ferment")
        self._shipped_c, self._more_k = shipped_c, 0.0

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        self._more_k = _stands_more_k(sight)
        return super().see(sight)

    def limit(self, declared: float) -> float:
        """Return the limit; one that somebody has set stands."""
        return declared + (self._more_k if declared == self._shipped_c else 0.0)


class FermentSlope(Measure[VesselSight]):
    """How fast a ferment warms, K/h, over an hour of minutes."""

    __slots__ = ("_minutes", "_slope", "latest_c", "value")

    def __init__(self) -> None:
        self._minutes, self._slope = MinuteMean(), Slope(SLOPE_S)
        self.latest_c: float | None = None
        self.value: float | None = None

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        value = sight.values.get("ferment")
        if value is not None and (ended := self._minutes.see(sight.slot, value)):
            found = self._slope.see(ended[0], max(MINUTE_S, sight.period_s), ended[1])
            self.latest_c, self.value = ended[1], None if found is None else found * 3600.0
        return self.value


class FermentAhead(FermentSlope):
    """Where a ferment will be in two hours if it goes on as it does."""

    __slots__ = ("_more_k",)

    def __init__(self) -> None:
        super().__init__()
        self._more_k = 0.0

    def limit(self, declared: float) -> float:
        """Return what its own yeast stands where the record names it; one that was set stands."""
        return declared + (self._more_k if declared == ORDINARY_C else 0.0)

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        self._more_k = _stands_more_k(sight)
        slope_k_h = super().see(sight)
        if slope_k_h is None or self.latest_c is None:
            return None
        return self.latest_c + max(slope_k_h, 0.0) * AHEAD_S / 3600.0


class Rest:
    """A mash's rest, found where the mash has been steady; lost where it has cooled or is over."""

    __slots__ = ("_minutes", "_recent", "rest_c", "since")

    def __init__(self) -> None:
        self._minutes = MinuteMean()
        self._recent: deque[tuple[int, float]] = deque(maxlen=STEADY_MIN)
        self.rest_c: float | None = None
        self.since: int | None = None

    def see(self, slot: int, value: float) -> None:
        """Take a reading of the mash."""
        ended = self._minutes.see(slot, value)
        if ended is None:
            return
        self._recent.append(ended)
        if ended[1] < REST_C[0]:
            self.rest_c = self.since = None
        elif self.rest_c is None and self._is_steady():
            self.rest_c = sum(mean for _, mean in self._recent) / STEADY_MIN
            self.since = self._recent[0][0]

    def _is_steady(self) -> bool:
        means = [mean for _, mean in self._recent]
        if len(means) < STEADY_MIN or not REST_C[0] <= means[-1] <= REST_C[1]:
            return False
        return max(means) - min(means) <= STEADY_K


class RestMinutes(Measure[VesselSight]):
    """For how long the mash has been at its rest, min: the one written down, else the one found."""

    __slots__ = ("_planned", "_rest")

    def __init__(self) -> None:
        self._rest = Rest()
        self._planned: PlannedRest | None = None

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        self._planned = planned = sight.rest
        if planned is not None:
            return _minutes(planned, sight.slot)
        value = mash_c(sight)
        if value is None:
            return None
        self._rest.see(sight.slot, value)
        return IDLE if self._rest.since is None else (sight.slot - self._rest.since) / MINUTE_S

    def limit(self, declared: float) -> float:
        """Return the minutes that were planned, else those of the rule."""
        return _planned_min(self._planned, declared)


class OffRest(Measure[VesselSight]):
    """How far the mash is off its rest, K, until the rest's time has passed.

    Of a rest that is written down, from the middle of its range, once the mash has come to it.
    """

    __slots__ = ("_came_to", "_held_min", "_planned", "_rest")

    def __init__(self, held_min: float) -> None:
        self._rest, self._held_min = Rest(), held_min
        self._planned: PlannedRest | None = None
        self._came_to: int | None = None  # the rest, by when it began

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        self._planned, value = sight.rest, mash_c(sight)
        if value is None:
            return None
        if self._planned is not None:
            return self._off(self._planned, sight.slot, value)
        rest = self._rest
        rest.see(sight.slot, value)
        if rest.since is None or rest.rest_c is None:
            return IDLE
        over = sight.slot - rest.since > self._held_min * MINUTE_S
        return IDLE if over else abs(value - rest.rest_c)

    def limit(self, declared: float) -> float:
        """Return the limit; what is within a range that was planned is not off it."""
        planned = self._planned
        return declared if planned is None else max(declared, (planned.high_c - planned.low_c) / 2)

    def _off(self, planned: PlannedRest, slot: int, value: float) -> float:
        minutes = _minutes(planned, slot)
        if not minutes <= _planned_min(planned, self._held_min):  # IDLE too
            return IDLE
        if planned.low_c <= value <= planned.high_c:
            self._came_to = planned.from_slot
        if self._came_to != planned.from_slot:
            return IDLE  # on its way there
        return abs(value - (planned.low_c + planned.high_c) / 2)


class OpenMash(Measure[VesselSight]):
    """For how long a mash has stood in the pot, min."""

    __slots__ = ()

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        since = sight.ground.since_slot
        if sight.still is None or sight.ground.stage != "mash" or since is None:
            return IDLE
        return (sight.slot - since) / MINUTE_S


def _stands_more_k(sight: VesselSight) -> float:
    """Say how much more than an ordinary yeast the one in it stands, K."""
    maximum_c = sight.yeast_maximum_c
    return 0.0 if maximum_c is None else maximum_c - ORDINARY_C


def _minutes(planned: PlannedRest, slot: int) -> float:
    """Say for how long a rest has lasted; IDLE where it is over."""
    over = planned.to_slot is not None and slot > planned.to_slot
    return IDLE if over else (slot - planned.from_slot) / MINUTE_S


def _planned_min(planned: PlannedRest | None, else_min: float) -> float:
    return else_min if planned is None or planned.minutes is None else planned.minutes


def mash_c(sight: VesselSight) -> float | None:
    """Return the mash's temperature, in the tun or in the pot."""
    get = sight.values.get
    return get("mash") if "mash" in sight.values else get("pot")
