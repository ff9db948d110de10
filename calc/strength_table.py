"""Strength against temperature and pressure as a table: for the live path and for long lines.

Between the azeotrope's boiling point and water's, the strength of vapour and of liquid is nearly
straight in s = sqrt((T - T_azeotrope) / (T_water - T_azeotrope)), and at one s nearly the same at
every pressure. So a small grid in s and ln(pressure), built on first use in a fraction of a
second, stands for the equilibrium within 0.02 % vol (tested).
"""

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from calc.alcoholometry import abv_from_mole_fraction
from calc.equilibrium import raw_azeotrope, raw_bubble_k, raw_liquid_at, raw_partial_hpa
from calc.pressure import STILL_PRESSURE, water_boiling_k
from calc.quantities import FloatArray

_PRESSURES = 24
_STEPS = 400
_DEGREE = 8  # of the azeotrope's temperature and strength in ln(pressure)


@dataclass(frozen=True, slots=True)
class StrengthTable:
    """The grid, in % vol: a row for each pressure, evenly spaced in its logarithm."""

    log_low: float
    log_step: float
    vapour: FloatArray
    liquid: FloatArray
    azeotrope_k: FloatArray  # polynomials in the row number, highest power first
    azeotrope_abv: FloatArray

    def row(self, pressure_hpa: Any) -> Any:
        """Return the row a pressure falls on, with its fraction."""
        return (np.log(pressure_hpa) - self.log_low) / self.log_step

    def look_up(self, grid: FloatArray, s: Any, pressure_hpa: Any) -> Any:
        """Return a value between the four around it."""
        across, down = s * _STEPS, self.row(pressure_hpa)
        i = np.minimum(across, _STEPS - 1).astype(int)
        j = np.clip(down, 0, _PRESSURES - 2).astype(int)
        p, q = across - i, down - j
        flat, at = grid.ravel(), j * (_STEPS + 1) + i
        upper = flat[at] * (1 - p) + flat[at + 1] * p
        below = at + _STEPS + 1
        return upper * (1 - q) + (flat[below] * (1 - p) + flat[below + 1] * p) * q


@cache
def strength_table() -> StrengthTable:
    """Build the table; once in the life of a process."""
    logs = np.linspace(np.log(STILL_PRESSURE.low), np.log(STILL_PRESSURE.high), _PRESSURES)
    hpa = np.exp(logs)[:, None]
    s = np.linspace(0.0, 1.0, _STEPS + 1)
    richest = raw_azeotrope(hpa)
    coolest = raw_bubble_k(richest, hpa)
    kelvin = coolest + s[1:-1] ** 2 * (water_boiling_k(hpa) - coolest)
    x = np.hstack([richest, raw_liquid_at(kelvin, hpa), np.zeros_like(hpa)])
    ethanol, water = raw_partial_hpa(x, raw_bubble_k(x, hpa))
    liquid = np.asarray(abv_from_mole_fraction(x))
    rows = np.arange(_PRESSURES)
    return StrengthTable(
        log_low=float(logs[0]),
        log_step=float(logs[1] - logs[0]),
        vapour=np.asarray(abv_from_mole_fraction(ethanol / (ethanol + water))),
        liquid=liquid,
        azeotrope_k=np.polyfit(rows, coolest[:, 0], _DEGREE),
        azeotrope_abv=np.polyfit(rows, liquid[:, 0], _DEGREE),
    )


def azeotrope_k(pressure_hpa: Any) -> Any:
    """Return the boiling temperature of the azeotrope: the coolest there is at a pressure."""
    table = strength_table()
    return np.polyval(table.azeotrope_k, table.row(pressure_hpa))


def azeotrope_abv(pressure_hpa: Any) -> Any:
    """Return the strength of the azeotrope."""
    table = strength_table()
    return np.polyval(table.azeotrope_abv, table.row(pressure_hpa))


def vapour_abv(kelvin: Any, pressure_hpa: Any) -> Any:
    """Return the strength of saturated vapour; between `azeotrope_k` and water's boiling point."""
    table = strength_table()
    return table.look_up(table.vapour, _s(kelvin, pressure_hpa), pressure_hpa)


def liquid_abv(kelvin: Any, pressure_hpa: Any) -> Any:
    """Return the strength of boiling liquid; between `azeotrope_k` and water's boiling point."""
    table = strength_table()
    return table.look_up(table.liquid, _s(kelvin, pressure_hpa), pressure_hpa)


def _s(kelvin: Any, pressure_hpa: Any) -> Any:
    coolest = azeotrope_k(pressure_hpa)
    part = (kelvin - coolest) / (water_boiling_k(pressure_hpa) - coolest)
    return np.sqrt(np.maximum(part, 0.0))  # at the azeotrope the difference rounds to -1e-16
