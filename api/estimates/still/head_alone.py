"""What the head tells of a run whose pot has not been read: the vapour's strength, and no more."""

from collections.abc import Iterator
from typing import Final

from api.estimates.estimate import Estimate
from api.estimates.ground import ProbeGround
from api.estimates.measured import COVERS_95
from api.estimates.still import untold, words
from api.estimates.still.signs import Block, Signs
from api.estimates.still.weather import told_hpa
from calc.vapour_strength import vapour_strength

_OF: Final = "vapour_abv"
_WIDEST_HPA: Final = 200.0  # that calc takes for an error of the pressure


class HeadAlone:
    """Follows the signs until there is a pot to follow."""

    def __init__(self, probes: tuple[ProbeGround, ProbeGround]) -> None:
        self._signs, self._probe = Signs(probes), probes[1]
        self._block: Block | None = None

    def see(self, block: Block) -> None:
        """Take a block without a pot."""
        self._block = block
        air = told_hpa(block)
        self._signs.see(block, air.value, air.error, marked=None)

    def tell(self, seal_hpa: float) -> Estimate:
        """Tell the vapour's strength, or why not."""
        block = self._block
        if block is None:
            return _cannot(words.NOTHING_YET)
        why = untold.of_head(self._signs, block.slot, there=block.head_c is not None)
        if why is not None or block.head_c is None:
            return _cannot(why or words.NO_HEAD)
        air = told_hpa(block)
        error_hpa = min(COVERS_95 * air.error, _WIDEST_HPA)
        error_c = COVERS_95 * self._probe.error_c
        found = vapour_strength(block.head_c, air.value, error_c, error_hpa, seal_hpa)
        abv, low, high = found.abv, found.abv_low, found.abv_high
        if abv is None or low is None or high is None:
            return Estimate(_OF, None, low, high, found.why)
        return Estimate(
            _OF, abv, low, high,
            low_68=abv - (abv - low) / COVERS_95,
            high_68=abv + (high - abv) / COVERS_95,
            rests_on=tuple(filter(None, (words.FROM_HEAD, words.NO_POT, words.of_air(block)))),
            narrows=tuple(self._narrows(block)),
        )  # fmt: skip

    def _narrows(self, block: Block) -> Iterator[str]:
        yield words.READ_POT
        if not self._probe.calibrated:
            yield words.CALIBRATE.format(place="head")
        yield from words.to_know_air(block)


def _cannot(why: str) -> Estimate:
    return Estimate(_OF, None, None, None, why)
