"""The heat balance of a ferment, read backwards: from how it warms to the heat it gives."""

from typing import Final, Literal

import numpy as np

from calc.attenuation import alcohol_from_gravity
from calc.errors import OutOfRangeError
from calc.ferment_heat import HEAT_KJ_KG_HEXOSE, WALL_W_M2_K
from calc.materials import Material
from calc.quantities import FloatArray
from calc.sugar_wash import alcohol_by_mass, complete_sg
from calc.sugars import ETHANOL_KG_L, ETHANOL_PER_HEXOSE

Wrapping = Literal["bare", "insulated"]
# W/m2/K through the wall itself: a stave of 40 mm (0.15 W/m K across the grain, ISO 10456:2007,
# table 3, softwood 0.13 and hardwood 0.18, from memory). Metal and thin plastic hinder nothing.
WOOD_W_M2_K: Final = 0.15 / 0.040


def heat_rate(
    slope_k_h: FloatArray, above_room_k: FloatArray, capacity_kj_k: FloatArray, loss_w_k: FloatArray
) -> FloatArray:
    """Return the heat, in W, that a ferment gives, from how it warms and what it loses.

    Parameters
    ----------
    slope_k_h : numpy array of float
        How fast the wash warms.
    above_room_k : numpy array of float
        How far it lies above the room.
    capacity_kj_k : numpy array of float
        What it takes up in a kelvin.
    loss_w_k : numpy array of float
        What it loses for each kelvin above the room.

    Returns
    -------
    numpy array of float
        W; below nothing where something cools it besides the room.

    Notes
    -----
    P = C dT/dt + UA (T - T_room).

    References
    ----------
    Conservation of energy (Newton's law of cooling).

    Examples
    --------
    >>> float(heat_rate(np.float64(0.36), np.float64(8.0), np.float64(335.0), np.float64(7.8)))
    95.9
    """
    return np.asarray(capacity_kj_k * slope_k_h / 3.6 + loss_w_k * above_room_k)


def cooling_time_constant(
    time_h: FloatArray, temperature_c: FloatArray, room_temperature_c: FloatArray
) -> float:
    """Return the time constant, in hours, of something that only cools.

    Parameters
    ----------
    time_h, temperature_c, room_temperature_c : numpy array of float
        When, how warm it was, and how warm the room was.

    Returns
    -------
    float
        Capacity over loss.

    Raises
    ------
    OutOfRangeError
        If it does not come nearer to the room.

    Notes
    -----
    Integrated, C dT/dt = -UA (T - T_room) is T(t) = T(0) - A(t) / tau with A the area between
    the two curves (trapezia): a straight line, whose slope least squares finds. Unlike the
    logarithm of the difference it stands a room that swings.

    References
    ----------
    Newton's law of cooling.

    Examples
    --------
    >>> t = np.linspace(0.0, 10.0, 601)
    >>> round(cooling_time_constant(t, 18.0 + 12.0 * np.exp(-t / 25.0), np.full(601, 18.0)), 2)
    25.0
    """
    above = temperature_c - room_temperature_c
    area = np.concatenate(([0.0], np.cumsum(np.diff(time_h) * (above[1:] + above[:-1]) / 2.0)))
    slope = np.polyfit(area, temperature_c, 1)[0]
    if not slope < 0.0:
        raise OutOfRangeError(
            "Temperature (temperature_c) does not come nearer to that of the room; a time constant "
            "is found where something cools by itself.",
            quantity="temperature_c",
        )
    return float(-1.0 / slope)


def wall_w_m2_k(material: Material | None, wrapping: Wrapping) -> float:
    """Return what a square metre of a vessel's wall loses for each kelvin, in W/(m2 K).

    Parameters
    ----------
    material : str, optional
        What the vessel is made of.
    wrapping : {"bare", "insulated"}
        Still air around it, or something that insulates.

    Returns
    -------
    float
        W/(m2 K).

    Notes
    -----
    Resistances in a row: 1/U = 1/U_air + 1/U_wood.

    References
    ----------
    Still air and wrapping: see `calc.ferment_heat` (common practice, no source). Wood: ISO
    10456:2007, table 3, from memory.

    Examples
    --------
    >>> round(wall_w_m2_k("wood", "bare"), 1)
    2.5
    """
    air = WALL_W_M2_K[wrapping]
    return air if material != "wood" else 1.0 / (1.0 / air + 1.0 / WOOD_W_M2_K)


def wall_m2(volume_l: float) -> float:
    """Return the wall and bottom of a vessel as wide as it is high, in square metres.

    Parameters
    ----------
    volume_l : float
        What the vessel takes.

    Returns
    -------
    float
        Square metres, lid included.

    References
    ----------
    Geometry of the cylinder.

    Examples
    --------
    >>> round(wall_m2(80.0), 2)
    1.03
    """
    return float(1.5 * np.pi * (4.0 * volume_l / 1000.0 / np.pi) ** (2 / 3))


def alcohol_per_fall(original_sg: float) -> tuple[float, float]:
    """Return the alcohol, in % vol, that a wash makes for each 0.001 its gravity falls.

    Parameters
    ----------
    original_sg : float
        Before fermentation, at 20 C, 1.020 to 1.13.

    Returns
    -------
    tuple of float
        % vol for each thousandth: by Balling's relation, and by mass balance.

    Notes
    -----
    Balling's counts the yeast that grows in beer; the mass balance is that of a wash of plain
    sugar of which 95 % becomes alcohol. A wash lies between the two, or near one of them.

    References
    ----------
    See `calc.attenuation` and `calc.sugar_wash`.

    Examples
    --------
    >>> [round(one, 3) for one in alcohol_per_fall(1.0600)]
    [0.133, 0.144]
    """
    dry = complete_sg(original_sg)
    by_mass = alcohol_by_mass(original_sg, dry).abv / (original_sg - dry)
    balling = alcohol_from_gravity(original_sg, 1.0).abv / (original_sg - 1.0)
    return balling / 1000.0, by_mass / 1000.0


def heat_of_alcohol(abv: float) -> float:
    """Return the heat, in kJ from a litre, that went with the making of its alcohol.

    Parameters
    ----------
    abv : float
        Of the wash, % vol at 20 C.

    Returns
    -------
    float
        kJ/L.

    Notes
    -----
    561 kJ for each kilogram of hexose that became alcohol, at 0.5114 kg/kg.

    References
    ----------
    Formation enthalpies and wine literature, 557 to 565 kJ/kg hexose (100 kJ/mol), with L. A.
    Williams, Am. J. Enol. Vitic. 33 (1982) 149 (from memory).

    Examples
    --------
    >>> round(heat_of_alcohol(8.0))
    69
    """
    return HEAT_KJ_KG_HEXOSE * abv / 100.0 * ETHANOL_KG_L / ETHANOL_PER_HEXOSE
