"""A grist: whether it converts itself, and what of it must be cooked first."""

from dataclasses import dataclass
from typing import Annotated

from calc.errors import OutOfRangeError
from calc.grain import Grain, Kind, grain_kind
from calc.mash_heat import RestTemperatureC
from calc.quantities import BULK_MASS, TEMPERATURE, Quantity, checked, equal_rows

# Below 40 °L a grist converts slowly, below 30 hardly (common practice; rules disagree).
SLOW_LINTNER, HARDLY_LINTNER = 40.0, 30.0

ROW_MASS = BULK_MASS.called("Mass of each")
LINTNER = Quantity("diastatic_power_lintner", "Diastatic power", "°L", 0, 500, 0)
WINDISCH_KOLBACH = Quantity("diastatic_power_wk", "Diastatic power", "°WK", 0, 1800, 0)

Grains = tuple[Grain, ...]
MassesKg = tuple[Annotated[float, ROW_MASS], ...]
Lintners = tuple[Annotated[float, LINTNER.called("Diastatic power of each, by certificate")], ...]


@dataclass(frozen=True, slots=True)
class Grist:
    """What a grist can do by itself, and what must be done before."""

    diastatic_power_lintner: Annotated[float, LINTNER.called("Diastatic power of the grist")]
    diastatic_power_wk: Annotated[float, WINDISCH_KOLBACH]
    verdict: str
    cook_first: str
    cook_temperature_c: (
        Annotated[float, TEMPERATURE.called("Cook at or above").if_absent("nothing to cook")] | None
    )
    grain_mass_kg: Annotated[float, BULK_MASS.called("Grain, all together")]


@checked
def grist(
    grains: Grains,
    masses_kg: MassesKg,
    rest_temperature_c: RestTemperatureC = 64.0,
    diastatic_powers_lintner: Lintners | None = None,
) -> Grist:
    """Return whether a grist can convert itself, and which of its grains must be cooked first.

    Parameters
    ----------
    grains : tuple of str
        One a row, by the names of the table of grains.
    masses_kg : tuple of float
        As weighed in.
    rest_temperature_c : float
        Of the conversion rest, 20 to 99 C.
    diastatic_powers_lintner : tuple of float, optional
        One a row, by certificate; typical figures of the table otherwise.

    Returns
    -------
    Grist
        Diastatic power in degrees Lintner and Windisch-Kolbach, what that means, what must be
        cooked and at least how hot (None if nothing), and the mass of the grist.

    Raises
    ------
    QuantityError
        If the rows do not match.
    OutOfRangeError
        If a quantity is out of range, or the grist weighs nothing.

    Notes
    -----
    Mean of the diastatic powers by mass; WK = 3.5 Lintner - 16 (0 at least). A grain must be
    cooked if its starch is not through gelatinising at the temperature of the rest; flakes have
    been.

    References
    ----------
    Gelatinisation: table of the Institute of Brewing, quoted 1996, rye and oats from memory.
    Diastatic power: trade magazine 2016 (barley malts), others from memory. Limits of 40 and
    30: common practice, no source. Windisch-Kolbach: European Brewery Convention, from memory.

    Examples
    --------
    >>> found = grist(("maize", "distillers-malt"), (80.0, 20.0))
    >>> found.cook_first, round(found.diastatic_power_lintner)
    ('maize (70 to 75 °C)', 48)
    """
    equal_rows(
        grains=grains, masses_kg=masses_kg, diastatic_powers_lintner=diastatic_powers_lintner
    )
    kinds = [grain_kind(name) for name in grains]
    total = total_kg(masses_kg)
    powers = diastatic_powers_lintner or [kind.diastatic_power_lintner for kind in kinds]
    power = sum(m * p for m, p in zip(masses_kg, powers, strict=True)) / total
    raw = {
        name: kind
        for name, kind in zip(grains, kinds, strict=True)
        if not kind.cooked and kind.gelatinises_c[1] > rest_temperature_c
    }
    return Grist(
        diastatic_power_lintner=power,
        diastatic_power_wk=max(3.5 * power - 16.0, 0.0),
        verdict=_verdict(power),
        cook_first=", ".join(_gelatinises(name, kind) for name, kind in raw.items()) or "nothing",
        cook_temperature_c=max((kind.gelatinises_c[1] for kind in raw.values()), default=None),
        grain_mass_kg=total,
    )


def total_kg(masses_kg: MassesKg) -> float:
    """Return the mass of a grist.

    Raises
    ------
    OutOfRangeError
        If it weighs nothing.
    """
    total = sum(masses_kg)
    if total <= 0:
        raise OutOfRangeError(
            "The grist (masses_kg) weighs nothing; give the mass of at least one grain.",
            quantity="masses_kg",
        )
    return total


def _verdict(power: float) -> str:
    if power < HARDLY_LINTNER:
        return "too weak to convert itself: add malt or enzymes"
    if power < SLOW_LINTNER:
        return "converts slowly, perhaps not fully: allow time and test with iodine"
    return "converts itself"


def _gelatinises(name: str, kind: Kind) -> str:
    low, high = kind.gelatinises_c
    return f"{name} ({low:g} to {high:g} °C)"
