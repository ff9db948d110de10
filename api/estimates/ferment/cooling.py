"""Whether something besides the room warms or cools a ferment: judged from its curve alone.

Nobody tells the house that a coil runs. A coil with a thermostat holds the wash: a rise or fall
breaks off and the temperature stays. A coil worked by hand takes it down faster than any room
could; a belt, or what is poured in, moves it faster than yeast could. While it is so the wash's
temperature says nothing of the heat, but that there is at least what the room takes.
"""

from collections.abc import Callable, Sequence
from enum import Enum
from typing import Final

import numpy as np

from api.estimates.ferment.spells import SPELL_H

AHEAD: Final = 6  # spells looked at beyond the one that is judged
BEHIND: Final = 9
FLAT_K_H: Final = 0.035
FLAT_K: Final = 0.07
BREAK_K_H: Final = 0.12
NEAR_K: Final = 0.1
PASSES_K: Final = 0.3
FASTEST_WARMING_K_H: Final = 2.5
COOLED_K_H: Final = 0.3  # beyond what the room can take


class Hand(Enum):
    """What is at work on the wash besides yeast and room."""

    NONE = "none"
    HELD = "held"
    MOVED = "moved"  # cooled, heated, or something was poured in


class Hold:
    """Judges one spell after another, each with the hour that follows it."""

    def __init__(self) -> None:
        self.held_at_c: float | None = None

    def judge(
        self,
        before: Sequence[float],
        here: float,
        after: Sequence[float],
        natural_k_h: Callable[[], float],
    ) -> Hand:
        """Judge a spell; `natural_k_h` gives how fast the room alone could cool it, with a margin.

        `before` ends with the spell before, `after` begins with the one after.
        """
        slope = _slope([*before[-1:], here, *after[:1]])
        if slope > FASTEST_WARMING_K_H:
            return Hand.MOVED
        if slope < -COOLED_K_H and slope < min(natural_k_h(), 0.0) - COOLED_K_H:
            return Hand.MOVED
        if self.held_at_c is not None and abs(here - self.held_at_c) < NEAR_K:
            return Hand.HELD
        if self.held_at_c is not None and here > self.held_at_c + PASSES_K:
            self.held_at_c = None  # what held it does so no more, or never did
        if self._breaks_off(before, here, after):
            self.held_at_c = float(np.mean([here, *after]))
            return Hand.HELD
        return Hand.NONE

    @staticmethod
    def _breaks_off(before: Sequence[float], here: float, after: Sequence[float]) -> bool:
        if len(before) < BEHIND or len(after) < AHEAD:
            return False
        stays = [here, *after]
        flat = abs(_slope(stays)) < FLAT_K_H and max(stays) - min(stays) < FLAT_K
        return flat and abs(_slope(before[-BEHIND:])) > BREAK_K_H


def _slope(values: Sequence[float]) -> float:
    """Give the straight line's slope through spells, K/h."""
    count = len(values)
    if count < 2:
        return 0.0
    times = (np.arange(count) - (count - 1) / 2.0) * SPELL_H
    return float(times @ np.asarray(values) / (times @ times))
