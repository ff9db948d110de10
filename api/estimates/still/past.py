"""Where a run stood of late, to go back to: heat that goes off unmarked is seen minutes later."""

from dataclasses import dataclass, field
from typing import Final

from calc.quantities import FloatArray

_REMEMBERED: Final = 30  # blocks


@dataclass(frozen=True, slots=True)
class Moment:
    """What to go back to."""

    block: int  # counted
    slot: int
    pot_c: float
    s: FloatArray


@dataclass(slots=True)
class Past:
    """The moments of the last quarter of an hour."""

    _blocks: int = 0
    _moments: list[Moment] = field(default_factory=list)

    def copy(self) -> "Past":
        """Return one that goes on by itself."""
        return Past(self._blocks, self._moments[:])

    def keep(self, slot: int, pot_c: float, s: FloatArray) -> None:
        """Keep one; heat is off since the pot was hottest, so a cooler one is of no use."""
        self._blocks += 1
        oldest = self._blocks - _REMEMBERED
        kept = [one for one in self._moments if one.block > oldest and one.pot_c >= pot_c]
        self._moments = [*kept, Moment(self._blocks, slot, pot_c, s.copy())]

    def at(self, slot: int) -> Moment | None:
        """Return the newest that is not later; None where there is none."""
        kept = [one for one in self._moments if one.slot <= slot]
        return kept[-1] if kept else None

    def forget(self) -> None:
        """Keep none of them."""
        self._moments = []
