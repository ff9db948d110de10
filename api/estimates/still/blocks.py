"""Ten-second steps gathered into half minutes, and kept for going through them again."""

from collections.abc import Iterator

from api.estimates.estimator import Step
from api.estimates.still.signs import BLOCK_S, Block


class Blocks:
    """Gathers; a block is whole when a step of the next one comes."""

    def __init__(self) -> None:
        self.kept: list[Block] = []
        self._open: list[Step] = []

    def take(self, step: Step) -> Iterator[Block]:
        """Take a step; gives the block that it completes."""
        if self._open and step.slot <= self._open[-1].slot:
            return  # a clock that went back brings no new time
        if self._open and step.slot // BLOCK_S != self._open[-1].slot // BLOCK_S:
            yield self._close()
        self._open.append(step)

    def _close(self) -> Block:
        steps, self._open = self._open, []
        block = Block(
            slot=steps[-1].slot,
            pot_c=_mean([step.values.get("pot") for step in steps]),
            head_c=_mean([step.values.get("head") for step in steps]),
            room_c=_mean([step.values.get("room") for step in steps]),
            hpa=_mean([step.pressure_hpa for step in steps]),
            hpa_measured=all(step.pressure_measured for step in steps),
        )
        self.kept.append(block)
        return block


def _mean(values: list[float | None]) -> float | None:
    good = [value for value in values if value is not None]
    return sum(good) / len(good) if good else None
