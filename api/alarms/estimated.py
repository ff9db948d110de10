"""What is estimated of a vessel, as the alarms see it."""

from collections.abc import Mapping
from dataclasses import dataclass

from api.estimates.estimate import Estimate


@dataclass(frozen=True, slots=True)
class Estimated:
    """A vessel's estimates by what they are of, and the slot they stand on."""

    slot: int
    by_quantity: Mapping[str, Estimate]
