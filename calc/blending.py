"""Putting jars together: what a blend comes to, and which jars make the one wanted."""

from dataclasses import dataclass
from functools import reduce
from operator import add
from typing import Annotated, Literal

import numpy as np

from calc.alcoholometry import abw_from_abv, density
from calc.errors import QuantityError
from calc.mixture import Mixture
from calc.proofing import TARGET, ContractionL
from calc.quantities import (
    ABV,
    VOLUME,
    Abv,
    FloatArray,
    PureAlcoholL,
    Quantity,
    SpiritTemperatureC,
    checked,
    equal_rows,
)

# Every choice among the jars is tried: 2^18 of them take a moment and a few megabytes.
MOST_JARS = 18

JAR_VOLUME = VOLUME.called("Volume of each jar")
JAR_ABV = ABV.called("Strength of each jar")
WANTED_VOLUME = VOLUME.within(0.001, 1_000_000).called("Volume wanted")
BOTANICAL_RATE = Quantity(
    "botanical_g_per_l", "Botanical, per litre of pure alcohol", "g/L", 0, 500, 2
)
BOTANICAL_MASS = Quantity("botanical_g", "Botanical to weigh out", "g", 0, 1e9, 1)

JarVolumesL = tuple[Annotated[float, JAR_VOLUME], ...]
JarAbvs = tuple[Annotated[float, JAR_ABV], ...]
Water = Literal["as-needed", "none"]


@dataclass(frozen=True, slots=True)
class Blend:
    """What jars come to when put together."""

    abv: Annotated[float, ABV.called("Strength of the blend")]
    volume_l: Annotated[float, VOLUME.called("Volume of the blend")]
    pure_alcohol_l: PureAlcoholL
    contraction_l: ContractionL


@dataclass(frozen=True, slots=True)
class Selection:
    """Which jars make the blend wanted, or why none do."""

    jars: str | None
    blend_abv: Annotated[float, ABV.called("Strength of the jars together")] | None
    blend_volume_l: Annotated[float, VOLUME.called("Volume of the jars together")] | None
    water_volume_l: Annotated[float, VOLUME.called("Water to add")] | None
    final_abv: Annotated[float, ABV.called("Final strength")] | None
    final_volume_l: Annotated[float, VOLUME.called("Final volume")] | None
    why: str | None = None


@dataclass(frozen=True, slots=True)
class Botanicals:
    """What to weigh out for a charge."""

    botanical_g: tuple[Annotated[float, BOTANICAL_MASS], ...]
    total_g: Annotated[float, BOTANICAL_MASS.called("Botanicals together")]
    pure_alcohol_l: PureAlcoholL


@checked
def blend(
    jar_volume_l: JarVolumesL, jar_abv: JarAbvs, temperature_c: SpiritTemperatureC = 20.0
) -> Blend:
    """Return what any set of jars comes to when put together.

    Parameters
    ----------
    jar_volume_l : tuple of float
        Of each jar, at the temperature given; not all zero.
    jar_abv : tuple of float
        Of each jar in the same order, percent by volume at 20 C, 0 to 100.
    temperature_c : float
        Of jars and blend, at which all volumes are taken; -20 to 40 C.

    Returns
    -------
    Blend
        Strength, volume, pure alcohol, and the volume lost by contraction.

    Raises
    ------
    QuantityError
        If there are not as many strengths as volumes.
    OutOfRangeError
        If a quantity is out of range, or all jars are empty.

    Notes
    -----
    Masses of ethanol and of water add; the volume is the mass by rho(p, t).

    References
    ----------
    OIML R 22 (1975), International Alcoholometric Tables, general formula.

    Examples
    --------
    >>> found = blend((2.0, 3.0), (72.0, 60.0))
    >>> round(found.abv, 2), round(found.volume_l, 3)
    (64.83, 4.998)
    """
    both = reduce(add, _mixtures(jar_volume_l, jar_abv, temperature_c))
    both.check_some("jar_volume_l")
    volume = both.volume_l(temperature_c)
    return Blend(both.abv(), volume, both.pure_alcohol_l, sum(jar_volume_l) - volume)


@checked
def jars_for_target(
    jar_volume_l: JarVolumesL,
    jar_abv: JarAbvs,
    target_abv: Annotated[float, TARGET],
    target_volume_l: Annotated[float, WANTED_VOLUME],
    water: Water = "as-needed",
    temperature_c: SpiritTemperatureC = 20.0,
) -> Selection:
    """Return which whole jars make a wanted volume at a wanted strength.

    Parameters
    ----------
    jar_volume_l : tuple of float
        Of each jar, at the temperature given; at most 18 jars.
    jar_abv : tuple of float
        Of each jar in the same order, percent by volume at 20 C, 0 to 100.
    target_abv : float
        Strength wanted, percent by volume at 20 C, 0.5 to 100.
    target_volume_l : float
        Least volume wanted, at the temperature given.
    water : {"as-needed", "none"}
        Whether water may bring the jars down to strength.
    temperature_c : float
        Of jars and blend, at which all volumes are taken; -20 to 40 C.

    Returns
    -------
    Selection
        The jars by number, counted from 1 in the order given; strength and volume of them
        together, water to add, and what it ends as; or why no choice does it.

    Raises
    ------
    QuantityError
        If there are not as many strengths as volumes, or more than 18 jars.
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Every choice of jars is tried. With water: of those no weaker than wanted that make the
    volume at that strength, the one that makes least too much. Without: of those that make the
    volume, the one nearest in strength. Taste is not weighed: leave out jars you would not drink.

    References
    ----------
    OIML R 22 (1975), International Alcoholometric Tables, general formula.

    Examples
    --------
    >>> jars_for_target((1.0, 1.0, 1.0, 1.0), (80.0, 74.0, 66.0, 50.0), 40.0, 3.0).jars
    '2, 4'
    """
    jars = _mixtures(jar_volume_l, jar_abv, temperature_c)
    ethanol, water_in = (_sums([getattr(j, k) for j in jars]) for k in ("ethanol_kg", "water_kg"))
    wanted = abw_from_abv(target_abv)
    pick = _with_water if water == "as-needed" else _without_water
    best = pick(ethanol, water_in, wanted, target_volume_l, temperature_c)
    if best is None:
        why = _why(jars, target_volume_l, temperature_c)
        return Selection(None, None, None, None, None, None, why=why)
    chosen = Mixture(float(ethanol[best]), float(water_in[best]))
    added = chosen.water_to_reach(wanted) if water == "as-needed" else 0.0
    final = chosen + Mixture.of_water(max(added, 0.0))
    return Selection(
        jars=", ".join(str(i + 1) for i in range(len(jars)) if best >> i & 1),
        blend_abv=chosen.abv(),
        blend_volume_l=chosen.volume_l(temperature_c),
        water_volume_l=1000.0 * max(added, 0.0) / density(0.0, temperature_c),
        final_abv=final.abv(),
        final_volume_l=final.volume_l(temperature_c),
    )


@checked
def botanicals(
    volume_l: Annotated[float, VOLUME.called("Volume of the charge")],
    abv: Abv,
    botanical_g_per_l: tuple[Annotated[float, BOTANICAL_RATE], ...],
    temperature_c: SpiritTemperatureC = 20.0,
) -> Botanicals:
    """Return the botanicals to weigh out for a charge, from a recipe per litre of pure alcohol.

    Parameters
    ----------
    volume_l : float
        Of the charge, at the temperature given.
    abv : float
        Of the charge, percent by volume at 20 C, 0 to 100.
    botanical_g_per_l : tuple of float
        Grams of each botanical for a litre of pure alcohol, 0 to 500.
    temperature_c : float
        Of the charge, -20 to 40 C.

    Returns
    -------
    Botanicals
        Grams of each in the same order, of all together, and the pure alcohol in the charge.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Rate times pure alcohol at 20 C, so that a recipe keeps its balance when the charge's
    strength or size changes.

    References
    ----------
    common practice, no source

    Examples
    --------
    >>> [round(g, 1) for g in botanicals(10.0, 40.0, (20.0, 10.0)).botanical_g]
    [80.0, 40.0]
    """
    pure = Mixture.of_volume(volume_l, abv, temperature_c).pure_alcohol_l
    each = tuple(pure * rate for rate in botanical_g_per_l)
    return Botanicals(each, sum(each), pure)


def _mixtures(volumes: JarVolumesL, strengths: JarAbvs, temperature_c: float) -> list[Mixture]:
    equal_rows(jar_volume_l=volumes, jar_abv=strengths)
    pairs = zip(volumes, strengths, strict=True)
    return [Mixture.of_volume(v, s, temperature_c) for v, s in pairs]


def _sums(values: list[float]) -> FloatArray:
    """Return the sum over every choice of values; bit i of the index says whether i is chosen."""
    if len(values) > MOST_JARS:
        raise QuantityError(
            f"There are {len(values)} jars (jar_volume_l); give at most {MOST_JARS}, the ones in "
            "question.",
            quantity="jar_volume_l",
        )
    sums: FloatArray = np.zeros(1)
    for value in values:
        sums = np.concatenate((sums, sums + value))
    return sums


def _with_water(
    ethanol: FloatArray, water: FloatArray, wanted: float, volume_l: float, temperature_c: float
) -> int | None:
    made = 1000.0 * ethanol / wanted / density(wanted, temperature_c)
    strong = ethanol >= wanted * (ethanol + water) * (1 - 1e-12)
    fits = strong & (made >= volume_l * (1 - 1e-12))
    return int(np.argmin(np.where(fits, made, np.inf))) if fits.any() else None


def _without_water(
    ethanol: FloatArray, water: FloatArray, wanted: float, volume_l: float, temperature_c: float
) -> int | None:
    mass = ethanol + water
    abw = np.divide(ethanol, mass, out=np.zeros_like(mass), where=mass > 0)
    fits = 1000.0 * mass / density(abw, temperature_c) >= volume_l * (1 - 1e-12)
    return int(np.argmin(np.where(fits, np.abs(abw - wanted), np.inf))) if fits.any() else None


def _why(jars: list[Mixture], volume_l: float, temperature_c: float) -> str:
    together = reduce(add, jars)
    volume = together.volume_l(temperature_c) if together.mass_kg else 0.0
    return (
        f"No choice of these jars makes {volume_l:.10g} L at that strength: together they make "
        f"{volume:.3f} L and hold {together.pure_alcohol_l:.3f} L of "
        "pure alcohol; lower the volume or the strength, or add jars."
    )
