"""What the probes of a still show of each other: one that slipped, froze or changed places."""

from functools import lru_cache
from typing import Final

from api.alarms.sights import IDLE, Measure, VesselSight
from api.alarms.stages import SEA_LEVEL_HPA, SPENT_C, Phase, at_pressure
from calc.boiling import boiling_point

PAIRS: Final = (("head", "pot"), ("column", "pot"), ("coolant_in", "coolant_out"))
BELOW_BOIL_K: Final = 1.0  # a pot's probe lags and errs by less; practice, no source


class DoNotFit(Measure[VesselSight]):
    """How much warmer a place is than one that must be warmer than it while a still boils, K.

    Vapour is no warmer than the liquid it comes from, and the water that leaves a condenser no
    colder than the water that comes.
    """

    __slots__ = ()

    def see(self, sight: VesselSight) -> float | None:
        """Return the most that any pair is the wrong way round."""
        if sight.still is None or not sight.still.settled(sight.slot):
            return IDLE
        get = sight.values.get
        apart = [
            cooler - warmer
            for below, above in PAIRS
            if (cooler := get(below)) is not None and (warmer := get(above)) is not None
        ]
        return max(apart, default=None)


class HeadStaysCold(Measure[VesselSight]):
    """For how long the pot has been at its boil with no vapour at the head, min."""

    __slots__ = ("_since",)

    def __init__(self) -> None:
        self._since: int | None = None

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        still = sight.still
        if still is None or still.head is None or still.pot is None:
            return None
        cools = still.phase is Phase.COOLING  # what is spent stands above where its charge boiled
        if cools or still.vapour_since is not None or still.pot < self._boils_c(sight):
            self._since = None
            return IDLE
        self._since = self._since or sight.slot
        return (sight.slot - self._since) / 60.0

    @staticmethod
    def _boils_c(sight: VesselSight) -> float:
        """Return where its charge boils; where nobody said what it is, where hardly any is left."""
        charge, hpa = sight.charge, sight.pressure_hpa
        if charge is None or charge.abv is None:
            return at_pressure(SPENT_C, hpa)
        return _boils_c(charge.abv, round(SEA_LEVEL_HPA if hpa is None else hpa)) - BELOW_BOIL_K


@lru_cache(maxsize=64)
def _boils_c(abv: float, pressure_hpa: int) -> float:
    return boiling_point(abv, pressure_hpa).temperature_c
