"""Heat that goes into a mash: liquor, grain, what grain gives off as it wets, and the vessel.

Liquor is measured cold, so that a litre is a kilogram; measured hot it fills 2 to 4 % more.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from calc.quantities import BULK_MASS, BULK_VOLUME, TEMPERATURE, Quantity

WATER_KJ_KG_K = 4.19
# Pauls & Whites Brewing Room Book (1984/85), appendix 4: malt holds 0.38 of water's heat when
# dry and 0.42 at 8 % moisture, and by taking up water warms the mash by so many kelvin. The table
# belongs to 2.68 L of liquor on a kilogram; other mashes share the same heat.
DRY_MALT, PER_PERCENT = 0.38, 0.005
SLAKING_MOISTURE_PERCENT = (0.0, 1.0, 2.0, 4.0, 6.0, 8.0)
SLAKING_RISE_K = (3.0, 2.8, 2.3, 1.5, 1.3, 1.0)
TABLE_L_KG = 2.68
# Beyond the table the last slope goes on until nothing is left, at 14.7 % (common practice).
LAST_SLOPE_K = 0.15

LIQUID_WATER = TEMPERATURE.within(0, 100)
GRAIN_MASS = BULK_MASS.within(0.01, 100_000).called("Grain, all together")
LIQUOR_VOLUME = BULK_VOLUME.within(0.01, 1_000_000).called("Liquor, measured cold")
MOISTURE = Quantity("moisture_percent", "Moisture of the grain", "%", 0, 20)
GRAIN_TEMPERATURE = TEMPERATURE.within(-20, 50).called("Temperature of the grain")
LIQUOR_TEMPERATURE = LIQUID_WATER.called("Temperature of the liquor")
REST_TEMPERATURE = TEMPERATURE.within(20, 99).called("Temperature of the rest")
MASH_TEMPERATURE = LIQUID_WATER.called("Temperature of the mash")
VESSEL_MASS = BULK_MASS.within(0, 50_000).called("Vessel, the mass that warms with the mash")
VESSEL_TEMPERATURE = LIQUID_WATER.called("Temperature of the vessel before")
# Open small mashes lose 5 to 11 K to vessel and time (measured, historic raw-rye mash).
LOSS = Quantity("loss_k", "Loss while mashing in", "K", -3, 15)
FALL = Quantity("fall_k", "Fall", "K", -100, 100)
THICKNESS = Quantity("thickness_l_kg", "Liquor on a kilogram of grain", "L/kg", 0, 100, 2)

GrainMassKg = Annotated[float, GRAIN_MASS]
LiquorVolumeL = Annotated[float, LIQUOR_VOLUME]
GrainTemperatureC = Annotated[float, GRAIN_TEMPERATURE]
MoisturePercent = Annotated[float, MOISTURE]
LiquorTemperatureC = Annotated[float, LIQUOR_TEMPERATURE]
RestTemperatureC = Annotated[float, REST_TEMPERATURE]
MashTemperatureC = Annotated[float, MASH_TEMPERATURE]
VesselMassKg = Annotated[float, VESSEL_MASS]
VesselTemperatureC = Annotated[float, VESSEL_TEMPERATURE]
LossK = Annotated[float, LOSS]
ThicknessLKg = Annotated[float, THICKNESS]


@dataclass(frozen=True, slots=True)
class Mixed:
    """Where a liquor and what is stirred into it come to rest."""

    temperature_c: MashTemperatureC
    fall_k: Annotated[float, FALL]


def grain_kj_k(mass_kg: float, moisture_percent: float) -> float:
    """Return the heat, in kJ, that grain takes up in a kelvin.

    Parameters
    ----------
    mass_kg : float
        As weighed in.
    moisture_percent : float
        0 to 20; the source's figures end at 8.

    Returns
    -------
    float
        kJ/K.

    References
    ----------
    Pauls & Whites, Brewing Room Book 1984/85, appendix 4.

    Examples
    --------
    >>> round(grain_kj_k(1.0, 8.0), 2)
    1.76
    """
    return mass_kg * WATER_KJ_KG_K * (DRY_MALT + PER_PERCENT * moisture_percent)


def slaking_kj(mass_kg: float, moisture_percent: float) -> float:
    """Return the heat, in kJ, that grain gives off when it takes up water.

    Parameters
    ----------
    mass_kg : float
        As weighed in.
    moisture_percent : float
        0 to 20; the source's table ends at 8, from where its last slope goes on to nothing.

    Returns
    -------
    float
        kJ, 0 or more.

    Notes
    -----
    The table's rise of the finished mash, between its rows by straight lines, times what such a
    mash takes up in a kelvin.

    References
    ----------
    Pauls & Whites, Brewing Room Book 1984/85, appendix 4.

    Examples
    --------
    >>> round(slaking_kj(1.0, 0.0), 1)
    38.5
    """
    driest, wettest = SLAKING_MOISTURE_PERCENT[0], SLAKING_MOISTURE_PERCENT[-1]
    within = float(np.clip(moisture_percent, driest, wettest))
    rise = float(np.interp(within, SLAKING_MOISTURE_PERCENT, SLAKING_RISE_K))
    rise = max(rise - LAST_SLOPE_K * (moisture_percent - within), 0.0)
    return rise * (TABLE_L_KG * mass_kg * WATER_KJ_KG_K + grain_kj_k(mass_kg, moisture_percent))
