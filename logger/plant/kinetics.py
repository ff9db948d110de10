"""How yeast grows, eats sugar and makes alcohol, by temperature: a published model.

D. I. P. Atala, A. C. Costa, R. Maciel Filho and F. Maugeri, "Kinetics of ethanol fermentation with
high biomass concentration considering the effect of temperature", Appl. Biochem. Biotechnol.
91-93 (2001) 353, doi 10.1385/ABAB:91-93:1-9:353: Saccharomyces cerevisiae on cane molasses, 28 to
40 C. The equations and constants are from memory of that paper and of its later use in E. C.
Rivera et al., Process Biochem. 41 (2006) 1682, doi 10.1016/j.procbio.2006.02.009.

Beyond its range (ours, no source): below 28 C the yields and the largest amounts stay what they
are at 28 C, and the growth rate's own expression goes on; above 40 C likewise, until that
expression reaches nothing at about 43 C. Maintenance needs sugar (S / (Ks + S), as growth does),
and slows with the growth rate below 28 C.
"""

from dataclasses import dataclass
from math import exp
from typing import Final

COLDEST_C: Final = 28.0
HOTTEST_C: Final = 40.0
KS_G_L: Final = 4.1
KI_L_G: Final = 0.004
MAINTENANCE_PRODUCT_PER_H: Final = 0.1
MAINTENANCE_SUGAR_PER_H: Final = 0.2
CROWDING: Final = 1.0
INHIBITION: Final = 1.5


@dataclass(frozen=True, slots=True)
class AtTemperature:
    """The constants that depend on temperature."""

    growth_per_h: float
    most_cells_g_l: float
    most_ethanol_g_l: float
    cells_per_sugar: float
    ethanol_per_cells: float

    @classmethod
    def of(cls, temperature_c: float) -> "AtTemperature":
        """Give them at a temperature in C."""
        t = min(max(temperature_c, COLDEST_C), HOTTEST_C)
        growth = 0.0
        if temperature_c > 1.0:  # exp(-41.47 / T) has no meaning near freezing
            growth = 1.57 * exp(-41.47 / temperature_c) - 1.29e4 * exp(-431.4 / temperature_c)
        return cls(
            growth_per_h=max(growth, 0.0),
            most_cells_g_l=-0.3279 * t * t + 18.484 * t - 191.06,
            most_ethanol_g_l=-0.4421 * t * t + 26.41 * t - 279.75,
            cells_per_sugar=2.704 * exp(-0.1225 * t),
            ethanol_per_cells=0.2556 * exp(0.1086 * t),
        )


@dataclass(frozen=True, slots=True)
class Rates:
    """Grams a litre an hour."""

    cells: float
    ethanol: float
    sugar: float  # used up


def rates(cells_g_l: float, ethanol_g_l: float, sugar_g_l: float, temperature_c: float) -> Rates:
    """Give the rates of the model at a state; sugar as hexose."""
    if sugar_g_l <= 0.0 or cells_g_l <= 0.0:
        return Rates(0.0, 0.0, 0.0)
    at = AtTemperature.of(temperature_c)
    fed = sugar_g_l / (KS_G_L + sugar_g_l)
    room = max(1.0 - cells_g_l / at.most_cells_g_l, 0.0) ** CROWDING
    sober = max(1.0 - ethanol_g_l / at.most_ethanol_g_l, 0.0) ** INHIBITION
    growth = at.growth_per_h * fed * exp(-KI_L_G * sugar_g_l) * room * sober * cells_g_l
    keep = fed * cells_g_l * _maintenance(at.growth_per_h)
    if sober <= 0.0:
        keep = 0.0
    return Rates(
        cells=growth,
        ethanol=at.ethanol_per_cells * growth + MAINTENANCE_PRODUCT_PER_H * keep,
        sugar=growth / at.cells_per_sugar + MAINTENANCE_SUGAR_PER_H * keep,
    )


_GROWTH_AT_COLDEST: Final = AtTemperature.of(COLDEST_C).growth_per_h


def _maintenance(growth_per_h: float) -> float:
    """Give the share of maintenance that a temperature leaves; all of it in the paper's range."""
    return min(growth_per_h / _GROWTH_AT_COLDEST, 1.0)
