"""Foam in the pot: how high it stands, and what it carries over.

Height follows what rises through the charge (a balance of making and breaking: bubbles per
second times how long they last); a charge that has boiled a while has lost what made it foam.
Constants: common practice, no source.
"""

from math import exp
from typing import Final

LITRES_MOL: Final = 29.0  # of vapour near 80 C
SIMMER_K: Final = 4.0  # bubbles form at the heat's surface this much before the charge boils
LASTS_S: Final = 15.0
TIRES_S: Final = 900.0
LIQUID_SHARE: Final = 0.08
CARRIED_PER_S: Final = 0.06  # of what stands above the pot's rim


class Foam:
    """The state of the foam."""

    def __init__(self, liveliness: float) -> None:
        self.liveliness = liveliness  # litres of foam from a litre of vapour; 0.1 clear, 2 grain
        self.volume_l = 0.0

    def step(self, vapour_mol: float, simmer_w: float, headroom_l: float, dt_s: float) -> float:
        """Grow and break for a step; gives the litres of liquid that go over."""
        simmer_mol = simmer_w / 40_000.0 * dt_s
        made = self.liveliness * (vapour_mol + simmer_mol) * LITRES_MOL
        self.volume_l = (self.volume_l + made) / (1.0 + dt_s / LASTS_S)
        if vapour_mol > 0.0:
            self.liveliness = max(self.liveliness * exp(-dt_s / TIRES_S), 0.03)
        above = self.volume_l - headroom_l
        if above <= 0.0:
            return 0.0
        over = above * (1.0 - exp(-CARRIED_PER_S * dt_s))
        self.volume_l -= over
        return over * LIQUID_SHARE
