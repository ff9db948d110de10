"""Spirit in wood: what a cask holds, what it has lost, and what it may be expected to lose."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from calc.contents import Contents, contents_by_weight
from calc.errors import OutOfRangeError
from calc.quantities import (
    ABV,
    MASS,
    PURE_ALCOHOL,
    VOLUME,
    Abv,
    FloatArray,
    Quantity,
    SpiritTemperatureC,
    checked,
)

# The size the usual two per cent a year is quoted for; common practice, no source.
USUAL_CASK_L = 200.0

GROSS = MASS.called("Weight of the full cask, by the scale")
TARE = MASS.called("Weight of the empty cask, by the scale")
CASK_SIZE = Quantity("cask_l", "Size of the cask", "L", 1, 1000)
TIME = Quantity("duration_years", "Time in the cask", "years", 0.01, 100, 2)
LOSS = Quantity("loss_percent", "Loss of pure alcohol", "%", -10, 100, 2)
USUAL_LOSS = Quantity("loss_percent_per_year", "Loss a year from 200 L", "%/year", 0, 20, 2)
YEARLY_LOSS = USUAL_LOSS.within(-2e6, 100)
PURE_LOST = PURE_ALCOHOL.within(-100_000, 1_000_000).called("Pure alcohol lost")


@dataclass(frozen=True, slots=True)
class CaskLoss:
    """What a cask has lost since it was filled."""

    lost_pure_alcohol_l: Annotated[float, PURE_LOST]
    loss_percent: Annotated[float, LOSS]
    loss_percent_per_year: Annotated[float, YEARLY_LOSS.called("Loss of pure alcohol a year")]
    abv_change: Annotated[float, ABV.within(-100, 100).called("Change in strength")]


@dataclass(frozen=True, slots=True)
class AngelsShare:
    """What a cask may be expected to lose."""

    loss_percent_per_year: Annotated[float, YEARLY_LOSS.called("Expected loss a year")]
    lost_pure_alcohol_l: Annotated[float, PURE_LOST.called("Pure alcohol expected to be lost")]
    pure_alcohol_l: Annotated[float, PURE_ALCOHOL.called("Pure alcohol expected to be left")]


@checked
def cask_by_weight(
    gross_kg: Annotated[float, GROSS],
    tare_kg: Annotated[float, TARE],
    abv: Abv,
    temperature_c: SpiritTemperatureC = 20.0,
) -> Contents:
    """Return what a cask holds from its weight full and empty.

    Parameters
    ----------
    gross_kg, tare_kg : float
        What the scale shows for the cask full and empty; full is no less than empty.
    abv : float
        Of the spirit, percent by volume at 20 C, 0 to 100.
    temperature_c : float
        At which the volume is also wanted, -20 to 40 C.

    Returns
    -------
    Contents
        Volume at that temperature and at 20 C, pure alcohol, US proof gallons, mass and weight.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the full cask weighs less than the empty one.

    Notes
    -----
    The difference of the weights, freed of the air's lift, by the density. A cask that has been
    wet weighs some kilograms more than a dry one: tare it as it was filled.

    References
    ----------
    OIML R 22 (1975); OIML D 28 (2004), conventional value of weighing in air.

    Examples
    --------
    >>> round(cask_by_weight(230.0, 50.0, 60.0).pure_alcohol_l, 1)
    118.9
    """
    if gross_kg < tare_kg:
        raise OutOfRangeError(
            f"Weight of the full cask (gross_kg) is {gross_kg:.10g} kg; it must lie above the "
            f"empty cask's {tare_kg:.10g} kg (tare_kg).",
            quantity="gross_kg",
        )
    return contents_by_weight(gross_kg - tare_kg, abv, temperature_c)


@checked
def cask_loss(
    filled_volume_l: Annotated[float, VOLUME.within(0.001, 1e6).called("Volume filled, at 20 °C")],
    filled_abv: Annotated[float, ABV.within(0.5, 100).called("Strength filled")],
    volume_l: Annotated[float, VOLUME.called("Volume now, at 20 °C")],
    abv: Annotated[float, ABV.called("Strength now")],
    duration_years: Annotated[float, TIME],
) -> CaskLoss:
    """Return what a cask has lost since it was filled.

    Parameters
    ----------
    filled_volume_l, volume_l : float
        Volume filled and volume now, both at 20 C.
    filled_abv, abv : float
        Strength filled (0.5 to 100) and strength now, percent by volume at 20 C.
    duration_years : float
        Between the two, 0.01 to 100 years.

    Returns
    -------
    CaskLoss
        Pure alcohol lost, in litres, in percent and in percent a year; change in strength.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the cask holds over a tenth more alcohol than it did.

    Notes
    -----
    Pure alcohol is volume times strength at 20 C. The yearly loss r is the one that compounds to
    the whole: (1 - r)^years = alcohol now / alcohol filled; negative where alcohol has been
    gained, which means one of the gaugings is a little off.

    References
    ----------
    OIML R 22 (1975), definition of alcoholic strength by volume.

    Examples
    --------
    >>> round(cask_loss(200.0, 63.5, 188.0, 62.0, 4.0).loss_percent_per_year, 2)
    2.12
    """
    filled, now = filled_volume_l * filled_abv / 100.0, volume_l * abv / 100.0
    if now > 1.1 * filled:
        raise OutOfRangeError(
            f"Volume now (volume_l) at {abv:.10g} % vol holds {now:.2f} L of pure alcohol; it must "
            f"lie between 0 and a tenth above the {filled:.2f} L filled. Check both gaugings.",
            quantity="volume_l",
        )
    return CaskLoss(
        lost_pure_alcohol_l=filled - now,
        loss_percent=100.0 * (1.0 - now / filled),
        loss_percent_per_year=100.0 * (1.0 - (now / filled) ** (1.0 / duration_years)),
        abv_change=abv - filled_abv,
    )


@checked
def angels_share(
    volume_l: Annotated[float, VOLUME.called("Volume filled, at 20 °C")],
    abv: Annotated[float, ABV.called("Strength filled")],
    cask_l: Annotated[float, CASK_SIZE],
    duration_years: Annotated[float, TIME],
    usual_loss_percent_per_year: Annotated[float, USUAL_LOSS] = 2.0,
) -> AngelsShare:
    """Return what a cask of its size may be expected to lose over the years.

    Parameters
    ----------
    volume_l : float
        Filled, at 20 C.
    abv : float
        Filled, percent by volume at 20 C, 0 to 100.
    cask_l : float
        Size of the cask, 1 to 1000 L.
    duration_years : float
        0.01 to 100 years.
    usual_loss_percent_per_year : float
        Loss of pure alcohol a year from a cask of 200 L where it lies, 0 to 20 %; 2 % in a cool,
        damp climate, more in a warm or dry one.

    Returns
    -------
    AngelsShare
        Yearly loss for that size, pure alcohol lost and left.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the cask is so small that the whole would be lost in a
        year.

    Notes
    -----
    Loss goes through the wood, so its rate goes as surface by volume: the usual rate times
    (200 L / size)^(1/3). It compounds: what is left after n years is (1 - r)^n. Whether strength
    rises or falls meanwhile depends on the damp of the warehouse and is not foretold.

    References
    ----------
    common practice, no source

    Examples
    --------
    >>> found = angels_share(50.0, 60.0, 50.0, 3.0)
    >>> round(found.loss_percent_per_year, 2), round(found.lost_pure_alcohol_l, 2)
    (3.17, 2.77)
    """
    rate = _yearly(cask_l, usual_loss_percent_per_year)
    pure = volume_l * abv / 100.0
    left = pure * (1.0 - rate) ** duration_years
    return AngelsShare(100.0 * rate, pure - left, left)


def angels_share_curve(
    volume_l: float,
    abv: float,
    cask_l: float,
    duration_years: float,
    usual_loss_percent_per_year: float = 2.0,
) -> dict[str, FloatArray]:
    """Return the pure alcohol expected to be left, against years."""
    years = np.linspace(0.0, duration_years, 61)
    left = volume_l * abv / 100.0 * (1.0 - _yearly(cask_l, usual_loss_percent_per_year)) ** years
    return {"duration_years": years, "pure_alcohol_l": left}


def _yearly(cask_l: float, usual_loss_percent_per_year: float) -> float:
    rate: float = usual_loss_percent_per_year / 100.0 * (USUAL_CASK_L / cask_l) ** (1.0 / 3.0)
    if rate >= 1.0:
        raise OutOfRangeError(
            f"Loss a year from 200 L (usual_loss_percent_per_year) is "
            f"{usual_loss_percent_per_year:.10g} %/year, which takes all of a cask of "
            f"{cask_l:.10g} L (cask_l) within a year; give a lower loss or a larger cask.",
            quantity="usual_loss_percent_per_year",
        )
    return rate
