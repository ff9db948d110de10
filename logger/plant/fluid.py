"""Ethanol and water as the plant knows them, in tables that a step can afford.

Independent of `calc`'s equilibrium and heat: activity by `logger.plant.activity`; vapour pressure
by Antoine's equation with the constants of Gmehling & Onken, Vapor-Liquid Equilibrium Data
Collection, DECHEMA Chemistry Data Series I/1 (1977) (from memory); heat capacities of the pure
liquids and latent heats after Perry's Chemical Engineers' Handbook, 8th ed. (2008), tables 2-153
and 2-150. Heat of mixing near the boiling point is the activity model's; towards the cold it goes
by what mixtures were measured to hold, as the model gives half of that. Only density and strength
by volume are `calc.alcoholometry`'s: they are definitions (OIML R 22), not estimates.

Amounts are in moles, x and y mole fractions of ethanol, temperatures in C, heat counted from the
pure liquids at 0 C.
"""

from functools import lru_cache
from math import sqrt
from typing import Any, Final, NamedTuple

import numpy as np

from calc.alcoholometry import ETHANOL_G_MOL, WATER_G_MOL, abw_from_mole_fraction, density
from logger.errors import PlantError
from logger.plant.activity import excess_j_mol, log_gammas

ZERO_C: Final = 273.15
ETHANOL_KG_MOL: Final = ETHANOL_G_MOL / 1000.0
WATER_KG_MOL: Final = WATER_G_MOL / 1000.0
ETHANOL_KG_L: Final = float(density(1.0, 20.0)) / 1000.0  # of pure alcohol at 20 C

LOWEST_HPA: Final = 500.0
HIGHEST_HPA: Final = 1300.0
_STEP_HPA: Final = 25.0
_CLOSE_K: Final = 1e-9
_NODES: Final = 401  # even in sqrt(x), so that dilute liquids are well resolved
_LAST: Final = _NODES - 1
_SQUARED: Final = _LAST**2

# log10(P / mmHg) = A - B / (t + C)
_ETHANOL_ANTOINE: Final = (8.11220, 1592.864, 226.184)
_WATER_ANTOINE: Final = (8.07131, 1730.630, 233.426)
_HPA_MMHG: Final = 1.33322387
# J/(mol K): powers of T in kelvin
_ETHANOL_CP: Final = (102.640, -0.13963, -3.0341e-5, 2.0386e-6, 0.0)
_WATER_CP: Final = (276.370, -2.0901, 8.125e-3, -1.4116e-5, 9.3701e-9)
# J/mol: C1 (1 - Tr)^(C2 + C3 Tr + C4 Tr^2)
_ETHANOL_LATENT: Final = (514.0, 55789.0, 0.31245, 0.0, 0.0)
_WATER_LATENT: Final = (647.096, 52053.0, 0.3199, -0.212, 0.25795)
# What a mixture holds beyond its parts at 41 C, J/(mol K), by mole fraction: from Perry's specific
# heats of aqueous solutions of ethyl alcohol (from memory). It shrinks as it warms: to some three
# quarters at 80 C by the heats of mixing of J. A. Larkin, J. Chem. Thermodyn. 7 (1975) 137 (from
# memory).
_MEASURED_C: Final = 41.0
_HELD_X: Final = (0.0, 0.0416, 0.115, 0.370, 0.610, 1.0)
_HELD_J_MOL_K: Final = (0.0, 4.8, 11.4, 13.2, 9.1, 0.0)
_SHRINKS_K: Final = 0.0064
_MIXED_C: Final = 80.0  # where the activity model's heat of mixing is taken


class Boiling(NamedTuple):
    """A liquid that boils: its temperature, the vapour over it, how it rises as ethanol goes."""

    temperature_c: float
    vapour: float
    slope_k: float  # dt/dx


class Liquid(NamedTuple):
    """The heat of a mole of a liquid, as a cubic in C."""

    c0: float
    c1: float
    c2: float
    c3: float

    def heat(self, t: float) -> float:
        """J/mol at a temperature."""
        return self.c0 + t * (self.c1 + t * (self.c2 + t * self.c3))

    def capacity(self, t: float) -> float:
        """J/(mol K) at a temperature."""
        return self.c1 + t * (2.0 * self.c2 + 3.0 * t * self.c3)


class Fluid:
    """The tables. One is enough for everybody: `fluid()`."""

    def __init__(self) -> None:
        x = np.linspace(0.0, 1.0, _NODES) ** 2
        self._pressures = np.arange(LOWEST_HPA, HIGHEST_HPA + _STEP_HPA, _STEP_HPA)
        boiling = _boiling(x, self._pressures)
        self._t = [t.tolist() for t, _ in boiling]
        self._k = [k.tolist() for _, k in boiling]
        self._h = [Liquid(*row) for row in _liquid_cubics(x).tolist()]
        self._litres = (1000.0 * _molar_kg(x) / _density_20(x)).tolist()
        self._vapour = _vapour_quadratics().tolist()

    def boil(self, x: float, hpa: float) -> Boiling:
        """Boil a liquid at a pressure between 500 and 1300 hPa."""
        if not LOWEST_HPA <= hpa < HIGHEST_HPA:
            raise PlantError(
                f"The simulated still is at {hpa:.0f} hPa; its tables reach from "
                f"{LOWEST_HPA:.0f} to {HIGHEST_HPA:.0f} hPa."
            )
        at = (hpa - LOWEST_HPA) / _STEP_HPA
        row = int(at)
        up = at - row
        u = sqrt(x) * _LAST
        i = int(u) if u < _LAST else _LAST - 1
        f, j = u - i, i + 1
        t0, t1, k0, k1 = self._t[row], self._t[row + 1], self._k[row], self._k[row + 1]
        left = t0[i] + up * (t1[i] - t0[i])
        right = t0[j] + up * (t1[j] - t0[j])
        k_left = k0[i] + up * (k1[i] - k0[i])
        k_right = k0[j] + up * (k1[j] - k0[j])
        slope = (right - left) * _SQUARED / (i + j)
        return Boiling(left + f * (right - left), x * (k_left + f * (k_right - k_left)), slope)

    def liquid(self, x: float) -> Liquid:
        """Give a liquid's heat as a cubic in temperature."""
        u = sqrt(x) * _LAST
        i = int(u) if u < _LAST else _LAST - 1
        f = u - i
        (a0, a1, a2, a3), (b0, b1, b2, b3) = self._h[i], self._h[i + 1]
        return Liquid(
            a0 + f * (b0 - a0), a1 + f * (b1 - a1), a2 + f * (b2 - a2), a3 + f * (b3 - a3)
        )

    def vapour_heat(self, y: float, t: float) -> float:
        """Give J/mol of a vapour at a temperature."""
        (e0, e1, e2), (w0, w1, w2) = self._vapour
        ethanol = e0 + t * (e1 + t * e2)
        water = w0 + t * (w1 + t * w2)
        return float(water + y * (ethanol - water))

    def litres_mol(self, x: float) -> float:
        """Give the volume of a mole at 20 C."""
        u = sqrt(x) * _LAST
        i = int(u) if u < _LAST else _LAST - 1
        return float(self._litres[i] + (u - i) * (self._litres[i + 1] - self._litres[i]))

    def abv(self, x: float) -> float:
        """Give the strength of a liquid, % vol at 20 C."""
        return 100.0 * x * ETHANOL_KG_MOL / ETHANOL_KG_L / self.litres_mol(x)


@lru_cache(maxsize=1)
def fluid() -> Fluid:
    """Make the tables, once."""
    return Fluid()


def pure_hpa(kelvin: Any) -> tuple[Any, Any]:
    """Give the vapour pressures of ethanol and of water."""
    ethanol, water = (
        _HPA_MMHG * 10.0 ** (a - b / (kelvin - ZERO_C + c))
        for a, b, c in (_ETHANOL_ANTOINE, _WATER_ANTOINE)
    )
    return ethanol, water


def partial_hpa(x: Any, kelvin: Any) -> tuple[Any, Any]:
    """Give the partial pressures of ethanol and water over a liquid."""
    gammas = np.exp(log_gammas(x, kelvin))
    ethanol, water = pure_hpa(kelvin)
    return x * gammas[..., 0] * ethanol, (1.0 - x) * gammas[..., 1] * water


def _boiling(x: Any, pressures: Any) -> list[tuple[Any, Any]]:
    """Give `_boil` at each pressure in turn, each from where the one before came out."""
    found, kelvin = [], np.full_like(x, 365.0)
    for hpa in pressures:
        t, ratio = _boil(x, hpa, kelvin)
        found.append((t, ratio))
        kelvin = t + ZERO_C
    return found


def _boil(x: Any, hpa: float, kelvin: Any) -> tuple[Any, Any]:
    """Give the boiling temperature in C and y/x of liquids, by Newton's method from a guess."""
    for _ in range(12):
        over, above = (np.log(sum(partial_hpa(x, kelvin + d)) / hpa) for d in (0.0, 0.01))
        step = 0.01 * over / (above - over)
        kelvin = kelvin - step
        if np.abs(step).max() < _CLOSE_K:
            break
    ratio = np.exp(log_gammas(x, kelvin))[..., 0] * pure_hpa(kelvin)[0] / hpa
    return kelvin - ZERO_C, ratio


def _integral(cp: tuple[float, ...], kelvin: Any) -> Any:
    return sum(c / (n + 1) * (kelvin ** (n + 1) - ZERO_C ** (n + 1)) for n, c in enumerate(cp))


def _latent(constants: tuple[float, ...], kelvin: Any) -> Any:
    critical, c1, c2, c3, c4 = constants
    r = kelvin / critical
    return c1 * (1.0 - r) ** (c2 + c3 * r + c4 * r * r)


def _liquid_cubics(x: Any) -> Any:
    """Fit heat against temperature from 0 to 110 C, liquid by liquid."""
    t = np.linspace(0.0, 110.0, 23)
    kelvin = t + ZERO_C
    pure = x[:, None] * _integral(_ETHANOL_CP, kelvin)
    pure = pure + (1.0 - x[:, None]) * _integral(_WATER_CP, kelvin)
    mixing = excess_j_mol(x, _MIXED_C + ZERO_C)[:, None] + _held_beyond(x[:, None], t)
    return np.polynomial.polynomial.polyfit(t, (pure + mixing).T, 3).T


def _held_beyond(x: Any, t: Any) -> Any:
    """Give the heat that a mixture takes up beyond its parts from 80 C to a temperature, J/mol."""
    at_41 = np.interp(x, _HELD_X, _HELD_J_MOL_K)
    middle = (t + _MIXED_C) / 2.0
    return at_41 * (t - _MIXED_C) * (1.0 - _SHRINKS_K * (middle - _MEASURED_C))


def _vapour_quadratics() -> Any:
    t = np.linspace(20.0, 115.0, 20)
    kelvin = t + ZERO_C
    ethanol = _integral(_ETHANOL_CP, kelvin) + _latent(_ETHANOL_LATENT, kelvin)
    water = _integral(_WATER_CP, kelvin) + _latent(_WATER_LATENT, kelvin)
    return np.polynomial.polynomial.polyfit(t, np.stack([ethanol, water], axis=1), 2).T


def _molar_kg(x: Any) -> Any:
    return x * ETHANOL_KG_MOL + (1.0 - x) * WATER_KG_MOL


def _density_20(x: Any) -> Any:
    return density(abw_from_mole_fraction(x), 20.0)
