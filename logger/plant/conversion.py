"""How a mash turns starch into sugar: swelling of the starch, work and death of the enzymes.

First-order steps with temperature. beta-amylase largely lost after 30 min at 65 C (summary of a
paper of 1990); gelatinisation ranges by grain after an Institute of Brewing table (quoted at a
brewing archive, 1996), rye from memory; the other constants are set so that an ordinary mash
converts in an hour: common practice, no source. What the branches of starch keep from both
amylases stays dextrin: some eighth of it, from memory.
"""

from dataclasses import dataclass
from math import exp
from typing import Final

SUGAR_PER_STARCH: Final = 180.16 / 162.14  # by mass, as hexose
LIMIT_SHARE: Final = 0.12  # of starch: what amylases leave about its branches
WATER_SHARE: Final = 1.0 - 1.0 / SUGAR_PER_STARCH  # of the sugar's mass, taken up from the mash


@dataclass(frozen=True, slots=True)
class Grain:
    """What a kilogram of grain brings, as it comes."""

    name: str
    starch: float  # kg in a kg
    gelatinises_c: float  # middle of its range
    enzymes: float  # of a distillers' malt's
    moisture: float = 0.05


GRAINS: Final = {
    grain.name: grain
    for grain in (
        Grain("rye", 0.58, 62.0, 0.1, 0.12),
        Grain("rye malt", 0.57, 60.0, 0.8),
        Grain("barley malt", 0.58, 61.5, 1.0),
        Grain("wheat", 0.61, 53.0, 0.05, 0.12),
        Grain("maize", 0.62, 72.5, 0.0, 0.12),
    )
}


@dataclass(slots=True)
class Mash:
    """Grain in a vessel, from dry to spent."""

    grain_kg: float = 0.0  # as it came
    starch_kg: float = 0.0  # not yet swollen
    swollen_kg: float = 0.0  # starch that enzymes can reach
    dextrin_kg: float = 0.0  # cut by alpha-amylase, not yet fermentable
    limit_kg: float = 0.0  # dextrin that stays
    alpha: float = 0.0  # activity left, in kg of distillers' malt
    beta: float = 0.0
    gelatinises_c: float = 62.0

    @property
    def convertible_kg(self) -> float:
        """What may yet become sugar, of what has swollen."""
        return self.swollen_kg * (1.0 - LIMIT_SHARE) + self.dextrin_kg

    @property
    def dissolved_kg(self) -> float:
        """All dextrin that is in the liquid."""
        return self.dextrin_kg + self.limit_kg

    def add(self, grain: Grain, mass_kg: float) -> None:
        """Stir grain in."""
        self.gelatinises_c = (
            self.gelatinises_c * self.grain_kg + grain.gelatinises_c * mass_kg
        ) / (self.grain_kg + mass_kg)
        self.grain_kg += mass_kg
        self.starch_kg += mass_kg * grain.starch
        self.alpha += mass_kg * grain.enzymes
        self.beta += mass_kg * grain.enzymes

    def step(self, temperature_c: float, dt_s: float) -> float:
        """Go on by a step; gives the kg of fermentable sugar (as hexose) made in it."""
        if self.grain_kg <= 0.0:
            return 0.0
        hours = dt_s / 3600.0
        self._swell(temperature_c, hours)
        per_kg = 1.0 / self.grain_kg
        alpha = min(self.alpha * per_kg, 1.0) * _works(temperature_c, 70.0)
        beta = min(self.beta * per_kg, 1.0) * _works(temperature_c, 62.5)
        cut = self.swollen_kg * -_gone(24.0 * alpha * hours)
        self.swollen_kg -= cut
        self.dextrin_kg += cut * (1.0 - LIMIT_SHARE)
        self.limit_kg += cut * LIMIT_SHARE
        made = self.dextrin_kg * -_gone((24.0 * beta + 1.6 * alpha) * hours)
        self.dextrin_kg -= made
        self.alpha *= exp(-hours * 0.7 * 2.0 ** ((temperature_c - 70.0) / 2.5))
        self.beta *= exp(-hours * 4.6 * 2.0 ** ((temperature_c - 65.0) / 2.5))
        return made * SUGAR_PER_STARCH

    def _swell(self, temperature_c: float, hours: float) -> None:
        rate = 6.0 / (1.0 + exp(-(temperature_c - self.gelatinises_c) / 2.0))
        swollen = self.starch_kg * -_gone(rate * hours)
        self.starch_kg -= swollen
        self.swollen_kg += swollen

    def let_out(self, part: float) -> None:
        """Let a part of the liquid go, with what is dissolved in it."""
        self.dextrin_kg *= 1.0 - part
        self.limit_kg *= 1.0 - part

    def take_all(self, other: "Mash") -> None:
        """Take over what another vessel held."""
        if other.grain_kg > 0.0:
            self.gelatinises_c = other.gelatinises_c
        for name in (
            "grain_kg", "starch_kg", "swollen_kg", "dextrin_kg", "limit_kg", "alpha", "beta",
        ):  # fmt: skip
            setattr(self, name, getattr(self, name) + getattr(other, name))
            setattr(other, name, 0.0)


def _gone(exponent: float) -> float:
    """Give the (negative) share that a first-order step takes."""
    return exp(-exponent) - 1.0


def _works(temperature_c: float, best_c: float) -> float:
    """Give an enzyme's pace against its best: doubles every 10 K up to there, then level."""
    return float(2.0 ** (min(temperature_c - best_c, 0.0) / 10.0))
