"""What a run has passed: how much was collected when it stood at a share or at a strength.

Where it stood was known with an error then; over what the run went in the meantime, that is an
error of the litres.
"""

from dataclasses import dataclass, field
from typing import Final

from api.estimates.ground import Measured
from calc.arrays import median
from calc.quantities import FloatArray

_NEAR: Final = 10  # blocks on either side, over which a slope is taken


@dataclass(slots=True)
class Trail:
    """One row a block, since something runs: litres; shares over and spout, with their errors."""

    _litres: list[float] = field(default_factory=list)
    _shares: list[Measured] = field(default_factory=list)
    _spouts: list[Measured] = field(default_factory=list)

    def copy(self) -> "Trail":
        """Return one that goes on by itself."""
        return Trail(self._litres[:], self._shares[:], self._spouts[:])

    def note(self, litres: float, share: FloatArray, spout_abv: FloatArray) -> None:
        """Take where the members stand."""
        self._litres.append(litres)
        self._shares.append(Measured(float(share.mean()), float(share.std())))
        self._spouts.append(Measured(float(median(spout_abv)), float(spout_abv.std())))

    def at_share(self, share: float) -> Measured | None:
        """Return the litres when a share of the alcohol was over; None before that."""
        passed = next((i for i, one in enumerate(self._shares) if one.value >= share), None)
        return None if passed is None else self._at(passed, self._shares)

    def at_abv(self, abv: float) -> Measured | None:
        """Return the litres when the spout fell to a strength for good; None before that."""
        if not self._spouts or self._spouts[-1].value > abv:
            return None
        above = [i for i, one in enumerate(self._spouts) if one.value > abv]
        return self._at(above[-1] + 1, self._spouts) if above else Measured(0.0, 0.0)

    def _at(self, place: int, values: list[Measured]) -> Measured:
        first, last = max(place - _NEAR, 0), min(place + _NEAR, len(values) - 1)
        litres = self._litres[last] - self._litres[first]
        change = abs(values[last].value - values[first].value)
        error = values[place].error * litres / change if change > 0.0 else 0.0
        return Measured(self._litres[place], max(error, 0.0))
