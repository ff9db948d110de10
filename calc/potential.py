"""How much alcohol a bill of grain, sugar and fruit can give, or a gravity lets expect."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from calc.attenuation import BALLING_SG, alcohol_from_gravity
from calc.errors import QuantityError
from calc.grain import GRAINS, Grain, Kind
from calc.quantities import (
    BULK_MASS,
    PERCENT,
    WASH_ALCOHOL,
    WASH_STRENGTH,
    Quantity,
    checked,
    equal_rows,
)
from calc.sugar_wash import WashVolumeL, alcohol_by_mass, check_wash_strength, complete_sg
from calc.sugars import FRUITS, LITRES_PER_HEXOSE, LITRES_PER_SUCROSE, SUGARS, Fruit, Sugar

Ingredient = Literal[Grain, Sugar, Fruit]
WashKind = Literal["sugar", "malt"]

# What practice gets of the theory, low and high (P: common practice, no source).
GRAIN_YIELD = (0.80, 0.90)
SUGAR_YIELD = (0.85, 0.92)
FRUIT_YIELD = (0.80, 0.90)
# Fermentable share of the extract of an unboiled wort with its enzymes alive (from memory).
FERMENTABLE = 0.87
# How far ripeness moves the sugar of a fruit, either way (P).
RIPENESS = 0.20
# Where washes end (P): sugar; malt run off the grain.
FINAL_GRAVITIES: Mapping[WashKind, tuple[float, float]] = {
    "sugar": (0.990, 0.996),
    "malt": (0.997, 1.004),
}
# Litres of alcohol from a tonne, for each percent of fermentable extract.
BRINGHURST = 6.06

# Below it a malt wort has too little to reach the usual end.
EXPECTED_SG = BALLING_SG.within(1.020, 1.130)
INGREDIENT_MASS = BULK_MASS.called("Mass of each")
SPIRIT_YIELD = Quantity("spirit_yield_l_t", "Spirit yield, pure alcohol", "L/t", 0, 620)
FERMENTABLE_EXTRACT = PERCENT.called("Fermentable extract")


@dataclass(frozen=True, slots=True)
class Potential:
    """What a bill can give: what to expect, and between which bounds."""

    pure_alcohol_l: Annotated[float, WASH_ALCOHOL]
    pure_alcohol_low_l: Annotated[float, WASH_ALCOHOL.called("Pure alcohol, at least")]
    pure_alcohol_high_l: Annotated[float, WASH_ALCOHOL.called("Pure alcohol, at most")]
    abv: Annotated[float, WASH_STRENGTH]
    abv_low: Annotated[float, WASH_STRENGTH.called("Strength, at least")]
    abv_high: Annotated[float, WASH_STRENGTH.called("Strength, at most")]


@dataclass(frozen=True, slots=True)
class SpiritYield:
    """What a distillery gets from a tonne of malt or cereal."""

    fermentable_extract_percent: Annotated[float, FERMENTABLE_EXTRACT]
    spirit_yield_l_t: Annotated[float, SPIRIT_YIELD]


@dataclass(frozen=True, slots=True)
class ExpectedAlcohol:
    """Between which bounds the finished wash will lie."""

    abv_low: Annotated[float, WASH_STRENGTH.called("Strength, at least")]
    abv_high: Annotated[float, WASH_STRENGTH.called("Strength, at most")]


@checked
def potential_alcohol(
    ingredients: tuple[Ingredient, ...],
    masses_kg: tuple[Annotated[float, INGREDIENT_MASS], ...],
    volume_l: WashVolumeL,
) -> Potential:
    """Return the alcohol that a bill of malt, grain, sugar, molasses and fruit can give.

    Parameters
    ----------
    ingredients : tuple of str
        One a row, by the names of the tables of grains, sugars and fruits.
    masses_kg : tuple of float
        As it is weighed in: grain with its moisture, fruit without stones.
    volume_l : float
        Of the wash or pulp that ferments, at 20 C.

    Returns
    -------
    Potential
        Litres of pure alcohol and percent by volume, each with its low and high.

    Raises
    ------
    QuantityError
        If the rows do not match.
    OutOfRangeError
        If a quantity is out of range, or the wash would be stronger than any yeast stands.

    Notes
    -----
    Grain: mass x extract x 0.87 fermentable x 0.682 L/kg; sugar and fruit: mass x hexose x
    0.648 L/kg; of that, 80 to 90 % for grain and fruit and 85 to 92 % for sugar. The extract's
    own range and a fifth either way for ripeness widen the band; the figure between is its
    middle.

    References
    ----------
    Gay-Lussac's equation (1815) with IUPAC standard atomic weights (2021), theoretical yields;
    OIML R 22 (1975), density of ethanol. Extract, sugar content and yields in practice: from
    memory and common practice, no source.

    Examples
    --------
    >>> bill = potential_alcohol(("rye", "pale-malt"), (80.0, 20.0), 400.0)
    >>> round(bill.pure_alcohol_low_l, 1), round(bill.pure_alcohol_high_l, 1)
    (32.7, 39.6)
    """
    equal_rows(ingredients=ingredients, masses_kg=masses_kg)
    yields = [_litres_per_kg(name) for name in ingredients]
    low = sum(m * y[0] for m, y in zip(masses_kg, yields, strict=True))
    high = sum(m * y[1] for m, y in zip(masses_kg, yields, strict=True))
    per_litre = 100.0 / volume_l
    check_wash_strength(low * per_litre, "masses_kg")
    return Potential(
        pure_alcohol_l=(low + high) / 2,
        pure_alcohol_low_l=low,
        pure_alcohol_high_l=high,
        abv=(low + high) / 2 * per_litre,
        abv_low=low * per_litre,
        abv_high=high * per_litre,
    )


@checked
def spirit_yield(
    extract_percent: Annotated[float, PERCENT.called("Soluble extract")],
    fermentability_percent: Annotated[float, PERCENT.called("Fermentable share of the extract")],
) -> SpiritYield:
    """Return the spirit yield that a laboratory's figures for a malt or cereal predict.

    Parameters
    ----------
    extract_percent : float
        Soluble extract by the certificate, percent of the mass as it is or dry: the yield is
        then per tonne as it is or dry.
    fermentability_percent : float
        Percent of that extract which ferments; 86 to 88 for malt.

    Returns
    -------
    SpiritYield
        Fermentable extract in percent, and litres of pure alcohol from a tonne.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Litres of alcohol from a tonne = 6.06 x fermentable extract in percent; fermentable extract =
    extract x fermentability. That is 89 % of the theory for maltose.

    References
    ----------
    Bringhurst, T. A., et al. (1996), J. Inst. Brew. 102, 433.

    Examples
    --------
    >>> round(spirit_yield(78.0, 87.0).spirit_yield_l_t)
    411
    """
    fermentable = extract_percent * fermentability_percent / 100.0
    return SpiritYield(
        fermentable_extract_percent=fermentable, spirit_yield_l_t=BRINGHURST * fermentable
    )


@checked
def expected_alcohol(
    original_sg: Annotated[float, EXPECTED_SG], wash: WashKind = "malt"
) -> ExpectedAlcohol:
    """Return the strength a wash is likely to reach, from the gravity it starts at.

    Parameters
    ----------
    original_sg : float
        At 20 C, before the yeast, 1.02 to 1.13.
    wash : {"malt", "sugar"}
        A wort of malt or grain run off the grain, or a wash of plain sugar.

    Returns
    -------
    ExpectedAlcohol
        Percent by volume at 20 C: low and high.

    Raises
    ------
    OutOfRangeError
        If the gravity is out of range.

    Notes
    -----
    Sugar ends between 0.990 and 0.996 (never below full fermentation), malt off the grain
    between 0.997 and 1.004. Malt by Balling's relation, sugar by mass balance.

    References
    ----------
    Final gravities: common practice, no source. Balling (1865), from memory; OIV-MA-AS2-03B
    (mass balance); ASBC Methods of Analysis.

    Examples
    --------
    >>> expected = expected_alcohol(1.0720, "sugar")
    >>> round(expected.abv_low, 1), round(expected.abv_high, 1)
    (11.0, 11.9)
    """
    low_sg, high_sg = FINAL_GRAVITIES[wash]
    if wash == "malt":
        return ExpectedAlcohol(
            abv_low=alcohol_from_gravity(original_sg, high_sg).abv,
            abv_high=alcohol_from_gravity(original_sg, low_sg).abv,
        )
    lowest = complete_sg(original_sg)
    return ExpectedAlcohol(
        abv_low=alcohol_by_mass(original_sg, max(high_sg, lowest)).abv,
        abv_high=alcohol_by_mass(original_sg, max(low_sg, lowest)).abv,
    )


def _litres_per_kg(name: str) -> tuple[float, float]:
    """Return low and high litres of pure alcohol from a kilogram."""
    if name in SUGARS:
        return _times(SUGARS[name] * LITRES_PER_HEXOSE, SUGAR_YIELD)
    if name in FRUITS:
        ripe = (FRUIT_YIELD[0] * (1.0 - RIPENESS), FRUIT_YIELD[1] * (1.0 + RIPENESS))
        return _times(FRUITS[name] * LITRES_PER_HEXOSE, ripe)
    if name in GRAINS:
        return _from_grain(GRAINS[name])
    raise QuantityError(
        f"ingredients has {name!r}; choose among {', '.join([*GRAINS, *SUGARS, *FRUITS])}.",
        quantity="ingredients",
    )


def _from_grain(kind: Kind) -> tuple[float, float]:
    low, high = kind.extract_percent
    theory = FERMENTABLE * LITRES_PER_SUCROSE / 100.0
    return (low * theory * GRAIN_YIELD[0], high * theory * GRAIN_YIELD[1])


def _times(theory: float, practice: tuple[float, float]) -> tuple[float, float]:
    return (theory * practice[0], theory * practice[1])
