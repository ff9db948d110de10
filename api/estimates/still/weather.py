"""The air's pressure along a run: who tells it may change, and where nobody does, it drifts.

A member holds how far the pressure that is told is off (`Row.BAROMETER_HPA`). Where another tells
it from now on, what the air truly has stays, and the other counts as a measurement of it.
"""

from math import sqrt
from typing import Final

from api.estimates.ground import Measured
from api.estimates.still.learning import learn
from api.estimates.still.members import UNKNOWN_HPA, Chance, Row
from api.estimates.still.signs import Block
from calc.quantities import FloatArray

_DRIFTS_HPA_H: Final = 0.8  # in the square root of an hour, where the site's altitude is all


class Weather:
    """What the members take the pressure that is told for."""

    def __init__(self, block: Block) -> None:
        self._said = block

    def turn(self, s: FloatArray, chance: Chance, block: Block, dt_s: float) -> bool:
        """Bring the members to a block; says whether another tells the pressure now."""
        said, self._said = self._said, block
        if _who(block) == _who(said):
            if _who(block) != "barometer":
                s[Row.BAROMETER_HPA] += chance.noise(_drift_hpa(said, block, dt_s))
            return False
        now, before = told_hpa(block), told_hpa(said)
        s[Row.BAROMETER_HPA] += before.value - now.value
        learn(s, s[Row.BAROMETER_HPA].copy(), 0.0, now.error)
        return True


def told_hpa(block: Block) -> Measured:
    """Return the pressure that is told, and how far it may be off."""
    return UNKNOWN_HPA if block.hpa is None else Measured(block.hpa, block.hpa_error)


def hpa_error(block: Block) -> float:
    """Return how far the pressure that is told may be off."""
    return told_hpa(block).error


def _who(block: Block) -> str:
    """Say who tells it: a barometer goes on telling, what somebody said is said once."""
    if block.hpa is None:
        return "nobody"
    return block.hpa_by if block.hpa_by == "barometer" else f"{block.hpa_by} {block.hpa}"


def _drift_hpa(said: Block, block: Block, dt_s: float) -> float:
    """Say how far the air has gone from what is told since the block before."""
    if block.hpa is None or block.hpa_by == "altitude":
        return _DRIFTS_HPA_H * sqrt(dt_s / 3600.0)
    return sqrt(max(block.hpa_error**2 - said.hpa_error**2, 0.0))
