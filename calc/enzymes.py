"""Enzymes of the mash, each with the range in which it works."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from calc.quantities import TEMPERATURE, Quantity, checked

Enzyme = Literal[
    "beta-amylase",
    "alpha-amylase",
    "limit-dextrinase",
    "beta-glucanase",
    "protease",
    "added-hot-alpha-amylase",
    "added-fungal-alpha-amylase",
    "added-glucoamylase",
    "added-beta-glucanase",
    "added-pectinase",
]
PH = Quantity("ph", "pH", "", 2, 9)


@dataclass(frozen=True, slots=True)
class Range:
    """Where an enzyme works best, beyond what it is lost, and the pH it wants."""

    best_c: tuple[float, float]
    lost_above_c: float
    ph: tuple[float, float]


# beta-amylase: summary of a paper of 1990 (largely lost after 30 min at 65 °C). The rest from
# memory. Added enzymes differ from maker to maker: their data sheet decides.
ENZYMES: Mapping[str, Range] = {
    "beta-amylase": Range((60, 65), 65, (5.2, 5.6)),
    "alpha-amylase": Range((68, 72), 78, (5.3, 5.8)),
    "limit-dextrinase": Range((58, 63), 65, (5.2, 5.6)),
    "beta-glucanase": Range((40, 48), 55, (4.5, 5.5)),
    "protease": Range((45, 55), 60, (4.6, 5.4)),
    "added-hot-alpha-amylase": Range((80, 90), 100, (5.5, 6.5)),
    "added-fungal-alpha-amylase": Range((50, 58), 65, (4.8, 5.6)),
    "added-glucoamylase": Range((55, 62), 68, (4.0, 5.0)),
    "added-beta-glucanase": Range((45, 60), 70, (4.5, 6.0)),
    "added-pectinase": Range((15, 50), 55, (3.0, 5.0)),
}


@dataclass(frozen=True, slots=True)
class EnzymeRange:
    """What an enzyme does at a temperature, and where it would do best."""

    verdict: str
    best_low_c: Annotated[float, TEMPERATURE.called("Best from")]
    best_high_c: Annotated[float, TEMPERATURE.called("Best up to")]
    lost_above_c: Annotated[float, TEMPERATURE.called("Lost above")]
    ph_low: Annotated[float, PH.called("pH from")]
    ph_high: Annotated[float, PH.called("pH up to")]


@checked
def enzyme_at(
    enzyme: Enzyme, temperature_c: Annotated[float, TEMPERATURE.within(0, 110)]
) -> EnzymeRange:
    """Return what an enzyme does at a temperature of the mash.

    Parameters
    ----------
    enzyme : str
        One of malt's own, or one that is added.
    temperature_c : float
        Of the mash, 0 to 110 C.

    Returns
    -------
    EnzymeRange
        What it does there, where it works best, above what it is lost, and the pH it wants.

    Raises
    ------
    OutOfRangeError
        If the temperature is out of range.

    Notes
    -----
    A table of ranges. Loss takes minutes to half an hour, the faster the hotter.

    References
    ----------
    beta-amylase: summary of a paper of 1990; all others from memory. For an added enzyme the
    maker's data sheet decides.

    Examples
    --------
    >>> enzyme_at("beta-amylase", 63.0).verdict
    'works at its best'
    """
    found = ENZYMES[enzyme]
    return EnzymeRange(
        verdict=_verdict(found, temperature_c),
        best_low_c=found.best_c[0],
        best_high_c=found.best_c[1],
        lost_above_c=found.lost_above_c,
        ph_low=found.ph[0],
        ph_high=found.ph[1],
    )


def _verdict(found: Range, temperature_c: float) -> str:
    low, high = found.best_c
    if temperature_c > found.lost_above_c:
        return "is lost within minutes: let the mash cool before it goes in"
    if temperature_c > high:
        return "works fast but is dying"
    if temperature_c >= low:
        return "works at its best"
    return "works slowly"
