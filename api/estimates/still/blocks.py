"""Ten-second steps gathered into half minutes, and kept for going through them again."""

from collections.abc import Iterator, Sequence

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
        last = steps[-1]
        alike = [one for one in steps if one.pressure_by == last.pressure_by == "barometer"]
        block = Block(
            slot=last.slot,
            pot_c=_mean([step.values.get("pot") for step in steps]),
            head_c=_mean([step.values.get("head") for step in steps]),
            room_c=_mean([step.values.get("room") for step in steps]),
            hpa=_mean([step.pressure_hpa for step in alike or (last,)]),
            hpa_by=last.pressure_by,
            hpa_error=last.pressure_error_hpa,
        )
        self.kept.append(block)
        return block


def _mean(values: Sequence[float | None]) -> float | None:
    good = [value for value in values if value is not None]
    return sum(good) / len(good) if good else None
