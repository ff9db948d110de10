"""What is not known of a mash, drawn once: the same sample every time."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import default_rng

from api.estimates.estimate import Estimate
from api.estimates.ground import ProbeGround
from api.estimates.quantiles import quantiles
from calc.quantities import FloatArray

MEMBERS: Final = 400
SEED: Final = 8
UNEVEN_K: Final = 0.03  # between the probe and a mash that is stirred well
SHARE_ERROR: Final = 0.025  # of what the mash takes up: its moisture, its measures


@dataclass(frozen=True, slots=True)
class Sample:
    """A number a member for each thing that is not known."""

    offset_c: FloatArray  # what the probe shows too much
    rate: FloatArray  # in standard errors
    vessel: FloatArray  # 0 to 1 between the lightest and the heaviest
    share: FloatArray  # factor of the mash's own heat
    gap: FloatArray  # 0 to 1, of the minutes nobody read


def drawn(probe: ProbeGround) -> Sample:
    """Draw it."""
    chance = default_rng(SEED)
    normal = chance.standard_normal((3, MEMBERS))
    normal -= normal.mean(axis=1, keepdims=True)
    even = chance.random((2, MEMBERS))
    return Sample(
        offset_c=float(np.hypot(probe.error_c, UNEVEN_K)) * normal[0],
        rate=normal[1],
        vessel=even[0],
        share=1.0 + SHARE_ERROR * normal[2],
        gap=even[1],
    )


def band(
    name: str, values: FloatArray, rests_on: Sequence[str] = (), narrows: Sequence[str] = ()
) -> Estimate:
    """Give the middle of the members and their bands."""
    low, low_68, middle, high_68, high = quantiles(values)
    return Estimate(name, middle, low, high, None, low_68, high_68, tuple(rests_on), tuple(narrows))


def cannot(
    name: str, why: str, rests_on: Sequence[str] = (), narrows: Sequence[str] = ()
) -> Estimate:
    """Say why it cannot be told."""
    return Estimate(name, None, None, None, why, rests_on=tuple(rests_on), narrows=tuple(narrows))
