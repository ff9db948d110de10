"""Whether the pot boils where the charge, as it was recorded, would.

Half a minute at a time, a pot that boils elsewhere is put down to its probe, the air and the
published equilibrium all together, each of them further off than it is likely to be. So it is held
once against what was to be expected before anything was learned: from below, as long as it warms,
as no pot is hotter than it boils; from both sides once it is seen to boil.
"""

from dataclasses import dataclass
from math import hypot
from typing import Final

import numpy as np

from api.estimates.still.members import MEMBERS, Chance, Frame, Row
from api.estimates.still.motion import Air, boils_c
from api.estimates.still.unseen import NOISE_K
from calc.quantities import FloatArray

# As far apart in standard deviations, one run in two thousand is wrongly doubted. Common practice.
_CONTRADICTS_Z: Final = 3.5
_READ_K: Final = 0.35  # of a reading, with what boiled off before it is seen to boil
_WEAKEST_X: Final = 1e-4  # of the ethanol, some 0.03 and 88 % vol
_STRONGEST_X: Final = 0.7
_HALVINGS: Final = 16  # to a thousandth
_LEFT_AT_LEAST: Final = 0.3
_BEGINS_BELOW_C: Final = 75.0  # no charge boils there: it began before the boil
WARMING: Final = [Row.POT_C, Row.LN_HEAT, Row.LN_LOSS, Row.LN_METAL]  # nothing of strength


@dataclass(slots=True)
class Charged:
    """What was to be expected of a charge, until it has been held against the pot."""

    begun: FloatArray  # the members, before they learned anything; never changed
    hot: bool  # it was hot then, and some may have left it already: it may boil hotter
    asked: bool

    @classmethod
    def of(cls, s: FloatArray, pot_c: float, *, known: bool) -> "Charged":
        """Keep what the members begin with; `known`: its strength was recorded."""
        return cls(s.copy(), hot=pot_c > _BEGINS_BELOW_C, asked=not known)

    def contradicts(
        self, s: FloatArray, frame: Frame, air: Air, pot_c: float, *, boils: bool
    ) -> bool:
        """Say so of a pot that shows a temperature; `boils`: it is seen to."""
        if self.asked:
            return False
        expected = self._expected_c(s, frame, air)
        z = (pot_c - float(expected.mean())) / hypot(float(expected.std()), _READ_K)
        found = (z > _CONTRADICTS_Z and not self.hot) or (boils and z < -_CONTRADICTS_Z)
        self.asked = boils or found
        return found

    def _expected_c(self, s: FloatArray, frame: Frame, air: Air) -> FloatArray:
        """Return what the pot's probe was to show at the boil, less what has left it by now."""
        then = self.begun.copy()
        then[WARMING] = s[WARMING]
        for left, over in ((Row.LN_ETHANOL, Row.ETHANOL_OVER), (Row.LN_WATER, Row.WATER_OVER)):
            charged = np.exp(then[left])
            then[left] = np.log(np.maximum(charged - s[over], _LEFT_AT_LEAST * charged))
        shown: FloatArray = boils_c(then, frame, air) + then[Row.POT_PROBE_K]
        return shown


def boil_at(s: FloatArray, frame: Frame, air: Air, chance: Chance, pot_c: float) -> None:
    """Make each member's charge as strong as boils where the pot is seen to; its litres stay."""
    moles = np.exp(s[Row.LN_ETHANOL]) + np.exp(s[Row.LN_WATER])
    litres = moles * frame.boiling.litres_mol(np.exp(s[Row.LN_ETHANOL]) / moles)
    shown_c = pot_c - s[Row.POT_PROBE_K] - chance.noise(NOISE_K)
    s[Row.POT_C] = shown_c
    weak, strong = np.full(MEMBERS, _WEAKEST_X), np.full(MEMBERS, _STRONGEST_X)
    for _ in range(_HALVINGS):
        x = np.sqrt(weak * strong)
        moles = litres / frame.boiling.litres_mol(x)
        s[Row.LN_ETHANOL], s[Row.LN_WATER] = np.log(moles * x), np.log(moles * (1.0 - x))
        hotter = boils_c(s, frame, air) > shown_c
        weak, strong = np.where(hotter, x, weak), np.where(hotter, strong, x)
    s[Row.POT_C] = boils_c(s, frame, air)
