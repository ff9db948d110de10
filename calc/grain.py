"""What each grain brings to a mash: starch that gelatinises, extract, enzymes and water.

Where the figure comes from is marked beside it. (R) is retrieved: gelatinisation from the table of
the Institute of Brewing, quoted in 1996; diastatic power of barley malts from a trade magazine of
2016. (M) is from memory, (P) common practice, no source. A maltster's or miller's certificate for
the lot is better than any of them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from calc.errors import QuantityError

Grain = Literal[
    "pale-malt",
    "distillers-malt",
    "munich-malt",
    "crystal-malt",
    "wheat-malt",
    "rye-malt",
    "barley",
    "wheat",
    "rye",
    "oats",
    "maize",
    "rice",
    "sorghum",
    "potatoes",
    "flaked-barley",
    "flaked-wheat",
    "flaked-rye",
    "flaked-oats",
    "flaked-maize",
    "flaked-rice",
    "potato-flakes",
]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of grain, as it comes in the sack.

    Attributes
    ----------
    gelatinises_c : (float, float)
        Between which temperatures its starch swells and opens to enzymes.
    extract_percent : (float, float)
        What of its mass dissolves when mashed in the laboratory: low and high.
    diastatic_power_lintner : float
        Typical of the kind; 0 for anything unmalted.
    moisture_percent : float
        Typical of the kind, for the heat it takes up.
    cooked : bool
        Gelatinised before it comes: flakes.
    """

    gelatinises_c: tuple[float, float]
    extract_percent: tuple[float, float]
    diastatic_power_lintner: float = 0.0
    moisture_percent: float = 12.0
    cooked: bool = False


BARLEY_C = (61.0, 62.0)  # R
WHEAT_C = (52.0, 54.0)  # R
RYE_C = (57.0, 70.0)  # M
OATS_C = (53.0, 62.0)  # M
MAIZE_C = (70.0, 75.0)  # R
SORGHUM_C = (70.0, 75.0)  # R
RICE_C = (68.0, 75.0)  # R
POTATO_C = (56.0, 69.0)  # R

# Diastatic power: pale 110-130 and distillers' at least 240 (R); the other malts (M); nothing
# unmalted counts (P). Extract and moisture: (M).
GRAINS: Mapping[str, Kind] = {
    "pale-malt": Kind(BARLEY_C, (76, 79), 120, 4),
    "distillers-malt": Kind(BARLEY_C, (76, 79), 240, 4.5),
    "munich-malt": Kind(BARLEY_C, (75, 78), 50, 4),
    "crystal-malt": Kind(BARLEY_C, (70, 74), 0, 4, cooked=True),
    "wheat-malt": Kind(WHEAT_C, (80, 84), 150, 5),
    "rye-malt": Kind(RYE_C, (78, 82), 100, 5),
    "barley": Kind(BARLEY_C, (65, 70)),
    "wheat": Kind(WHEAT_C, (70, 76)),
    "rye": Kind(RYE_C, (67, 73)),
    "oats": Kind(OATS_C, (50, 58)),
    "maize": Kind(MAIZE_C, (71, 77)),
    "rice": Kind(RICE_C, (76, 82)),
    "sorghum": Kind(SORGHUM_C, (69, 75)),
    "potatoes": Kind(POTATO_C, (16, 20), moisture_percent=77),
    "flaked-barley": Kind(BARLEY_C, (66, 72), moisture_percent=9, cooked=True),
    "flaked-wheat": Kind(WHEAT_C, (73, 78), moisture_percent=9, cooked=True),
    "flaked-rye": Kind(RYE_C, (71, 77), moisture_percent=9, cooked=True),
    "flaked-oats": Kind(OATS_C, (65, 75), moisture_percent=9, cooked=True),
    "flaked-maize": Kind(MAIZE_C, (82, 86), moisture_percent=9, cooked=True),
    "flaked-rice": Kind(RICE_C, (82, 86), moisture_percent=9, cooked=True),
    "potato-flakes": Kind(POTATO_C, (70, 78), moisture_percent=7, cooked=True),
}


def grain_kind(name: str) -> Kind:
    """Return what is known of a grain.

    Raises
    ------
    QuantityError
        If it is not in the table.

    Examples
    --------
    >>> grain_kind("maize").gelatinises_c
    (70.0, 75.0)
    """
    if name not in GRAINS:
        raise QuantityError(
            f"grains has {name!r}; choose among {', '.join(GRAINS)}.", quantity="grains"
        )
    return GRAINS[name]
