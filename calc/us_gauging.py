"""Spirit by weight as United States practice gauges it: wine and proof gallons at 60 °F.

Its tables stand on the Bureau of Standards' densities of 1913, which lie a little above OIML R 22
towards absolute ethanol, and are used through factors printed to five digits.
"""

from dataclasses import dataclass
from typing import Annotated

from calc.alcoholometry import SIXTY_F, density
from calc.contents import PROOF_GALLONS, WeightInAirKg, weight_in_air
from calc.errors import OutOfRangeError
from calc.quantities import LB_KG, MASS, US_GALLON_L, US_PROOF, DensityKgM3, Quantity, checked
from calc.solve import root

# Weighing in air against brass, as 27 CFR part 30's tables assume.
AIR_KG_M3, BRASS_KG_M3 = 1.2226, 8400.0
# Absolute ethanol at 25 °C is 0.78506 of water at 4 °C by Osborne, McKelvy & Bearce, Bulletin of
# the Bureau of Standards 9 (1913) (from memory); R 22 says 784.954 kg/m³.
ETHANOL_EXCESS_KG_M3 = 0.78506 * 999.972 - 784.954
# The excess fades with strength as the Bureau's table from 45 to 85 % mass shows.
EXCESS_POWER = 3.5
FACTOR_DIGITS = 5

WINE_GALLONS = Quantity("us_wine_gal", "US wine gallons", "wine gal", 0, 1_000_000, 1)


@dataclass(frozen=True, slots=True)
class Gauge:
    """A weight of spirit in United States gallons, and the water that brings it down."""

    us_wine_gal: Annotated[float, WINE_GALLONS]
    us_proof_gal: Annotated[float, PROOF_GALLONS]
    water_in_air_kg: Annotated[float, MASS.called("Water to add, by the scale")]
    reached_us_proof: Annotated[float, US_PROOF.called("Proof with that water")]


@checked
def us_gauge(
    weight_in_air_kg: WeightInAirKg,
    us_proof: Annotated[float, US_PROOF.within(1, 200)],
    target_us_proof: Annotated[float, US_PROOF.within(1, 200).called("Proof to reach")]
    | None = None,
) -> Gauge:
    """Return the wine and proof gallons of a weight of spirit, and the water to a lower proof.

    Parameters
    ----------
    weight_in_air_kg : float
        What the scale shows for the spirit alone.
    us_proof : float
        Of the spirit, 1 to 200.
    target_us_proof : float, optional
        The proof to reach with water, at most the spirit's own.

    Returns
    -------
    Gauge
        US gallons at 60 F, proof gallons, the water by the scale (0 where none is asked), and the
        proof with it.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the proof to reach lies above the spirit's.

    Notes
    -----
    Gallons are the weight in pounds times gallons a pound, rounded to five digits as the tables
    print it. Density is OIML R 22's plus 0.084 p**3.5 kg/m3, p the mass fraction of ethanol: the
    Bureau of Standards' ethanol at p = 1. Water: W (f(from) / f(to) - 1), with f the proof gallons
    a pound.

    References
    ----------
    27 CFR 30.64 and table 4; Osborne, McKelvy & Bearce (1913), Bulletin of the Bureau of
    Standards 9; OIML R 22 (1975).

    Examples
    --------
    >>> found = us_gauge(81_000 * 0.45359237, 190.0)
    >>> round(found.us_wine_gal, 1), round(found.us_proof_gal, 1)
    (11921.6, 22650.8)
    """
    target = us_proof if target_us_proof is None else target_us_proof
    if target > us_proof:
        raise OutOfRangeError(
            f"Proof to reach (target_us_proof) is {target:g}; it must not lie above the spirit's "
            f"own, {us_proof:g}: water only weakens.",
            quantity="target_us_proof",
        )
    pounds = weight_in_air_kg / LB_KG
    held_a_lb, reached_a_lb = _proof_gallons_a_lb(us_proof), _proof_gallons_a_lb(target)
    return Gauge(
        us_wine_gal=pounds * _wine_gallons_a_lb(us_proof),
        us_proof_gal=pounds * held_a_lb,
        water_in_air_kg=weight_in_air_kg * (held_a_lb / reached_a_lb - 1.0),
        reached_us_proof=target,
    )


def us_density(abw_fraction: float, temperature_c: float = SIXTY_F) -> DensityKgM3:
    """Return the density of ethanol and water on the basis of the United States tables."""
    excess: float = ETHANOL_EXCESS_KG_M3 * abw_fraction**EXCESS_POWER
    return float(density(abw_fraction, temperature_c)) + excess


def _wine_gallons_a_lb(us_proof: float) -> float:
    kg_m3 = us_density(_abw(us_proof / 2))
    in_air_kg_m3 = float(weight_in_air(kg_m3, kg_m3, AIR_KG_M3, BRASS_KG_M3))
    return round(1000.0 * LB_KG / in_air_kg_m3 / US_GALLON_L, FACTOR_DIGITS)


def _proof_gallons_a_lb(us_proof: float) -> float:
    return round(_wine_gallons_a_lb(us_proof) * us_proof / 100, FACTOR_DIGITS)


def _abw(abv: float) -> float:
    pure = us_density(1.0)
    return float(root(lambda p: 100.0 * p * us_density(float(p)) / pure - abv, 0.0, 1.0))
