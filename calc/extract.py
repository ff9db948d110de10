"""What is dissolved in a fermented wash beside its alcohol: the real extract.

A hydrometer in a wash reads too low for what is dissolved, as alcohol is lighter than water. Taken
together with the strength, the gravity tells what would be left if the alcohol were boiled off.
"""

from calc.alcoholometry import abw_from_abv, density
from calc.gravity import WATER_20C_KG_L, extract_of

_KG_M3 = 1000.0


def real_extract_g_l(sg: float, abv: float) -> float:
    """Return what is dissolved in a litre of a wash, in grams, from its gravity and strength.

    Parameters
    ----------
    sg : float
        Of the wash with its alcohol, at 20 C against water at 20 C.
    abv : float
        Its strength, % vol at 20 C.

    Returns
    -------
    float
        Grams in a litre; 0 or more.

    Raises
    ------
    OutOfRangeError
        If the gravity left without the alcohol is out of range.

    Notes
    -----
    Without its alcohol, filled up with water, the wash would have the gravity sg + 1 - sg_a, with
    sg_a that of water and alcohol of its strength; extract by the wort tables.

    References
    ----------
    Tabarié (1830), as in OIV-MA-AS2-03B, Total dry matter (from memory); OIML R 22 (1975); ASBC
    Methods of Analysis, tables related to wort.

    Examples
    --------
    >>> round(real_extract_g_l(1.0078, 5.39))
    40
    """
    light = float(density(abw_from_abv(abv), 20.0)) / (WATER_20C_KG_L * _KG_M3)
    return max(extract_of(sg + 1.0 - light).extract_g_l, 0.0)
