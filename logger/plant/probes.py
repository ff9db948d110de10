"""What a thermometer on a place feels: late, and not quite where it should be."""

from dataclasses import dataclass
from math import exp


@dataclass(slots=True)
class Feeler:
    """A probe at a place: its lag, its error, and how far it has slipped towards the room."""

    lag_s: float = 10.0
    slope: float = 1.0
    offset_c: float = 0.0
    slipped: float = 0.0  # 0 in place, 1 in the room's air
    felt_c: float = 18.0
    _step_s: float = 0.0  # the last step and lag, and what is left of a difference after it
    _of_lag_s: float = 0.0
    _left: float = 1.0

    def step(self, true_c: float, room_c: float, dt_s: float) -> None:
        """Follow the place for a step."""
        if dt_s != self._step_s or self.lag_s != self._of_lag_s:
            self._step_s, self._of_lag_s = dt_s, self.lag_s
            self._left = exp(-dt_s / self.lag_s)
        there_c = true_c + self.slipped * (room_c - true_c)
        self.felt_c = there_c + (self.felt_c - there_c) * self._left

    @property
    def shown_c(self) -> float:
        """What it converts to, without noise."""
        return self.slope * self.felt_c + self.offset_c
