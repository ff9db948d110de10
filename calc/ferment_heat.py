"""How fast a ferment goes, the heat it gives and the temperature it comes to.

The course is an empirical shape: yeast grows over the first hours, then the rate falls with the
square of the sugar left. It is set so that a lively ferment turns over at most a sixteenth, a
quiet one a twenty-fourth, of its sugar in an hour.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from calc.quantities import FloatArray
from calc.sugars import HEXOSE_PER_SUCROSE

# kJ for each kilogram of hexose: middle of 557 (formation enthalpies) and 565 (wine literature,
# about 100 kJ/mol). The 219 kJ/mol sometimes quoted is free energy, not heat.
HEAT_KJ_KG_HEXOSE = 561.0
HEAT_KJ_KG_SUGAR = HEAT_KJ_KG_HEXOSE * HEXOSE_PER_SUCROSE
# A wash counts as water by volume: what its sugar takes off at first its alcohol adds later.
WASH_KJ_L_K = 4.18

Pace = Literal["quiet", "lively"]
# Common practice, no source: rate constant of the shape, and the share of the sugar that goes in
# the fastest hour that it leads to.
RATE_PER_H: Mapping[Pace, float] = {"quiet": 0.0822, "lively": 0.1756}
FASTEST_SHARE_PER_H: Mapping[Pace, float] = {"quiet": 1 / 24, "lively": 1 / 16}
GROWTH_MIDDLE_H, GROWTH_WIDTH_H = 6.0, 2.0

Wall = Literal["bare", "insulated"]
# W/m2/K to still air, bare plastic or steel and wrapped (computed from 7.8 and 2 W/K at 80 L).
WALL_W_M2_K: Mapping[Wall, float] = {"bare": 7.6, "insulated": 1.95}
STEP_H, END_H = 0.25, 168.0


@dataclass(frozen=True, slots=True)
class Vessel:
    """A ferment's vessel: what warms it by a kelvin, and what it loses to the room."""

    capacity_kj_k: float
    loss_w_k: float

    @property
    def time_constant_h(self) -> float:
        """How long the wash takes to come within 37 % of the room."""
        return self.capacity_kj_k / self.loss_w_k / 3.6


def vessel_of(volume_l: float, wall: Wall, loss_w_k: float | None) -> Vessel:
    """Return a vessel as wide as it is high, or one whose loss was measured."""
    area_m2 = 1.5 * np.pi * (4.0 * volume_l / 1000.0 / np.pi) ** (2 / 3)
    loss = WALL_W_M2_K[wall] * area_m2 if loss_w_k is None else loss_w_k
    return Vessel(capacity_kj_k=volume_l * WASH_KJ_L_K, loss_w_k=float(loss))


def hours() -> FloatArray:
    """Return the times at which the course is worked out, in hours from pitching."""
    return np.arange(0.0, END_H + STEP_H, STEP_H)


def share_fermented(time_h: FloatArray, pace: Pace) -> FloatArray:
    """Return the share of the fermentable sugar that has gone.

    Parameters
    ----------
    time_h : numpy array of float
        Hours from pitching, 0 or more.
    pace : {"quiet", "lively"}
        How fast the ferment goes.

    Returns
    -------
    numpy array of float
        0 to 1.

    Notes
    -----
    dF/dt = k g(t) (1 - F)^2 with g a logistic growth, so F = k G / (1 + k G), G its integral.

    References
    ----------
    common practice, no source

    Examples
    --------
    >>> share_fermented(np.array([0.0, 24.0, 72.0]), "quiet").round(2).tolist()
    [0.0, 0.6, 0.84]
    """
    middle = GROWTH_MIDDLE_H / GROWTH_WIDTH_H
    grown = GROWTH_WIDTH_H * (
        np.logaddexp(0.0, time_h / GROWTH_WIDTH_H - middle) - np.logaddexp(0.0, -middle)
    )
    turned = RATE_PER_H[pace] * grown
    return np.asarray(turned / (1.0 + turned))


def rise_above_room(
    heat_kj: float, vessel: Vessel, pace: Pace, start_above_room_k: float
) -> FloatArray:
    """Return how far the wash lies above the room at each of `hours`.

    Parameters
    ----------
    heat_kj : float
        Of the whole ferment.
    vessel : Vessel
        What it takes up and loses.
    pace : {"quiet", "lively"}
        How fast the ferment goes.
    start_above_room_k : float
        Of the wash at pitching; negative if it is colder than the room.

    Returns
    -------
    numpy array of float
        Kelvin, one for each of `hours`.

    Notes
    -----
    C dT/dt = P(t) - UA (T - T_room), with the power held over each step and the exact solution
    over it.

    References
    ----------
    Conservation of energy (Newton's law of cooling).

    Examples
    --------
    >>> above = rise_above_room(8414.0, vessel_of(80.0, "bare", None), "quiet", 3.0)
    >>> float(round(above.max(), 1))
    7.5
    """
    power_w = heat_kj / 3.6 * np.diff(share_fermented(hours(), pace)) / STEP_H
    keep = np.exp(-STEP_H / vessel.time_constant_h)
    above = np.empty(power_w.size + 1)
    above[0] = start_above_room_k
    for i, watt in enumerate(power_w):
        above[i + 1] = above[i] * keep + watt / vessel.loss_w_k * (1.0 - keep)
    return above
