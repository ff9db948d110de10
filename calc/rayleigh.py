"""A pot boiling down, after Rayleigh: compositions, volumes and energy on the way."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from calc.alcoholometry import (
    ETHANOL_G_MOL,
    WATER_G_MOL,
    abv_from_abw,
    abv_from_mole_fraction,
    abw_from_mole_fraction,
    density,
    mole_fraction_from_abw,
)
from calc.equilibrium import raw_bubble_k, raw_vapour
from calc.heat import SECONDS_PER_HOUR, raw_g_mol, raw_latent_kj_mol, specific_heat
from calc.mixture import Mixture
from calc.pressure import ZERO_C
from calc.quantities import FloatArray

# Panels of the integral no wider than this in ln(x / (1 - x)), in which a constant relative
# volatility makes the integrand smooth all the way: ln(L) within 1e-9 of the closed form, and
# within 1e-8 of an independent integration for a charge of 95 % vol.
_PANEL = 0.005


@dataclass(frozen=True, slots=True)
class BoilDown:
    """A pot on its way, in mole fractions, and the moles left of each mole charged."""

    x: FloatArray
    y: FloatArray
    left: FloatArray


@dataclass(frozen=True, slots=True)
class Trajectory:
    """A run on its way; one element a moment, the first when the charge begins to boil."""

    collected_volume_l: FloatArray
    collected_ethanol_kg: FloatArray
    collected_abv: FloatArray
    spout_abv: FloatArray
    pot_abv: FloatArray
    pot_temperature_c: FloatArray
    boiling_kwh: FloatArray


def boil_down(x_start: float, x_end: float, vapour_of: Callable[[Any], Any]) -> BoilDown:
    """Return a pot on its way from one mole fraction to a lower one.

    Parameters
    ----------
    x_start, x_end : float
        Mole fraction of ethanol in the pot at the start and at the end; above 0, below 1.
    vapour_of : callable
        The vapour over a liquid, by mole fraction, of an array; richer than the liquid all the way.

    Returns
    -------
    BoilDown
        Composition of pot and vapour and the share of the moles left, from start to end.

    Notes
    -----
    d ln(L) = dx / (y - x), integrated over ln(x / (1 - x)) by Simpson's rule in panels of at most
    0.005.

    References
    ----------
    Rayleigh (1902), Philosophical Magazine 4, 521, doi 10.1080/14786440209462876.

    Examples
    --------
    >>> way = boil_down(0.5, 0.33, lambda x: 2.16 * x / (1.0 + 1.16 * x))
    >>> round(float(-np.log(way.left[-1])), 8)
    0.90317397
    """
    high, low = (np.log(x / (1.0 - x)) for x in (x_start, x_end))
    panels = max(8, int(np.ceil((high - low) / _PANEL)))
    nodes = 1.0 / (1.0 + np.exp(-np.linspace(high, low, 2 * panels + 1)))
    nodes[0], nodes[-1] = x_start, x_end
    vapour = np.asarray(vapour_of(nodes))
    slope = nodes * (1.0 - nodes) / (vapour - nodes)
    width = (high - low) / panels
    pieces = (slope[:-2:2] + 4.0 * slope[1:-1:2] + slope[2::2]) * width / 6.0
    log_left = np.concatenate([[0.0], -np.cumsum(pieces)])
    return BoilDown(nodes[::2], vapour[::2], np.exp(log_left))


def boil_mixture_down(charge: Mixture, pressure_hpa: float, x_end: float) -> BoilDown:
    """Return a charge of ethanol and water on its way to a mole fraction in the pot."""
    x_start = mole_fraction_from_abw(charge.abw_fraction)
    return boil_down(x_start, x_end, lambda x: raw_vapour(x, pressure_hpa))


def left_in_pot(charge: Mixture, way: BoilDown) -> Mixture:
    """Return what is in the pot at the end."""
    ethanol = way.left[-1] * way.x[-1] / way.x[0]
    water = way.left[-1] * (1.0 - way.x[-1]) / (1.0 - way.x[0])
    return Mixture(charge.ethanol_kg * float(ethanol), charge.water_kg * float(water))


def litres(ethanol_kg: Any, water_kg: Any) -> Any:
    """Return the volume at 20 C."""
    mass = ethanol_kg + water_kg
    return mass / density(ethanol_kg / mass, 20.0) * 1000.0


def trajectory(charge: Mixture, way: BoilDown, pressure_hpa: float) -> Trajectory:
    """Return the way in what can be measured."""
    kelvin = raw_bubble_k(way.x, pressure_hpa)
    ethanol = charge.ethanol_kg * (1.0 - way.left * way.x / way.x[0])
    water = charge.water_kg * (1.0 - way.left * (1.0 - way.x) / (1.0 - way.x[0]))
    volume, abv = np.zeros_like(ethanol), np.empty_like(ethanol)
    volume[1:] = litres(ethanol[1:], water[1:])
    abv[1:] = abv_from_abw(ethanol[1:] / (ethanol[1:] + water[1:]))
    spout = np.asarray(abv_from_mole_fraction(way.y))
    abv[0] = spout[0]
    return Trajectory(
        collected_volume_l=volume,
        collected_ethanol_kg=ethanol,
        collected_abv=abv,
        spout_abv=spout,
        pot_abv=np.asarray(abv_from_mole_fraction(way.x)),
        pot_temperature_c=kelvin - ZERO_C,
        boiling_kwh=_boiling_kwh(charge, way, kelvin),
    )


def _boiling_kwh(charge: Mixture, way: BoilDown, kelvin: FloatArray) -> FloatArray:
    """Return the energy put in since boiling began, by the trapezium rule."""
    moles = 1000.0 * (charge.ethanol_kg / ETHANOL_G_MOL + charge.water_kg / WATER_G_MOL)
    held = raw_g_mol(way.x) / 1000.0 * specific_heat(abw_from_mole_fraction(way.x), kelvin - ZERO_C)
    vapour = _middles(raw_latent_kj_mol(way.y)) * -np.diff(way.left)
    warming = _middles(way.left * held) * np.diff(kelvin)
    kj = np.concatenate([[0.0], np.cumsum(vapour + warming)]) * moles
    return kj / SECONDS_PER_HOUR


def _middles(values: Any) -> Any:
    return (values[1:] + values[:-1]) / 2.0
