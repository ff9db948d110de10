"""Keeping a mash in its rest: when it leaves the range at its rate, and what brings it back.

Elementwise, so that a band can be worked out with the answer.
"""

from typing import Final

import numpy as np

from calc.mash_heat import WATER_KJ_KG_K, grain_kj_k
from calc.quantities import FloatArray

# A tun's metal and lid for each litre it takes: some 0.1 to 0.3 kg of steel, or a third of that
# and wood (common practice, no source); of stainless steel 0.5 kJ/(kg K).
VESSEL_KJ_K_L: Final = (0.05, 0.15)


def mash_kj_k(liquor_l: float, grain_kg: float, moisture_percent: float = 4.0) -> float:
    """Return what a mash takes up in a kelvin, its vessel left out, in kJ.

    Parameters
    ----------
    liquor_l : float
        Measured cold.
    grain_kg : float
        As weighed in.
    moisture_percent : float
        Of the grain as it came.

    Returns
    -------
    float
        kJ/K.

    References
    ----------
    Pauls & Whites, Brewing Room Book 1984/85, appendix 4 (grain).

    Examples
    --------
    >>> round(mash_kj_k(268.0, 100.0))
    1291
    """
    return liquor_l * WATER_KJ_KG_K + grain_kj_k(grain_kg, moisture_percent)


def minutes_to(
    temperature_c: FloatArray, rate_k_min: FloatArray, room_c: FloatArray, limit_c: FloatArray
) -> FloatArray:
    """Return how many minutes it takes to a limit if nothing is done.

    Parameters
    ----------
    temperature_c : numpy array of float
        Of the mash.
    rate_k_min : numpy array of float
        How fast it changes now, negative if it falls.
    room_c : numpy array of float
        Towards which it falls, more and more slowly; a rise is taken as steady.
    limit_c : numpy array of float
        The temperature it is to reach.

    Returns
    -------
    numpy array of float
        Minutes; infinite where it moves away from the limit or never comes there.

    Notes
    -----
    Falling: T - T_room = (T0 - T_room) exp(-t / tau), tau = (T0 - T_room) / -rate.

    References
    ----------
    Newton's law of cooling.

    Examples
    --------
    >>> now, rate, room, limit = (np.float64(one) for one in (65.0, -0.1, 20.0, 62.0))
    >>> float(minutes_to(now, rate, room, limit).round(1))
    31.0
    """
    above, at_limit = temperature_c - room_c, limit_c - room_c
    falls = (rate_k_min < 0.0) & (limit_c <= temperature_c) & (at_limit > 0.0) & (above > 0.0)
    rises = (rate_k_min > 0.0) & (limit_c >= temperature_c)
    safe_rate = np.where(rate_k_min == 0.0, 1.0, rate_k_min)
    ratio = np.where(falls, above / np.where(at_limit > 0.0, at_limit, 1.0), 1.0)
    falling = above / -safe_rate * np.log(ratio)
    rising = (limit_c - temperature_c) / safe_rate
    return np.asarray(np.where(falls, falling, np.where(rises, rising, np.inf)))


def hot_water_l(heat_kj: FloatArray, water_c: FloatArray, target_c: FloatArray) -> FloatArray:
    """Return the hot water, measured cold, that brings so much heat to a mash.

    Parameters
    ----------
    heat_kj : numpy array of float
        That the mash lacks, 0 or more.
    water_c : numpy array of float
        Of the water, hotter than the target.
    target_c : numpy array of float
        Where both come to rest.

    Returns
    -------
    numpy array of float
        Litres.

    Notes
    -----
    V c_w (T_water - T_target) = heat; the same balance as `calc.rests.rest_step`.

    References
    ----------
    Conservation of energy.

    Examples
    --------
    >>> round(float(hot_water_l(np.float64(15492.0), np.float64(98.0), np.float64(64.0))), 1)
    108.7
    """
    return np.asarray(heat_kj / (WATER_KJ_KG_K * (water_c - target_c)))
