"""What can hurt: fire, a pot too full, a charge too strong.

Every figure here is for planning, with the source beside it. None replaces local codes, a
detector or licensed practice.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np

from calc.proofing import dilution
from calc.quantities import (
    ABV,
    TEMPERATURE,
    VOLUME,
    Abv,
    FloatArray,
    SpiritTemperatureC,
    VolumeL,
    checked,
)

# Flash point of ethanol in water, °C by % vol: tables of aqueous ethanol retrieved from more than
# one safety source, which dispute whether they mean % mass; pure ethanol NIOSH Pocket Guide.
FLASH_ABV = (10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 96.0, 100.0)
FLASH_C = (49.0, 36.0, 29.0, 26.0, 24.0, 22.0, 21.0, 20.0, 17.0, 17.0, 13.0)
# Taken off for planning because of that dispute.
FLASH_MARGIN_K = 5.0

# Share of the pot, cautious and at most. Common practice, no source.
FILL_SHARES = {"foaming-wash": (0.60, 0.66), "wash": (0.70, 0.75), "low-wines": (0.80, 0.85)}
# Common practice, no source.
STRONGEST_CHARGE_ABV = 40.0

FLASH_POINT = TEMPERATURE.called("Flash point")

Wash = Literal["foaming-wash", "wash", "low-wines"]


@dataclass(frozen=True, slots=True)
class FlashPoint:
    """From what temperature spirit gives off enough vapour to catch fire."""

    flash_point_c: Annotated[float, FLASH_POINT]
    flammable_from_c: Annotated[float, TEMPERATURE.called("Plan as flammable from")]


@dataclass(frozen=True, slots=True)
class FillLimit:
    """How full a pot may be."""

    cautious_volume_l: Annotated[float, VOLUME.called("Fill, to be cautious")]
    most_volume_l: Annotated[float, VOLUME.called("Fill, at most")]


@dataclass(frozen=True, slots=True)
class ChargeLimit:
    """Whether a charge is weak enough, and the water it wants."""

    water_volume_l: Annotated[float, VOLUME.called("Water to add first")]
    final_volume_l: Annotated[float, VOLUME.called("Charge with the water")]
    verdict: str


@checked
def flash_point(abv: Annotated[float, ABV.within(10, 100)]) -> FlashPoint:
    """Return the temperature from which spirit's vapour catches fire at a spark.

    Parameters
    ----------
    abv : float
        Percent by volume, 10 to 100.

    Returns
    -------
    FlashPoint
        Flash point, and the temperature 5 K below it from which to plan as flammable.

    Raises
    ------
    OutOfRangeError
        If the strength is out of range.

    Notes
    -----
    Straight lines between tabulated closed-cup values. Sources dispute whether the tables mean
    percent by mass or by volume, hence the 5 K. Hot, misted or spilt spirit burns below it too.

    References
    ----------
    Safety tables of aqueous ethanol, 10 to 96 %, retrieved, year not stated; NIOSH Pocket Guide to
    Chemical Hazards (2007), ethyl alcohol, flash point 13 C.

    Examples
    --------
    >>> flash_point(40.0)
    FlashPoint(flash_point_c=26.0, flammable_from_c=21.0)
    """
    point = float(np.interp(abv, FLASH_ABV, FLASH_C))
    return FlashPoint(point, point - FLASH_MARGIN_K)


def flash_point_curve() -> dict[str, FloatArray]:
    """Return the flash point, and what to plan with, against strength."""
    abv = np.linspace(10.0, 100.0, 91)
    point = np.interp(abv, FLASH_ABV, FLASH_C)
    return {"abv": abv, "flash_point_c": point, "flammable_from_c": point - FLASH_MARGIN_K}


@checked
def fill_limit(
    pot_l: Annotated[float, VOLUME.within(0.1, 100_000).called("Pot, brim-full")],
    wash: Wash = "wash",
) -> FillLimit:
    """Return how full a pot may be for the kind of wash in it.

    Parameters
    ----------
    pot_l : float
        What the pot holds to the brim, 0.1 to 100,000 L.
    wash : {"foaming-wash", "wash", "low-wines"}
        Foaming wash is rye, fruit pulp or anything on the grain; wash is clear and settled.

    Returns
    -------
    FillLimit
        The fill to be cautious, and the most.

    Raises
    ------
    OutOfRangeError
        If the pot is out of range.

    Notes
    -----
    Of the pot: foaming wash 60 to 66 %, wash 70 to 75 %, clean low wines 80 to 85 %. The charge
    swells by 4 to 5 % as it heats, and foam carries it over into the condenser.

    References
    ----------
    common practice, no source

    Examples
    --------
    >>> fill_limit(30.0, "wash")
    FillLimit(cautious_volume_l=21.0, most_volume_l=22.5)
    """
    cautious, most = FILL_SHARES[wash]
    return FillLimit(cautious * pot_l, most * pot_l)


@checked
def charge_limit(
    volume_l: VolumeL, abv: Abv, temperature_c: SpiritTemperatureC = 20.0
) -> ChargeLimit:
    """Return whether a charge is weak enough to be boiled, and the water it wants if not.

    Parameters
    ----------
    volume_l : float
        Of the charge, at the temperature given.
    abv : float
        Percent by volume at 20 C, 0 to 100.
    temperature_c : float
        Of charge and water, -20 to 40 C.

    Returns
    -------
    ChargeLimit
        Water that brings it to 40 % vol, the charge with it, and a verdict.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    No stronger than 40 % vol: a stronger charge is flammable at room temperature, may boil down
    to bare elements, and gives a cleaner cut if diluted. Water by the dilution's balance of mass.

    References
    ----------
    common practice, no source

    Examples
    --------
    >>> round(charge_limit(10.0, 65.0).water_volume_l, 2)
    6.44
    """
    if abv <= STRONGEST_CHARGE_ABV:
        return ChargeLimit(0.0, volume_l, f"No stronger than {STRONGEST_CHARGE_ABV:g} % vol.")
    found = dilution(volume_l, abv, STRONGEST_CHARGE_ABV, temperature_c)
    verdict = f"Too strong: bring it down to {STRONGEST_CHARGE_ABV:g} % vol before it is heated."
    return ChargeLimit(found.water_volume_l, found.final_volume_l, verdict)
