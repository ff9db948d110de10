"""The mash estimator."""

from collections.abc import Iterable, Mapping
from typing import Final

from api.estimates.estimate import Estimate
from api.estimates.estimator import Step
from api.estimates.ground import MashGround, ProbeGround

QUANTITIES: Final = (
    "rest_minutes", "minutes_to_fall_out", "heat_to_add_kj", "water_to_add_l",
)  # fmt: skip


class MashEstimator:
    """Tells what a mash's temperatures mean."""

    def __init__(self) -> None:
        self._ground: MashGround | None = None

    def know(self, ground: MashGround, probes: Mapping[str, ProbeGround]) -> None:
        """Take what the record says now; what it says of the past may have changed."""
        self._ground = ground

    def see(self, steps: Iterable[Step]) -> None:
        """Take steps, newest last."""

    def tell(self) -> tuple[Estimate, ...]:
        """Return every quantity as of the newest step."""
        why = "Nothing has been read of it yet."
        return tuple(Estimate(name, None, None, None, why) for name in QUANTITIES)
