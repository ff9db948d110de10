"""What is measured of estimates: what is told of a vessel, as far as it is sure of it."""

from typing import Final

from api.alarms.sights import IDLE, Measure, VesselSight

STALE_S: Final = 120  # an estimate older than that says nothing of now


class Told(Measure[VesselSight]):
    """An estimate's value, or an end of its band; IDLE where it is told that there is none.

    A band may be told without a value, where it is too wide for one.
    """

    __slots__ = ("_part", "_quantity")

    def __init__(self, quantity: str, part: str = "value") -> None:
        self._quantity, self._part = quantity, part

    def see(self, sight: VesselSight) -> float | None:
        """Return it."""
        estimated = sight.estimated
        if estimated is None or abs(sight.slot - estimated.slot) > STALE_S:
            return None
        found = estimated.by_quantity.get(self._quantity)
        if found is None:
            return None
        value: float | None = getattr(found, self._part)
        return IDLE if value is None else value
