"""The cooling water: from the main, or out of a tank that it runs back into and warms."""

from math import exp
from typing import Final

_HOSE_S: Final = 150.0  # a hose with still water in it comes to the room so fast
_PIPE_S: Final = 400.0


class Supply:
    """Where the water comes from, and the hoses the probes are strapped to."""

    def __init__(self, main_c: float, recirculated_l: float, room_c: float) -> None:
        self.main_c = main_c
        self._tank_l = recirculated_l
        self._tank_c = main_c
        self._warmer_k = 0.0
        self.pipe_c = self.hose_c = room_c

    @property
    def inlet_c(self) -> float:
        """What the condensers are given."""
        return (self._tank_c if self._tank_l > 0.0 else self.main_c) + self._warmer_k

    def step(
        self, dt_s: float, *, flowing_l_min: float, outlet_c: float, warmer_k: float, room_c: float
    ) -> None:
        """Go on by a step."""
        self._warmer_k = warmer_k
        litres = flowing_l_min / 60.0 * dt_s
        if self._tank_l > 0.0 and litres > 0.0:
            self._tank_c += (outlet_c - self.inlet_c) * min(litres / self._tank_l, 1.0)
        if flowing_l_min > 0.0:
            self.pipe_c, self.hose_c = self.inlet_c, outlet_c
            return
        self.pipe_c = room_c + (self.pipe_c - room_c) * exp(-dt_s / _PIPE_S)
        self.hose_c = room_c + (self.hose_c - room_c) * exp(-dt_s / _HOSE_S)
