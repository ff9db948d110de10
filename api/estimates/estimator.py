"""What every estimator does: one stage in one vessel, from its beginning to now."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal, Protocol, TypeVar

from api.estimates.estimate import Estimate
from api.estimates.ground import ProbeGround

STEP_S = 10  # an estimator is stepped with ten seconds' means
MEASURED_HPA: Final = 0.7  # what a barometer is wrong by, one standard error

PressureBy = Literal["barometer", "entered", "altitude"]

Ground_contra = TypeVar("Ground_contra", contravariant=True)


@dataclass(frozen=True, slots=True)
class Step:
    """Ten seconds of readings: means by place; None where there was no good one.

    `values` holds pot, head, column, coolant_in, coolant_out, reflux_out, spout, mash, ferment, and
    room where the house has one; a place without a probe is missing. Steps come in order; a gap is
    a gap between their slots.
    """

    slot: int  # of the last scan in it
    values: Mapping[str, float | None]
    pressure_hpa: float | None = None  # None: nobody has said even how high the house stands
    pressure_by: PressureBy = "barometer"
    pressure_error_hpa: float = MEASURED_HPA  # of the air's, one standard error
    coolant_flow_l_min: float | None = None


class Estimator(Protocol[Ground_contra]):
    """Tells what one stage's temperatures mean."""

    def know(self, ground: Ground_contra, probes: Mapping[str, ProbeGround]) -> None:
        """Take what the record says now; what it says of the past may have changed."""

    def see(self, steps: Iterable[Step]) -> None:
        """Take steps, newest last."""

    def tell(self) -> tuple[Estimate, ...]:
        """Return every quantity as of the newest step."""
