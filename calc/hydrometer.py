"""The hydrometer at any temperature, and the density of water it is corrected by."""

from dataclasses import dataclass
from typing import Annotated

from calc.gravity import plato_from_sg
from calc.quantities import (
    DENSITY,
    SG,
    TEMPERATURE,
    Plato,
    Quantity,
    ReferenceTemperatureC,
    checked,
    elementwise,
)

CORRECTION = Quantity("correction_sg", "Correction", "", -0.05, 0.05, 4)
HOT_WATER = TEMPERATURE.within(0, 100)
# Hotter wort warps a hydrometer's scale or breaks its glass.
HYDROMETER_TEMPERATURE = TEMPERATURE.within(0, 60).called("Temperature of the sample")


@dataclass(frozen=True, slots=True)
class HydrometerReading:
    """A hydrometer's reading once its temperature is allowed for."""

    sg: Annotated[float, SG.called("True specific gravity")]
    correction_sg: Annotated[float, CORRECTION]
    plato: Plato


@checked
def hydrometer(
    reading_sg: Annotated[float, SG.called("Hydrometer reading")],
    temperature_c: Annotated[float, HYDROMETER_TEMPERATURE],
    reference_temperature_c: ReferenceTemperatureC = 20.0,
) -> HydrometerReading:
    """Return the true specific gravity from a hydrometer's reading at any temperature.

    Parameters
    ----------
    reading_sg : float
        What the instrument shows, 0.975 to 1.18.
    temperature_c : float
        Of the sample when it was read, 0 to 60 C; let a hotter one cool.
    reference_temperature_c : float
        Marked on the instrument: 20 C, 15 C or 15.56 C (60 F).

    Returns
    -------
    HydrometerReading
        The specific gravity at the instrument's temperature, what was added, and degrees Plato.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the corrected gravity is.

    Notes
    -----
    SG = reading x rho(T0) / rho(t) with the density of water: the sample is taken to expand as
    water does. Its sugar makes it expand a little more, and the glass's own expansion undoes
    most of that; together they stay under 0.0005 up to 40 C (sucrose tables, from memory).

    References
    ----------
    Kell, G. S. (1975), J. Chem. Eng. Data 20, 97-105, doi 10.1021/je60064a005 (water);
    correction tables for hydrometers made for 15 C agree to 0.0001.

    Examples
    --------
    >>> round(hydrometer(1.050, 30.0, 15.0).sg, 4)
    1.0536
    """
    factor = _water(reference_temperature_c) / _water(temperature_c)
    sg = reading_sg * factor
    SG.called("True specific gravity").check(sg, "reading_sg")
    return HydrometerReading(sg=sg, correction_sg=sg - reading_sg, plato=plato_from_sg(sg))


@elementwise
def water_density(temperature_c: Annotated[float, HOT_WATER]) -> Annotated[float, DENSITY]:
    """Return the density of water at atmospheric pressure.

    Parameters
    ----------
    temperature_c : float or numpy array of float
        0 to 100 C.

    Returns
    -------
    float or numpy array of float
        kg/m3.

    Raises
    ------
    OutOfRangeError
        If the temperature is out of range.

    Notes
    -----
    A fifth-order polynomial over (1 + 0.01687985 t).

    References
    ----------
    Kell, G. S. (1975), J. Chem. Eng. Data 20, 97-105, doi 10.1021/je60064a005.

    Examples
    --------
    >>> round(water_density(20.0), 2)
    998.2
    """
    return _water(temperature_c)


def _water(temperature_c: float) -> float:
    t = temperature_c
    rising = 999.83952 + t * (
        16.945176
        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 + t * -280.54253e-12)))
    )
    return rising / (1.0 + 16.879850e-3 * t)
