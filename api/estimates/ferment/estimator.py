"""The ferment estimator."""

from collections.abc import Iterable, Mapping
from typing import Final

from api.estimates.estimate import Estimate
from api.estimates.estimator import Step
from api.estimates.ground import FermentGround, ProbeGround

QUANTITIES: Final = (
    "heat_rate_w", "loss_w_per_k", "fermented_percent", "gravity_sg", "abv",
    "hours_to_peak", "hours_since_peak", "hours_to_end", "stuck_percent",
)  # fmt: skip


class FermentEstimator:
    """Tells what a ferment's temperatures mean."""

    def __init__(self) -> None:
        self._ground: FermentGround | None = None

    def know(self, ground: FermentGround, probes: Mapping[str, ProbeGround]) -> None:
        """Take what the record says now; what it says of the past may have changed."""
        self._ground = ground

    def see(self, steps: Iterable[Step]) -> None:
        """Take steps, newest last."""

    def tell(self) -> tuple[Estimate, ...]:
        """Return every quantity as of the newest step."""
        why = "Nothing has been read of it yet."
        return tuple(Estimate(name, None, None, None, why) for name in QUANTITIES)
