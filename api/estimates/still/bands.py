"""How far a still's bands reach: as its members lie, and as far as that was found to be true.

The members carry errors that in most runs do not come together, so they mostly lie wider apart
than they miss the truth by, and sometimes closer. `widths` says by how much, for each quantity,
kind of run and phase, in simulated runs for tuning; a band keeps its middle and its lopsidedness.
"""

from math import inf
from typing import Final, Literal

from api.estimates.quantiles import quantiles
from api.estimates.still.widths import WIDTHS
from calc.quantities import FloatArray

Phase = Literal["heating", "running", "cooling"]
STRONGEST_ABV: Final = 97.5  # beyond any azeotrope
# Of a width. No simulated crew is as various as people, and no plant as stills: a band is never
# trusted to be more than so much too wide.
NARROWEST: Final = 0.4
_AS_THEY_LIE: Final = (1.0, 1.0)


def phase_of(*, dripping: bool, boiled: bool, heating: bool) -> Phase:
    """Say in which phase a run is, as `widths` tells them apart."""
    if boiled and not heating:
        return "cooling"
    return "running" if dripping else "heating"


def band(quantity: str, purpose: str, phase: Phase, values: FloatArray) -> list[float]:
    """Return the ends of both bands and the middle, lowest first."""
    low, low_68, middle, high_68, high = quantiles(values)
    kind = "strip" if purpose == "strip" else "spirit"
    by_68, by_95 = WIDTHS.get((quantity, kind, phase), _AS_THEY_LIE)
    below, above = by_68 * (middle - low_68), by_68 * (high_68 - middle)
    ends = [
        middle - max(by_95 * (middle - low), below),
        middle - below,
        middle,
        middle + above,
        middle + max(by_95 * (high - middle), above),
    ]
    return _within(quantity, ends)


def _within(quantity: str, ends: list[float]) -> list[float]:
    """Keep a band to what can be."""
    if quantity.startswith("minutes_"):
        return ends
    most = STRONGEST_ABV if quantity.endswith("_abv") else inf
    return [min(max(one, 0.0), most) for one in ends]
