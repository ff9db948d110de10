"""Specific gravity and extract in degrees Plato.

Specific gravity is taken against water at 20 C (20/20) unless said otherwise.
"""

from dataclasses import dataclass
from typing import Annotated

from calc.errors import OutOfRangeError
from calc.quantities import (
    BULK_MASS,
    SG,
    Plato,
    Quantity,
    Sg,
    VolumeL,
    checked,
    elementwise,
)
from calc.solve import root

# Plato against specific gravity, from the constant term up. ASBC Methods of Analysis, tables
# related to wort, beer and brewing sugars (from Goldiner and Klemann's tables).
ASBC = (-616.868, 1111.14, -630.272, 135.997)
WATER_20C_KG_L = 0.99820  # Kell (1975), as `calc.hydrometer.water_density` gives it
# The polynomial rises steadily a little beyond the range we take, so that its ends are found too.
BEYOND = 0.01
ROUNDING = 1e-9
SUGAR_CONTENT = Quantity("extract_g_l", "Extract in a litre", "g/L", -100, 600)


@dataclass(frozen=True, slots=True)
class Extract:
    """What a gravity says of the extract dissolved."""

    plato: Plato
    extract_g_l: Annotated[float, SUGAR_CONTENT]


@elementwise
def plato_from_sg(sg: Sg) -> Plato:
    """Return the extract in degrees Plato that goes with a specific gravity.

    Parameters
    ----------
    sg : float or numpy array of float
        At 20 C against water at 20 C, 0.975 to 1.18.

    Returns
    -------
    float or numpy array of float
        Grams of extract in 100 g; negative below the gravity of water, as apparent extract is.

    Raises
    ------
    OutOfRangeError
        If the gravity is out of range.

    Notes
    -----
    P = -616.868 + 1111.14 SG - 630.272 SG^2 + 135.997 SG^3. Made from tables that end near 20 P;
    up to 40 P it stays within 0.15 P of the sucrose tables.

    References
    ----------
    American Society of Brewing Chemists, Methods of Analysis (8th edition 1992, from memory),
    tables related to wort, beer and brewing sugars (polynomial fit).

    Examples
    --------
    >>> round(plato_from_sg(1.040), 2)
    9.99
    """
    return _plato(sg)


@elementwise
def sg_from_plato(plato: Plato) -> Sg:
    """Return the specific gravity that goes with an extract in degrees Plato.

    Parameters
    ----------
    plato : float or numpy array of float
        Grams of extract in 100 g, -6.7 to 40.2.

    Returns
    -------
    float or numpy array of float
        At 20 C against water at 20 C.

    Raises
    ------
    OutOfRangeError
        If the extract is out of range.

    Notes
    -----
    Solves the ASBC polynomial for SG, to 1e-14, so that there and back is the same number.

    References
    ----------
    American Society of Brewing Chemists, Methods of Analysis (8th edition 1992, from memory),
    tables related to wort, beer and brewing sugars (polynomial fit).

    Examples
    --------
    >>> round(sg_from_plato(12.0), 4)
    1.0484
    """
    return _sg(plato)


@checked
def extract_of(sg: Sg) -> Extract:
    """Return the extract of a wort or sugar solution, by mass and in a litre.

    Parameters
    ----------
    sg : float
        At 20 C against water at 20 C, 0.975 to 1.18.

    Returns
    -------
    Extract
        Degrees Plato, and grams in a litre.

    Raises
    ------
    OutOfRangeError
        If the gravity is out of range.

    Notes
    -----
    P = -616.868 + 1111.14 SG - 630.272 SG^2 + 135.997 SG^3; grams in a litre = 10 P x SG x
    0.9982. Once there is alcohol the figures are apparent, not what is really dissolved.

    References
    ----------
    American Society of Brewing Chemists, Methods of Analysis (8th edition 1992, from memory),
    tables related to wort, beer and brewing sugars (polynomial fit).

    Examples
    --------
    >>> round(extract_of(1.0386).extract_g_l)
    100
    """
    plato = _plato(sg)
    return Extract(plato=plato, extract_g_l=10.0 * plato * sg * WATER_20C_KG_L)


@checked
def sg_from_extract(
    extract_kg: Annotated[float, BULK_MASS.called("Extract dissolved")],
    volume_l: VolumeL,
) -> Sg:
    """Return the specific gravity of a wort of known volume that holds a mass of extract.

    Parameters
    ----------
    extract_kg : float
        Sugar or other extract dissolved in it.
    volume_l : float
        Of the finished wort at 20 C.

    Returns
    -------
    float
        At 20 C against water at 20 C.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the wort would be thicker than SG 1.18.

    Notes
    -----
    Solves P(SG)/100 x SG x 0.9982 x volume = extract for SG.

    References
    ----------
    American Society of Brewing Chemists, Methods of Analysis (8th edition 1992, from memory),
    tables related to wort, beer and brewing sugars (polynomial fit).

    Examples
    --------
    One kilogram of sucrose in 10 L of wort.

    >>> round(sg_from_extract(1.0, 10.0), 4)
    1.0386
    """
    return sg_holding(extract_kg, volume_l, "extract_kg")


def sg_holding(mass_kg: float, volume_l: float, name: str) -> float:
    """Return the gravity of a volume that holds a mass of extract, given under that name.

    Raises
    ------
    OutOfRangeError
        If it would be thicker than SG 1.18.
    """
    if mass_kg > _kg_per_litre(SG.high) * volume_l * (1.0 + ROUNDING):
        raise OutOfRangeError(
            f"Dissolved extract ({name}) is {mass_kg:.4g} kg in {volume_l:.4g} L; a wort of SG "
            f"{SG.high:g} holds {_kg_per_litre(SG.high) * volume_l:.4g} kg. Use more water.",
            quantity=name,
        )
    per_litre = mass_kg / volume_l if volume_l else 0.0
    found: float = root(lambda sg: _kg_per_litre(sg) - per_litre, SG.low, SG.high + BEYOND)
    return found


# The insides are written for one value or for many, unchecked.
def _plato(sg: float) -> float:
    a, b, c, d = ASBC
    return a + sg * (b + sg * (c + sg * d))


def _sg(plato: float) -> float:
    found: float = root(lambda sg: _plato(sg) - plato, SG.low - BEYOND, SG.high + BEYOND)
    return found


def _kg_per_litre(sg: float) -> float:
    return _plato(sg) / 100.0 * sg * WATER_20C_KG_L
