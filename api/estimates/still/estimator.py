"""A still's run, told from its temperatures and its record."""

from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime

from api.estimates.estimate import Estimate
from api.estimates.estimator import Step
from api.estimates.ground import ProbeGround, RunGround, StillGround
from calc.vapour_strength import StrengthEstimate, pot_strength, vapour_strength

_SEA_LEVEL_HPA = 1013.25


def hour_utc(slot: int) -> str:
    """Say when a slot was, where nobody said how."""
    return datetime.fromtimestamp(slot, UTC).strftime("%H:%M")


class StillEstimator:
    """Tells what one run's temperatures mean; `hour` says in words when a slot was."""

    def __init__(self, still: StillGround, hour: Callable[[int], str] = hour_utc) -> None:
        self._still = still
        self._hour = hour
        self._newest: Step | None = None
        self._probes: Mapping[str, ProbeGround] = {}

    def know(self, run: RunGround, probes: Mapping[str, ProbeGround]) -> None:
        """Take what the record says now; what it says of the past may have changed."""
        self._run, self._probes = run, probes

    def see(self, steps: Iterable[Step]) -> None:
        """Take steps, newest last."""
        for step in steps:
            self._newest = step

    def tell(self) -> tuple[Estimate, ...]:
        """Return every quantity as of the newest step."""
        step = self._newest
        if step is None:
            return ()
        hpa = step.pressure_hpa or _SEA_LEVEL_HPA
        head, pot = step.values.get("head"), step.values.get("pot")
        return (
            _told("vapour_abv", None if head is None else vapour_strength(head, hpa)),
            _told("pot_abv", None if pot is None else pot_strength(pot, hpa)),
        )


def _told(quantity: str, found: StrengthEstimate | None) -> Estimate:
    if found is None:
        return Estimate(quantity, None, None, None, "There is no good reading there.")
    return Estimate(quantity, found.abv, found.abv_low, found.abv_high, found.why)
