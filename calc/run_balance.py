"""A boiling pot under a column, told for many guesses at once: rates, strengths, temperatures.

What steps a run through time, or holds a run against its temperatures, asks for the same few
curves thousands of times. They are tables at one pressure here, in mole fractions and moles.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import numpy as np

from calc.alcoholometry import abv_from_mole_fraction, abw_from_mole_fraction, density
from calc.equilibrium import raw_azeotrope, raw_bubble_k, raw_vapour
from calc.heat import raw_g_mol, raw_latent_kj_mol, specific_heat
from calc.pressure import ZERO_C
from calc.quantities import FloatArray

MOST_PLATES: Final = 8
_NODES: Final = 500
_STEP_HPA: Final = 10.0
# At which the heat held by a mole of liquid is told. The published table of mixtures ends here, and
# in it they do not hold more as they warm.
_HELD_C: Final = 40.0
_REFLUX_LOGITS: Final = np.linspace(-5.0, 3.5, 18)  # of the share of the vapour that comes back
_POT_LOGS: Final = np.linspace(np.log(1e-6), np.log(0.8), 120)
_TOP_LOGITS: Final = np.linspace(-14.0, 4.0, 600)


@dataclass(frozen=True, slots=True)
class BoilingTable:
    """Boiling ethanol and water at one pressure, against the square root of the mole fraction."""

    hpa: float
    root: FloatArray
    celsius: FloatArray
    k_hpa: FloatArray  # how boiling rises with pressure
    slope_k: FloatArray  # dT/dx
    ratio: FloatArray  # y / x
    vapour_logit: FloatArray  # of the nodes above 0
    litres: FloatArray  # of a mole, at 20 C
    abv: FloatArray
    held_j: FloatArray  # by a mole, for each kelvin

    def temperature_c(self, x: Any, over_hpa: Any = 0.0) -> Any:
        """Return the bubble point of liquids, some pressure above the table's."""
        root = np.sqrt(x)
        plain = np.interp(root, self.root, self.celsius)
        return plain + over_hpa * np.interp(root, self.root, self.k_hpa)

    def warming_k(self, x: Any) -> Any:
        """Return dT/dx along the bubble line; negative up to the azeotrope."""
        return np.interp(np.sqrt(x), self.root, self.slope_k)

    def vapour(self, x: Any) -> Any:
        """Return the vapour over liquids."""
        return x * np.interp(np.sqrt(x), self.root, self.ratio)

    def liquid_under(self, y: Any) -> Any:
        """Return the liquid a vapour boils from."""
        return np.interp(logit(y), self.vapour_logit, self.root[1:]) ** 2

    def litres_mol(self, x: Any) -> Any:
        """Return the volume of a mole at 20 C."""
        return np.interp(np.sqrt(x), self.root, self.litres)

    def strength_abv(self, x: Any) -> Any:
        """Return strengths, % vol at 20 C."""
        return np.interp(np.sqrt(x), self.root, self.abv)

    def held_j_mol_k(self, x: Any) -> Any:
        """Return the heat a mole of liquid takes for each kelvin."""
        return np.interp(np.sqrt(x), self.root, self.held_j)


@lru_cache(maxsize=64)
def boiling_table(hpa: float) -> BoilingTable:
    """Return the curves at a pressure.

    Parameters
    ----------
    hpa : float
        Absolute, 120 to 1390 hPa.

    Returns
    -------
    BoilingTable
        From water to pure ethanol.

    Notes
    -----
    500 nodes, even in the square root of the mole fraction, joined by straight lines: boiling
    points within 0.002 K and vapour within 0.0002 of `calc.equilibrium` (tested).

    References
    ----------
    Equilibrium fitted to Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, and others named in
    `calc.activity`; volumes by OIML R 22 (1975).

    Examples
    --------
    >>> round(float(boiling_table(1013.25).temperature_c(0.1)), 1)
    86.1
    """
    root = np.linspace(0.0, 1.0, _NODES)
    x = root**2
    kelvin, more = (np.asarray(raw_bubble_k(x, p)) for p in (hpa, hpa + _STEP_HPA))
    inner = np.clip(x, 1e-9, 1.0)
    vapour = np.asarray(raw_vapour(inner, hpa))
    abw = np.asarray(abw_from_mole_fraction(x))
    g_mol = np.asarray(raw_g_mol(x))
    slope = np.gradient(kelvin, root)[1:] / (2.0 * root[1:])
    between = np.clip(vapour[1:], 0.0, 1.0 - 1e-12)
    return BoilingTable(
        hpa=hpa,
        root=root,
        celsius=kelvin - ZERO_C,
        k_hpa=(more - kelvin) / _STEP_HPA,
        slope_k=np.concatenate([slope[:1], slope]),
        ratio=vapour / inner,
        vapour_logit=np.maximum.accumulate(logit(between)),
        litres=g_mol / np.asarray(density(abw, 20.0)),
        abv=np.asarray(abv_from_mole_fraction(x)),
        held_j=g_mol * np.asarray(specific_heat(abw, _HELD_C)),
    )


@dataclass(frozen=True, slots=True)
class ColumnTable:
    """The vapour that leaves a column, by pot, plates above it, and share that comes back."""

    hpa: float
    top_logit: FloatArray  # [plates, reflux, pot]
    rises: FloatArray  # from each pot to the next

    def top(self, x_pot: Any, plates: Any, reflux_logit: Any) -> Any:
        """Return ln(y / (1 - y)) of the vapour at the top; between plates, along straight lines."""
        i, p = _place(plates, 0.0, 1.0, MOST_PLATES + 1)
        j, q = _place(reflux_logit, _REFLUX_LOGITS[0], _STEP_REFLUX, len(_REFLUX_LOGITS))
        k, r = _place(np.log(np.maximum(x_pot, 1e-6)), _POT_LOGS[0], _STEP_POT, len(_POT_LOGS))
        across, down = len(_POT_LOGS), len(_POT_LOGS) * len(_REFLUX_LOGITS)
        flat, rises = self.top_logit.ravel(), self.rises.ravel()

        def along(at: Any) -> Any:
            return flat.take(at) + rises.take(at) * r

        def between(at: Any) -> Any:
            lower = along(at)
            return lower + (along(at + across) - lower) * q

        at = i * down + j * across + k
        lower = between(at)
        return lower + (between(at + down) - lower) * p


_STEP_REFLUX: Final = _REFLUX_LOGITS[1] - _REFLUX_LOGITS[0]
_STEP_POT: Final = _POT_LOGS[1] - _POT_LOGS[0]


@lru_cache(maxsize=32)
def column_table(hpa: float) -> ColumnTable:
    """Return what columns of 0 to 8 plates give at a pressure.

    Parameters
    ----------
    hpa : float
        Absolute, 120 to 1390 hPa.

    Returns
    -------
    ColumnTable
        Top vapour for pots of 1e-6 to 0.8 mole fraction, and 0.7 to 97 % of the vapour coming back.

    Notes
    -----
    McCabe and Thiele's construction with constant molar flows, from a top vapour down: the liquid
    on each plate is in equilibrium with the vapour that leaves it, and the vapour below carries
    reflux x + (1 - reflux) y_top. Where no pot gives the richest tops, they are pressed together
    below the azeotrope.

    References
    ----------
    McCabe & Thiele (1925), Ind. Eng. Chem. 17, 605, doi 10.1021/ie50186a023.

    Examples
    --------
    >>> bare = column_table(1013.25).top(0.1, 0.0, 0.0)
    >>> round(1.0 / (1.0 + float(np.exp(-bare))), 2)
    0.45
    """
    boiling = boiling_table(hpa)
    richest = float(raw_azeotrope(hpa)) - 1e-4
    tops = np.minimum(_TOP_LOGITS, logit(richest))
    y_top = unlogit(tops)[None, :]
    back = unlogit(_REFLUX_LOGITS)[:, None]
    grid = np.empty((MOST_PLATES + 1, len(_REFLUX_LOGITS), len(_POT_LOGS)))
    vapour = np.broadcast_to(y_top, (len(_REFLUX_LOGITS), len(tops)))
    for plates in range(MOST_PLATES + 1):
        liquid = boiling.liquid_under(vapour)
        for row, pots in enumerate(np.log(np.maximum(liquid, 1e-12))):
            rising = np.maximum.accumulate(pots + np.arange(len(pots)) * 1e-12)
            grid[plates, row] = np.interp(_POT_LOGS, rising, tops)
        vapour = np.clip(back * liquid + (1.0 - back) * y_top, 1e-9, richest)
    return ColumnTable(hpa, grid, np.diff(grid, axis=-1, append=grid[..., -1:]))


def boil_off_mol_s(
    heat_w: Any, x_pot: Any, y_top: Any, returned: Any, held_j_mol_k: Any, warming_k: Any
) -> Any:
    """Return the moles that leave a boiling pot for good.

    Parameters
    ----------
    heat_w : float or array
        That reaches the charge, less what the still loses to its room.
    x_pot, y_top : float or array
        Mole fraction in the pot and in what leaves.
    returned : float or array
        Share of the vapour that comes back, below 1.
    held_j_mol_k : float or array
        Heat the pot takes for each kelvin and mole in it, metal and all.
    warming_k : float or array
        dT/dx along the bubble line.

    Returns
    -------
    float or array
        mol/s, none where there is no heat to spare.

    Notes
    -----
    The heat boils V = D / (1 - returned) moles a second, and warms the pot as it grows weaker:
    Q = D (latent / (1 - returned) + C dT/dx (x - y)), with C for each mole.

    References
    ----------
    Energy balance; latent heats as `calc.heat.raw_latent_kj_mol`.

    Examples
    --------
    >>> round(float(boil_off_mol_s(4000.0, 0.03, 0.27, 0.0, 80.0, -240.0)), 3)
    0.089
    """
    latent_j = 1000.0 * raw_latent_kj_mol(y_top) / (1.0 - returned)
    warming_j = held_j_mol_k * warming_k * np.minimum(x_pot - y_top, 0.0)
    return np.maximum(heat_w, 0.0) / (latent_j + np.maximum(warming_j, 0.0))


def logit(share: Any) -> Any:
    """Return ln(s / (1 - s))."""
    return np.log(share / (1.0 - share))


def unlogit(value: Any) -> Any:
    """Return the share whose `logit` a number is."""
    return 1.0 / (1.0 + np.exp(-value))


def _place(value: Any, first: float, step: float, nodes: int) -> tuple[Any, Any]:
    """Return the node below a value and the part of the way to the next; ends are kept."""
    at = np.minimum(np.maximum((np.asarray(value) - first) / step, 0.0), nodes - 1.000001)
    node = at.astype(np.intp)
    return node, at - node
