"""Weather outside, and the room the vessels stand in: smooth, and the same for the same seed."""

from dataclasses import dataclass
from math import sin, tau
from random import Random

DAY_S = 86400.0


@dataclass(frozen=True, slots=True)
class Weather:
    """Air outside as sums of waves of incommensurate periods, days to hours. Invented."""

    mean_c: float = 14.0
    swing_c: float = 5.0  # between day and night
    mean_hpa: float = 1009.0
    storm_hpa: float = 6.0
    phases: tuple[float, ...] = (0.0, 0.7, 2.1, 4.0)

    @classmethod
    def drawn(cls, seed: int) -> "Weather":
        """Draw some."""
        dice = Random(f"weather/{seed}")  # noqa: S311 - the same for the same seed
        return cls(
            mean_c=dice.uniform(6.0, 22.0),
            swing_c=dice.uniform(2.0, 8.0),
            mean_hpa=dice.uniform(965.0, 1020.0),
            storm_hpa=dice.uniform(2.0, 10.0),
            phases=tuple(dice.uniform(0.0, tau) for _ in range(4)),
        )

    def outside_c(self, t_s: float) -> float:
        """Give the air's temperature; t = 0 is midnight."""
        slow = 2.5 * sin(tau * t_s / (4.7 * DAY_S) + self.phases[0])
        return self.mean_c + slow + self.swing_c * sin(tau * (t_s / DAY_S - 0.375))

    def pressure_hpa(self, t_s: float) -> float:
        """Give the station's pressure, with the tide of the air twice a day."""
        a, b, c, d = self.phases
        wave = sin(tau * t_s / (5.3 * DAY_S) + b) + 0.33 * sin(tau * t_s / (1.37 * DAY_S) + c)
        fast = 0.08 * sin(tau * t_s / 17_000.0 + d) + 0.03 * sin(tau * t_s / 3100.0 + a)
        tide = 0.6 * sin(2.0 * tau * t_s / DAY_S)
        return self.mean_hpa + self.storm_hpa * (0.75 * wave + fast) + tide


class Room:
    """A heated room: air that follows the outside, its heating and what the vessels give off."""

    def __init__(self, temperature_c: float = 18.0, kept_c: float = 17.0) -> None:
        self.temperature_c = temperature_c
        self.kept_c = kept_c
        self.loss_w_k = 160.0
        self.capacity_j_k = 2.5e6  # air and what it touches within the hour
        self.heater_w = 4000.0
        self.door_open = False

    def step(self, dt_s: float, outside_c: float, given_w: float) -> None:
        """Go on by a step."""
        loss = self.loss_w_k * (4.0 if self.door_open else 1.0)
        heater = min(max((self.kept_c - self.temperature_c) * 1500.0, 0.0), self.heater_w)
        gain = given_w + heater + loss * outside_c
        part = dt_s / self.capacity_j_k
        self.temperature_c = (self.temperature_c + part * gain) / (1.0 + part * loss)
