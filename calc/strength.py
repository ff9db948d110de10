"""One strength said in every way the trade says it."""

from dataclasses import dataclass
from typing import Annotated

from calc.alcoholometry import (
    SIXTY_F,
    abv_from_abw,
    abw_from_abv,
    abw_from_mole_fraction,
    density,
    mole_fraction_from_abw,
)
from calc.quantities import (
    ABV,
    DENSITY,
    REFERENCE_TEMPERATURE,
    Abv,
    AbwFraction,
    EthanolMoleFraction,
    UsProof,
    checked,
)


@dataclass(frozen=True, slots=True)
class Strength:
    """The strength of one mixture of ethanol and water, in every way it is said."""

    abv: Abv
    abv_at_60_f: Annotated[float, ABV.called("Strength at 60 °F")]
    us_proof: UsProof
    abw_fraction: AbwFraction
    ethanol_mole_fraction: EthanolMoleFraction
    density_kg_m3: Annotated[float, DENSITY.called("Density at 20 °C")]


@checked
def strength_from_abv(
    abv: Annotated[float, ABV.called("Strength at the reference temperature")],
    reference_temperature_c: Annotated[
        float, REFERENCE_TEMPERATURE.called("Temperature the strength refers to")
    ] = 20.0,
) -> Strength:
    """Return a strength by volume in every other way it is said.

    Parameters
    ----------
    abv : float
        Percent by volume at the reference temperature, 0 to 100.
    reference_temperature_c : float
        20 C by law in most places, 15.56 C (60 F) in the United States, 15 C on old instruments.

    Returns
    -------
    Strength
        Percent by volume at 20 C and at 60 F, US proof, by mass, by mole, and the density.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    q = 100 p rho(p, T) / rho(1, T) solved for the mass fraction p; US proof is twice q at 60 F.

    References
    ----------
    OIML R 22 (1975); 27 CFR 30.11 (proof).

    Examples
    --------
    >>> round(strength_from_abv(40.0, 15.56).abv, 2)
    40.07
    """
    return strength(abw_from_abv(abv, reference_temperature_c))


@checked
def strength_from_us_proof(us_proof: UsProof) -> Strength:
    """Return US proof in every other way strength is said.

    Parameters
    ----------
    us_proof : float
        0 to 200.

    Returns
    -------
    Strength
        Percent by volume at 20 C and at 60 F, US proof, by mass, by mole, and the density.

    Raises
    ------
    OutOfRangeError
        If the proof is out of range.

    Notes
    -----
    Twice the percent by volume at 60 F (15.56 C).

    References
    ----------
    27 CFR 30.11 (proof); OIML R 22 (1975).

    Examples
    --------
    >>> round(strength_from_us_proof(80.0).abv, 2)
    40.07
    """
    return strength(abw_from_abv(us_proof / 2.0, SIXTY_F))


@checked
def strength_from_abw(abw_fraction: AbwFraction) -> Strength:
    """Return a strength by mass in every other way it is said.

    Parameters
    ----------
    abw_fraction : float
        Mass of ethanol in a mass of mixture, 0 to 1.

    Returns
    -------
    Strength
        Percent by volume at 20 C and at 60 F, US proof, by mass, by mole, and the density.

    Raises
    ------
    OutOfRangeError
        If the strength is out of range.

    Notes
    -----
    q = 100 p rho(p, T) / rho(1, T); US proof is twice q at 60 F.

    References
    ----------
    OIML R 22 (1975); 27 CFR 30.11 (proof).

    Examples
    --------
    >>> round(strength_from_abw(0.5).abv, 2)
    57.89
    """
    return strength(abw_fraction)


@checked
def strength_from_mole_fraction(ethanol_mole_fraction: EthanolMoleFraction) -> Strength:
    """Return a mole fraction of ethanol in every other way strength is said.

    Parameters
    ----------
    ethanol_mole_fraction : float
        Moles of ethanol in a mole of mixture, 0 to 1.

    Returns
    -------
    Strength
        Percent by volume at 20 C and at 60 F, US proof, by mass, by mole, and the density.

    Raises
    ------
    OutOfRangeError
        If the mole fraction is out of range.

    Notes
    -----
    p = 46.06844 x / (46.06844 x + 18.01528 (1 - x)), then by density.

    References
    ----------
    OIML R 22 (1975); IUPAC standard atomic weights (2021), doi 10.1515/pac-2019-0603.

    Examples
    --------
    >>> round(strength_from_mole_fraction(0.8943).abv, 1)
    97.2
    """
    return strength(abw_from_mole_fraction(ethanol_mole_fraction))


def strength(abw_fraction: float) -> Strength:
    """Return every way to say a strength by mass."""
    at_60_f = abv_from_abw(abw_fraction, SIXTY_F)
    return Strength(
        abv=abv_from_abw(abw_fraction),
        abv_at_60_f=at_60_f,
        us_proof=2.0 * at_60_f,
        abw_fraction=abw_fraction,
        ethanol_mole_fraction=mole_fraction_from_abw(abw_fraction),
        density_kg_m3=density(abw_fraction, 20.0),
    )
