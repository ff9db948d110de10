"""How far a wort has fermented, and the alcohol in it, from its gravity before and after.

Balling's relation was made for beer. A wash of sugar leaves less behind, so that its alcohol is
worked out from the mass instead: see `calc.sugar_wash`.
"""

from dataclasses import dataclass
from typing import Annotated

from calc.alcoholometry import density
from calc.errors import OutOfRangeError
from calc.gravity import WATER_20C_KG_L, plato_from_sg
from calc.quantities import ABW_FRACTION, PERCENT, PLATO, SG, WASH_STRENGTH, Quantity, checked

ORIGINAL_SG = SG.within(1.005, 1.18).called("Original gravity")
# Balling's own table ends at 30 °P (from memory).
BALLING_SG = ORIGINAL_SG.within(1.005, 1.130)
FINAL_SG = SG.called("Final gravity")
# Apparent attenuation passes 100 % where the gravity falls below that of water.
ATTENUATION = Quantity("attenuation_percent", "Attenuation", "%", 0, 150)

OriginalSg = Annotated[float, ORIGINAL_SG]
FinalSg = Annotated[float, FINAL_SG]


@dataclass(frozen=True, slots=True)
class Attenuation:
    """What has gone of a wort's extract, apparently and really."""

    apparent_attenuation_percent: Annotated[float, ATTENUATION.called("Apparent attenuation")]
    real_attenuation_percent: Annotated[float, PERCENT.called("Real attenuation")]
    original_plato: Annotated[float, PLATO.called("Original extract")]
    apparent_plato: Annotated[float, PLATO.called("Apparent extract")]
    real_plato: Annotated[float, PLATO.called("Real extract")]


@dataclass(frozen=True, slots=True)
class Alcohol:
    """The alcohol of a fermented wort."""

    abv: Annotated[float, WASH_STRENGTH]
    abw_fraction: Annotated[float, ABW_FRACTION]
    real_plato: Annotated[float, PLATO.called("Real extract")]


@checked
def attenuation(original_sg: Annotated[float, BALLING_SG], final_sg: FinalSg) -> Attenuation:
    """Return how much of a malt or grain wort's extract has fermented.

    Parameters
    ----------
    original_sg : float
        Before fermentation, at 20 C, 1.005 to 1.13.
    final_sg : float
        Now, at 20 C and with its gas shaken out; no higher than the original.

    Returns
    -------
    Attenuation
        Apparent and real attenuation in percent, and original, apparent and real extract in
        degrees Plato.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the gravity has risen, or it is lower than any wort ends.

    Notes
    -----
    With the extracts OE and AE by the ASBC polynomial: apparent = (OE - AE) / OE. Alcohol makes
    AE look too small; Balling's real extract RE = 0.1808 OE + 0.8192 AE, and real = (OE - RE) /
    OE.

    References
    ----------
    Balling, C. J. N. (1865), Die Gährungschemie (relation from memory); ASBC Methods of
    Analysis (polynomial).

    Examples
    --------
    >>> round(attenuation(1.0484, 1.0078).real_attenuation_percent)
    68
    """
    original, apparent, real = _extracts(original_sg, final_sg)
    return Attenuation(
        apparent_attenuation_percent=100.0 * (original - apparent) / original,
        real_attenuation_percent=100.0 * (original - real) / original,
        original_plato=original,
        apparent_plato=apparent,
        real_plato=real,
    )


@checked
def alcohol_from_gravity(original_sg: Annotated[float, BALLING_SG], final_sg: FinalSg) -> Alcohol:
    """Return the alcohol of a fermented malt or grain wort from its gravities.

    Parameters
    ----------
    original_sg : float
        Before fermentation, at 20 C, 1.005 to 1.13.
    final_sg : float
        Now, at 20 C and with its gas shaken out; no higher than the original.

    Returns
    -------
    Alcohol
        Percent by volume at 20 C, mass fraction, and real extract in degrees Plato.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the gravity has risen, or it is lower than any wort ends.

    Notes
    -----
    Balling: percent by mass = (OE - RE) / (2.0665 - 0.010665 OE), RE = 0.1808 OE + 0.8192 AE.
    Percent by volume = percent by mass x SG x rho(water) / rho(ethanol) at 20 C. It counts the
    yeast that grows in beer, so it reads 5 to 10 % of the alcohol low for a wash of plain sugar.

    References
    ----------
    Balling, C. J. N. (1865), Die Gährungschemie (relation from memory); ASBC Methods of
    Analysis (polynomial); OIML R 22 (1975), density of ethanol.

    Examples
    --------
    >>> round(alcohol_from_gravity(1.0484, 1.0078).abw_fraction, 4)
    0.0423
    """
    original, _, real = _extracts(original_sg, final_sg)
    abw = (original - real) / (2.0665 - 0.010665 * original) / 100.0
    abv = 100.0 * abw * final_sg * WATER_20C_KG_L * 1000.0 / density(1.0, 20.0)
    return Alcohol(abv=abv, abw_fraction=abw, real_plato=real)


def check_fell(original_sg: float, final_sg: float) -> None:
    """Refuse a final gravity above the original one.

    Raises
    ------
    OutOfRangeError
        If the gravity has risen.
    """
    if final_sg > original_sg:
        raise OutOfRangeError(
            f"Final gravity (final_sg) is {final_sg:.4f}, above the original {original_sg:.4f}; "
            "fermentation only lowers it. Are the two exchanged, or one read warm?",
            quantity="final_sg",
        )


def _extracts(original_sg: float, final_sg: float) -> tuple[float, float, float]:
    """Return original, apparent and real extract in degrees Plato."""
    check_fell(original_sg, final_sg)
    original, apparent = plato_from_sg(original_sg), plato_from_sg(final_sg)
    real = 0.1808 * original + 0.8192 * apparent
    if real < 0:
        raise OutOfRangeError(
            f"Final gravity (final_sg) is {final_sg:.4f}; no malt or grain wort of "
            f"{original_sg:.4f} ends so low. For a wash of sugar use the mass balance; otherwise "
            "check the hydrometer and the temperature.",
            quantity="final_sg",
        )
    return original, apparent, real
