"""Bands as far as members lie apart, made as much wider or narrower as was found to be true.

Members carry errors that mostly do not come together, so they often lie wider apart than they miss
the truth by, and sometimes closer. How much so was measured on simulated runs for tuning, and
stands beside each kind of estimate (`widths`); a band keeps its middle and its lopsidedness.
"""

from collections.abc import Mapping
from math import inf
from typing import Final

from api.estimates.quantiles import quantiles
from calc.quantities import FloatArray

# Of a width. No simulated crew is as various as people, and no plant as theirs: a band is never
# trusted to be more than so much too wide.
NARROWEST: Final = 0.4
AS_THEY_LIE: Final = (1.0, 1.0)

# By a quantity and two things more that tell its estimates apart: of the 68 and of the 95 % band.
Widths = Mapping[tuple[str, str, str], tuple[float, float]]


def widened(
    values: FloatArray,
    widths: tuple[float, float] = AS_THEY_LIE,
    *,
    least: float = 0.0,
    most: float = inf,
) -> list[float]:
    """Return the ends of both bands and the middle, lowest first, kept to what can be."""
    low, low_68, middle, high_68, high = quantiles(values)
    by_68, by_95 = widths
    below, above = by_68 * (middle - low_68), by_68 * (high_68 - middle)
    ends = [
        middle - max(by_95 * (middle - low), below),
        middle - below,
        middle,
        middle + above,
        middle + max(by_95 * (high - middle), above),
    ]
    return [min(max(one, least), most) for one in ends]
