"""Washes of plain sugar: what goes in comes out, by mass.

Balling's relation for beer reads 5 to 10 % of the alcohol too little here.
"""

from dataclasses import dataclass
from typing import Annotated

from calc.alcoholometry import abw_from_abv, density
from calc.attenuation import FinalSg, OriginalSg, check_fell
from calc.errors import OutOfRangeError
from calc.gravity import WATER_20C_KG_L, plato_from_sg, sg_holding
from calc.quantities import (
    BULK_MASS,
    BULK_VOLUME,
    PERCENT,
    PLATO,
    SG,
    WASH_ALCOHOL,
    WASH_STRENGTH,
    Quantity,
    checked,
)
from calc.solve import root
from calc.sugars import (
    CO2_PER_SUCROSE,
    ETHANOL_KG_L,
    ETHANOL_PER_SUCROSE,
    LITRES_PER_SUCROSE,
)

# Of the sugar that ferments, the share that becomes alcohol and gas; the rest becomes glycerol,
# acids and yeast. Pasteur (1860) found 51.1 of 53.8 parts (from memory).
TO_ALCOHOL = 0.95
# Yeast stops between 14 and 20 % vol (common practice, no source).
STRONGEST_WASH_ABV = 20.0

SUGAR_MASS = BULK_MASS.called("Sugar (sucrose)")
WASH_VOLUME = BULK_VOLUME.within(0.1, 1_000_000).called("Volume of the wash")
WASH_ABV = WASH_STRENGTH.within(0, STRONGEST_WASH_ABV).called("Strength of the wash")
YIELD = PERCENT.within(60, 100).called("Alcohol obtained, of what the sugar can give")
STARTING_SG = SG.called("Original gravity")
COMPLETE_SG = SG.within(0.96, 1.18).called("Gravity if all of it fermented")
RESIDUAL_SUGAR = Quantity("residual_sugar_g_l", "Sugar left", "g/L", 0, 600)

SugarMassKg = Annotated[float, SUGAR_MASS]
WashVolumeL = Annotated[float, WASH_VOLUME]
YieldPercent = Annotated[float, YIELD]


@dataclass(frozen=True, slots=True)
class SugarWash:
    """What a wash of plain sugar starts at and comes to."""

    pure_alcohol_l: Annotated[float, WASH_ALCOHOL]
    abv: Annotated[float, WASH_ABV]
    original_sg: Annotated[float, STARTING_SG]
    original_plato: Annotated[float, PLATO.called("Original extract")]


@dataclass(frozen=True, slots=True)
class SugarBill:
    """The sugar that a wash of a wanted strength takes."""

    sugar_mass_kg: Annotated[float, SUGAR_MASS]
    water_volume_l: Annotated[float, BULK_VOLUME.called("Water")]
    original_sg: Annotated[float, STARTING_SG]


@dataclass(frozen=True, slots=True)
class Fermented:
    """What a mass balance says of a wash of sugar."""

    abv: Annotated[float, WASH_STRENGTH]
    fermented_percent: Annotated[float, PERCENT.called("Sugar fermented")]
    residual_sugar_g_l: Annotated[float, RESIDUAL_SUGAR]
    complete_sg: Annotated[float, COMPLETE_SG]


@checked
def sugar_wash(
    sugar_mass_kg: SugarMassKg, volume_l: WashVolumeL, yield_percent: YieldPercent = 95.0
) -> SugarWash:
    """Return the alcohol and the original gravity of a wash of plain sugar.

    Parameters
    ----------
    sugar_mass_kg : float
        Sucrose, kilograms.
    volume_l : float
        Of the wash, sugar dissolved, at 20 C.
    yield_percent : float
        Of the alcohol that the sugar can give, 60 to 100; 85 to 92 in practice, 95 at best.

    Returns
    -------
    SugarWash
        Litres of pure alcohol, percent by volume, original gravity, degrees Plato.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the wash would be stronger than any yeast stands.

    Notes
    -----
    Sucrose + water = 4 ethanol + 4 CO2: 0.5383 kg or 0.682 L of ethanol from a kilogram. The
    volume is taken not to change; it shrinks by under 1 %, which makes the wash about 0.1 % vol
    stronger than said.

    References
    ----------
    Gay-Lussac's equation (1815) with IUPAC standard atomic weights (2021); ASBC Methods of
    Analysis (gravity); OIML R 22 (1975), density of ethanol; yield: common practice, no source.

    Examples
    --------
    >>> wash = sugar_wash(15.0, 80.0, 95.0)
    >>> round(wash.pure_alcohol_l, 2), round(wash.abv, 2)
    (9.72, 12.15)
    """
    original = sg_holding(sugar_mass_kg, volume_l, "sugar_mass_kg")
    pure_alcohol = LITRES_PER_SUCROSE * sugar_mass_kg * yield_percent / 100.0
    abv = 100.0 * pure_alcohol / volume_l
    check_wash_strength(abv, "sugar_mass_kg")
    return SugarWash(
        pure_alcohol_l=pure_alcohol,
        abv=abv,
        original_sg=original,
        original_plato=plato_from_sg(original),
    )


@checked
def sugar_for_strength(
    abv: Annotated[float, WASH_ABV],
    volume_l: WashVolumeL,
    yield_percent: YieldPercent = 95.0,
) -> SugarBill:
    """Return the sugar that a wash of a wanted strength takes.

    Parameters
    ----------
    abv : float
        Wanted, percent by volume at 20 C, 0 to 20.
    volume_l : float
        Of the wash, sugar dissolved, at 20 C.
    yield_percent : float
        Of the alcohol that the sugar can give, 60 to 100.

    Returns
    -------
    SugarBill
        Kilograms of sucrose, litres of water to dissolve it in, original gravity.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    The inverse of the sugar wash: 0.682 L of ethanol from a kilogram of sucrose. The water is
    the mass of the wash less that of its sugar.

    References
    ----------
    Gay-Lussac's equation (1815) with IUPAC standard atomic weights (2021); ASBC Methods of
    Analysis (gravity); OIML R 22 (1975), density of ethanol; yield: common practice, no source.

    Examples
    --------
    >>> round(sugar_for_strength(12.15, 80.0, 95.0).sugar_mass_kg, 1)
    15.0
    """
    sugar_mass_kg = abv / 100.0 * volume_l / (LITRES_PER_SUCROSE * yield_percent / 100.0)
    original = sg_holding(sugar_mass_kg, volume_l, "abv")
    return SugarBill(
        sugar_mass_kg=sugar_mass_kg,
        water_volume_l=original * volume_l - sugar_mass_kg / WATER_20C_KG_L,
        original_sg=original,
    )


@checked
def alcohol_by_mass(original_sg: OriginalSg, final_sg: FinalSg) -> Fermented:
    """Return the alcohol of a wash of sugar from its gravities, by mass balance.

    Parameters
    ----------
    original_sg : float
        Before fermentation, at 20 C, 1.005 to 1.18.
    final_sg : float
        Now, at 20 C and with its gas shaken out; no higher than the original.

    Returns
    -------
    Fermented
        Percent by volume at 20 C, how much of the sugar has fermented, grams of sugar left in a
        litre, and the gravity it would end at with all of it gone.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the gravity has risen, or it is lower than that of the
        wash with all its sugar gone.

    Notes
    -----
    A kilogram of wash holds P/100 kg of sugar. Of each kilogram that ferments, 95 % goes by
    Gay-Lussac's equation to 0.5383 kg/kg ethanol and 0.5143 kg/kg gas, which leaves; 5 % stays
    as glycerol, acids and yeast. The gravity of the rest follows Tabarie: that of the ethanol
    and water alone, plus that of the dissolved alone, less one. Solved for the sugar fermented;
    a gravity lower than full fermentation gives so is put down to more than 95 % becoming
    alcohol, up to all of it.

    References
    ----------
    OIV, Compendium of International Methods of Analysis, OIV-MA-AS2-03B (Tabarie's relation);
    Gay-Lussac's equation (1815); Pasteur (1860), yield, from memory; ASBC Methods of Analysis;
    OIML R 22 (1975).

    Examples
    --------
    >>> round(alcohol_by_mass(1.0720, 0.9900).abv, 1)
    11.9
    """
    check_fell(original_sg, final_sg)
    sugar = plato_from_sg(original_sg) / 100.0
    _check_not_below(original_sg, final_sg, _sg_at(sugar, 1.0))
    converted = _converted(sugar, final_sg)
    share = min(converted / TO_ALCOHOL, 1.0)  # beyond it more than 95 % went to alcohol
    return Fermented(
        abv=_abv(sugar, converted, final_sg),
        fermented_percent=100.0 * share,
        residual_sugar_g_l=_grams_per_litre(sugar * (1.0 - share), sugar, converted, final_sg),
        complete_sg=_sg_at(sugar, TO_ALCOHOL),
    )


def complete_sg(original_sg: float) -> float:
    """Return the gravity of a wash of sugar once all its sugar has fermented."""
    return _sg_at(plato_from_sg(original_sg) / 100.0, TO_ALCOHOL)


def check_wash_strength(abv: float, name: str) -> None:
    """Refuse a wash that no yeast would finish.

    Raises
    ------
    OutOfRangeError
        If it is stronger than 20 % vol.
    """
    if abv > STRONGEST_WASH_ABV:
        raise OutOfRangeError(
            f"The wash ({name}) would come to {abv:.1f} % vol; no yeast goes beyond about "
            f"{STRONGEST_WASH_ABV:g} % vol. Use more water or less sugar.",
            quantity=name,
        )


def _check_not_below(original_sg: float, final_sg: float, lowest: float) -> None:
    if final_sg < lowest:
        raise OutOfRangeError(
            f"Final gravity (final_sg) is {final_sg:.4f}; a wash of plain sugar from "
            f"{original_sg:.4f} cannot end below {lowest:.4f}. Check the hydrometer in plain "
            "water, and the temperature.",
            quantity="final_sg",
        )


# Below, `sugar` is what a kilogram of wash held, and `converted` the share of it that has become
# alcohol and gas.


def _grams_per_litre(mass: float, sugar: float, converted: float, sg: float) -> float:
    """Return the grams in a litre of what weighs `mass` in what is left of a kilogram of wash."""
    mass_left = 1.0 - CO2_PER_SUCROSE * converted * sugar
    return 1000.0 * mass * sg * WATER_20C_KG_L / mass_left


def _abv(sugar: float, converted: float, sg: float) -> float:
    ethanol = ETHANOL_PER_SUCROSE * converted * sugar
    return _grams_per_litre(ethanol, sugar, converted, sg) / ETHANOL_KG_L / 10.0


def _excess(sugar: float, converted: float, sg: float) -> float:
    """Return Tabarie's gravity of the fermented wash less the gravity given."""
    spirit = density(abw_from_abv(_abv(sugar, converted, sg)), 20.0) / density(0.0, 20.0)
    dissolved = _grams_per_litre(sugar * (1.0 - converted), sugar, converted, sg) / 1000.0
    return spirit + sg_holding(dissolved, 1.0, "original_sg") - 1.0 - sg


def _converted(sugar: float, sg: float) -> float:
    """Return the share converted at a gravity; at either end rounding leaves nothing to solve."""
    if _excess(sugar, 0.0, sg) <= 0:
        return 0.0
    if _excess(sugar, 1.0, sg) >= 0:
        return 1.0
    found: float = root(lambda converted: _excess(sugar, converted, sg), 0.0, 1.0)
    return found


def _sg_at(sugar: float, converted: float) -> float:
    found: float = root(lambda sg: _excess(sugar, converted, sg), 0.95, SG.high)
    return found
