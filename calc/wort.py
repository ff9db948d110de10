"""The wort to expect of a grist, and the efficiency that a measured one shows."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from calc.errors import OutOfRangeError
from calc.grain import grain_kind
from calc.gravity import WATER_20C_KG_L, plato_from_sg, sg_from_plato
from calc.grist import Grains, MassesKg, total_kg
from calc.mash_heat import LiquorVolumeL
from calc.quantities import (
    BULK_MASS,
    BULK_VOLUME,
    PLATO,
    SG,
    Plato,
    Quantity,
    Sg,
    checked,
    equal_rows,
)

# What of the extract comes into the wort, percent: low and high (common practice, no source).
Way = Literal["no-sparge", "batch-sparge", "on-the-grain"]
EFFICIENCIES: Mapping[Way, tuple[float, float]] = {
    "no-sparge": (60.0, 72.0),
    "batch-sparge": (70.0, 80.0),
    "on-the-grain": (85.0, 95.0),
}
ROW_EXTRACT = Quantity("extract_percent", "Extract of each, by certificate", "%", 1, 100)
ABSORPTION = Quantity("absorption_l_kg", "Liquor a kilogram of spent grain keeps", "L/kg", 0, 3, 2)
EFFICIENCY = Quantity("efficiency_percent", "Efficiency", "%", 1, 105)
EXTRACT_MASS = BULK_MASS.called("Extract in the wort")

Extracts = tuple[Annotated[float, ROW_EXTRACT], ...]


@dataclass(frozen=True, slots=True)
class Wort:
    """The wort to expect of a grist."""

    sg: Sg
    sg_low: Annotated[float, SG.called("Gravity, at least")]
    sg_high: Annotated[float, SG.called("Gravity, at most")]
    plato: Plato
    volume_l: Annotated[float, BULK_VOLUME.called("Wort at 20 °C")]
    extract_kg: Annotated[float, EXTRACT_MASS]


@dataclass(frozen=True, slots=True)
class MashEfficiency:
    """What of a grist's extract a measured wort holds."""

    efficiency_percent: Annotated[float, EFFICIENCY.within(0, 105)]
    extract_kg: Annotated[float, EXTRACT_MASS]
    potential_kg: Annotated[float, BULK_MASS.called("Extract in the grain")]


@checked
def wort(
    grains: Grains,
    masses_kg: MassesKg,
    liquor_volume_l: LiquorVolumeL,
    way: Way = "on-the-grain",
    efficiency_percent: Annotated[float, EFFICIENCY] | None = None,
    absorption_l_kg: Annotated[float, ABSORPTION] = 1.0,
    extracts_percent: Extracts | None = None,
) -> Wort:
    """Return the gravity, volume and extract of the wort that a grist will give.

    Parameters
    ----------
    grains : tuple of str
        One a row, by the names of the table of grains.
    masses_kg : tuple of float
        As weighed in.
    liquor_volume_l : float
        All of it, sparge included, measured cold.
    way : {"no-sparge", "batch-sparge", "on-the-grain"}
        Run off and left, rinsed, or fermented with the grain in it.
    efficiency_percent : float, optional
        Learned from a measured gravity; the usual range of the way otherwise.
    absorption_l_kg : float
        What the spent grain keeps, 0.8 to 1.2 L/kg as a rule; on the grain it counts as wort.
    extracts_percent : tuple of float, optional
        One a row, as is, by certificate; the middle of the table's range otherwise.

    Returns
    -------
    Wort
        Specific gravity with its low and high, degrees Plato, litres at 20 C, kilograms of
        extract.

    Raises
    ------
    QuantityError
        If the rows do not match.
    OutOfRangeError
        If a quantity is out of range, the grain would keep all the liquor, or the wort would be
        thicker than 40 P.

    Notes
    -----
    Extract E = mass x extract x efficiency. Water W = liquor less what the spent grain keeps;
    where the grain stays in, liquor and the grain's own moisture. P = 100 E / (E + W); volume =
    (E + W) / (SG x 0.9982), without the bulk of the grain. The figure is for the middle of the
    range of efficiencies.

    References
    ----------
    ASBC Methods of Analysis (8th edition 1992, from memory), polynomial. Extract: from memory;
    efficiencies and what spent grain keeps: common practice, no source.

    Examples
    --------
    >>> found = wort(("rye", "pale-malt"), (80.0, 20.0), 400.0)
    >>> round(found.sg, 3), round(found.volume_l)
    (1.055, 450)
    """
    potential = _potential_kg(grains, masses_kg, extracts_percent)
    low, high = _efficiencies(way, efficiency_percent)
    water = liquor_volume_l * WATER_20C_KG_L + _water_kg(way, grains, masses_kg, absorption_l_kg)
    _check_run_off(water, liquor_volume_l)
    extract = potential * (low + high) / 200.0
    plato = _plato(extract, water)
    sg = sg_from_plato(plato)
    return Wort(
        sg=sg,
        sg_low=sg_from_plato(_plato(potential * low / 100.0, water)),
        sg_high=sg_from_plato(_plato(potential * high / 100.0, water)),
        plato=plato,
        volume_l=(extract + water) / (sg * WATER_20C_KG_L),
        extract_kg=extract,
    )


@checked
def mash_efficiency(
    grains: Grains,
    masses_kg: MassesKg,
    volume_l: Annotated[float, BULK_VOLUME.within(0.01, 1_000_000).called("Wort at 20 °C")],
    sg: Annotated[float, SG.within(1.0, 1.18)],
    extracts_percent: Extracts | None = None,
) -> MashEfficiency:
    """Return the efficiency of a mash from the gravity and volume of its wort.

    Parameters
    ----------
    grains : tuple of str
        One a row, by the names of the table of grains.
    masses_kg : tuple of float
        As weighed in.
    volume_l : float
        Of the wort the gravity was taken of, at 20 C, without the grain's own bulk.
    sg : float
        At 20 C, before the yeast, 1.0 to 1.18.
    extracts_percent : tuple of float, optional
        One a row, as is, by certificate; the middle of the table's range otherwise.

    Returns
    -------
    MashEfficiency
        Percent, and kilograms of extract in the wort and in the grain.

    Raises
    ------
    QuantityError
        If the rows do not match.
    OutOfRangeError
        If a quantity is out of range, or the wort holds more extract than the grain.

    Notes
    -----
    Extract = P/100 x SG x 0.9982 x volume, over the sum of mass x extract of the grains.

    References
    ----------
    ASBC Methods of Analysis (8th edition 1992, from memory), polynomial. Extract: from memory.

    Examples
    --------
    >>> round(mash_efficiency(("pale-malt",), (100.0,), 400.0, 1.060).efficiency_percent, 1)
    80.5
    """
    potential = _potential_kg(grains, masses_kg, extracts_percent)
    extract = max(plato_from_sg(sg), 0.0) / 100.0 * sg * WATER_20C_KG_L * volume_l
    efficiency = 100.0 * extract / potential
    if efficiency > EFFICIENCY.high:
        raise OutOfRangeError(
            f"Specific gravity (sg) {sg:.4f} in {volume_l:.4g} L means {extract:.4g} kg of "
            f"extract, {efficiency:.0f} % of what the grain holds; check the volume, the "
            "hydrometer's temperature and the masses.",
            quantity="sg",
        )
    return MashEfficiency(efficiency_percent=efficiency, extract_kg=extract, potential_kg=potential)


def _potential_kg(grains: Grains, masses_kg: MassesKg, extracts: Extracts | None) -> float:
    equal_rows(grains=grains, masses_kg=masses_kg, extracts_percent=extracts)
    total_kg(masses_kg)
    percents = extracts or [sum(grain_kind(name).extract_percent) / 2 for name in grains]
    return sum(m * e / 100.0 for m, e in zip(masses_kg, percents, strict=True))


def _efficiencies(way: Way, given: float | None) -> tuple[float, float]:
    return EFFICIENCIES[way] if given is None else (given, given)


def _plato(extract_kg: float, water_kg: float) -> float:
    plato = 100.0 * extract_kg / (extract_kg + water_kg)
    PLATO.called("Extract of the wort that follows").check(plato, "liquor_volume_l")
    return plato


def _water_kg(way: Way, grains: Grains, masses_kg: MassesKg, absorption_l_kg: float) -> float:
    """Return what the grain adds to the liquor: its moisture, or less what it keeps."""
    if way != "on-the-grain":
        return -absorption_l_kg * sum(masses_kg) * WATER_20C_KG_L
    kinds = [grain_kind(name) for name in grains]
    return sum(m * k.moisture_percent / 100.0 for m, k in zip(masses_kg, kinds, strict=True))


def _check_run_off(water_kg: float, liquor_volume_l: float) -> None:
    if water_kg <= 0:
        raise OutOfRangeError(
            f"Liquor (liquor_volume_l) is {liquor_volume_l:.4g} L, and the spent grain keeps all "
            "of it; use more liquor.",
            quantity="liquor_volume_l",
        )
