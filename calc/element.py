"""The heating element: what its energy costs, and what must stay over it."""

from dataclasses import dataclass
from math import inf, pi
from typing import Annotated

from calc.errors import OutOfRangeError
from calc.heat import HEATED_VOLUME
from calc.quantities import (
    EXPECTED_VOLUME,
    VOLUME,
    DurationH,
    EnergyKwh,
    PowerKw,
    Quantity,
    checked,
)

PRICE = Quantity("price_per_kwh", "Price of a kilowatt-hour", "", 0, 1000, 4)
COST = Quantity("cost", "Cost, in the currency of the price", "", 0, inf, 2)
EFFICIENCY = Quantity("efficiency", "Share of the energy that reaches the still", "", 0.05, 1, 2)
POT_DIAMETER = Quantity("pot_diameter_cm", "Inner diameter of the pot", "cm", 5, 500)
ELEMENT_TOP = Quantity(
    "element_top_cm", "Top of the element above the pot's lowest point", "cm", 0, 200
)
ELEMENT_MARGIN = Quantity("margin_cm", "Liquid to keep above it", "cm", 0, 50)
BOTTOM_VOLUME = VOLUME.within(0, 10_000).called(
    "Volume of a dished bottom, below the straight wall"
)


@dataclass(frozen=True, slots=True)
class EnergyCost:
    """Energy bought, and its price."""

    energy_kwh: EnergyKwh
    cost: Annotated[float, COST]


@dataclass(frozen=True, slots=True)
class ElementCover:
    """What an element needs over it, and what that leaves to collect."""

    cover_volume_l: Annotated[float, EXPECTED_VOLUME.called("Volume that must stay in the pot")]
    most_collected_l: Annotated[float, EXPECTED_VOLUME.called("Most that can be collected")]


@checked
def energy_cost(
    power_kw: PowerKw,
    duration_h: DurationH,
    price_per_kwh: Annotated[float, PRICE],
    efficiency: Annotated[float, EFFICIENCY] = 1.0,
) -> EnergyCost:
    """Return the energy a heater takes and what it costs.

    Parameters
    ----------
    power_kw : float
        Heating power that reaches the still, 0.05 to 2000 kW.
    duration_h : float
        How long it is on.
    price_per_kwh : float
        Of the energy bought, in any currency.
    efficiency : float
        Share of it that reaches the still, 0.05 to 1: 1 for an element in the liquid, 0.3 to 0.5
        for a gas ring under the pot, about 0.8 for a boiler and jacket.

    Returns
    -------
    EnergyCost
        Energy bought and its cost in the currency of the price.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Energy = power x time / efficiency; cost = energy x price.

    References
    ----------
    Definition; efficiencies: common practice, no source.

    Examples
    --------
    >>> energy_cost(2.0, 3.5, 0.30)
    EnergyCost(energy_kwh=7.0, cost=2.1)
    """
    energy = power_kw * duration_h / efficiency
    return EnergyCost(energy, energy * price_per_kwh)


@checked
def element_cover(
    volume_l: Annotated[float, HEATED_VOLUME],
    pot_diameter_cm: Annotated[float, POT_DIAMETER],
    element_top_cm: Annotated[float, ELEMENT_TOP],
    margin_cm: Annotated[float, ELEMENT_MARGIN] = 3.0,
    bottom_volume_l: Annotated[float, BOTTOM_VOLUME] = 0.0,
    bottom_depth_cm: Annotated[
        float, Quantity("bottom_depth_cm", "Depth of a dished bottom", "cm", 0, 100)
    ] = 0.0,
) -> ElementCover:
    """Return the volume that keeps an element covered and what that leaves to collect.

    Parameters
    ----------
    volume_l : float
        Charge, 0.1 to 100,000 L at 20 C.
    pot_diameter_cm : float
        Inner diameter of the upright round pot, 5 to 500 cm.
    element_top_cm : float
        Highest point of the element above the pot's lowest point, 0 to 200 cm.
    margin_cm : float
        Liquid to keep above it, 0 to 50 cm.
    bottom_volume_l, bottom_depth_cm : float
        Volume and depth of a dished bottom, 0 where it is flat.

    Returns
    -------
    ElementCover
        Litres that must stay, and litres that may be collected.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the charge does not cover the element in the first place.

    Notes
    -----
    A cylinder over the dished bottom; height counts from the bottom of the dish. Volumes are the
    charge's at 20 C: the boiling liquid stands about 4 % higher, which is left as a reserve; it
    more than covers that volumes do not quite add, under 0.2 % of the charge.

    References
    ----------
    Geometry; margin: common practice, no source.

    Examples
    --------
    >>> found = element_cover(25.0, 30.0, 8.0)
    >>> round(found.cover_volume_l, 2), round(found.most_collected_l, 2)
    (7.78, 17.22)
    """
    straight_cm = max(0.0, element_top_cm + margin_cm - bottom_depth_cm)
    cover = bottom_volume_l + pi / 4.0 * pot_diameter_cm**2 * straight_cm / 1000.0
    if cover >= volume_l:
        raise OutOfRangeError(
            f"Volume in the pot (volume_l) is {volume_l:g} L; the element needs {cover:.1f} L over "
            "it. Fill more, or do not heat.",
            quantity="volume_l",
        )
    return ElementCover(cover, volume_l - cover)
