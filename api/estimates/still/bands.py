"""How far a still's bands reach, by quantity, kind of run and phase."""

from math import inf
from typing import Final, Literal

from api.estimates.still.widths import WIDTHS
from api.estimates.widening import AS_THEY_LIE, widened
from calc.quantities import FloatArray

Phase = Literal["heating", "early", "late", "cooling"]
LATE_LEFT_SHARE: Final = 0.28  # of the alcohol, in the pot: some half of the time it runs
STRONGEST_ABV: Final = 97.5  # beyond any azeotrope


def phase_of(*, dripping: bool, boiled: bool, heating: bool, left_share: float) -> Phase:
    """Say in which phase a run is, as `widths` tells them apart; of the alcohol a share is left."""
    if boiled and not heating:
        return "cooling"
    if not dripping:
        return "heating"
    return "early" if left_share > LATE_LEFT_SHARE else "late"


def band(quantity: str, purpose: str, phase: Phase, values: FloatArray) -> list[float]:
    """Return the ends of both bands and the middle, lowest first, kept to what can be."""
    kind = "strip" if purpose == "strip" else "spirit"
    widths = WIDTHS.get((quantity, kind, phase), AS_THEY_LIE)
    most = STRONGEST_ABV if quantity.endswith("_abv") else inf
    return widened(values, widths, most=most)
