"""Each quantity once: its name, label, unit and range, as an Annotated alias.

A calculation's signature is written in these aliases. The range check, the form on the bench
page, the API's description and the command line are all derived from them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import wraps
from inspect import signature
from typing import (
    Annotated,
    Any,
    Literal,
    ParamSpec,
    Protocol,
    TypeVar,
    cast,
    get_args,
    get_type_hints,
    overload,
)

import numpy as np
from numpy.typing import NDArray

from calc.errors import OutOfRangeError, QuantityError

P = ParamSpec("P")
R = TypeVar("R")
FloatArray = NDArray[np.float64]

CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Quantity:
    """What a number is: the name it goes by, the words for it, its unit and its range.

    Attributes
    ----------
    name : str
        Ends in the unit, as in ``temperature_c``; the name of a result that has no other.
    label : str
        Plain words, sentence case.
    unit : str
        The unit as printed; a key of `US_UNITS` where a US customary unit exists.
    low, high : float
        Inclusive limits.
    decimals : int
        How many are worth showing.
    absent : str
        What is said where there is no number.
    """

    name: str
    label: str
    unit: str
    low: float
    high: float
    decimals: int = 1
    absent: str = CANNOT_TELL

    def within(self, low: float, high: float) -> "Quantity":
        """Return the same quantity over a narrower range."""
        return replace(self, low=low, high=high)

    def called(self, label: str) -> "Quantity":
        """Return the same quantity under a label that says which one it is."""
        return replace(self, label=label)

    def shown(self, decimals: int) -> "Quantity":
        """Return the same quantity shown with so many decimals."""
        return replace(self, decimals=decimals)

    def if_absent(self, words: str) -> "Quantity":
        """Return the same quantity, saying this where there is no number."""
        return replace(self, absent=words)

    def check(self, value: Any, name: str) -> None:
        """Refuse a value outside the range, or not a finite number, in one sentence.

        Parameters
        ----------
        value : float or numpy array of float
            In this quantity's unit.
        name : str
            The name the value came in under.

        Raises
        ------
        QuantityError
            If the value is not a number.
        OutOfRangeError
            If the value, or any element of it, is not finite or out of range.
        """
        try:
            array = np.asarray(value, dtype=float)
        except (TypeError, ValueError, OverflowError):
            raise self.not_a_number(value, name) from None
        bad = ~((array >= self.low) & (array <= self.high))  # NaN fails both
        if bad.any():
            worst = np.atleast_1d(array)[np.atleast_1d(bad)][0]
            raise OutOfRangeError(
                f"{self.label} ({name}) is {worst:.10g}{self._suffix}; "
                f"it must lie between {self.low:.10g} and {self.high:.10g}{self._suffix}.",
                quantity=name,
            )

    def not_a_number(self, value: Any, name: str) -> QuantityError:
        """Return the error that asks for a number in this quantity's unit."""
        unit = f" in {self.unit}" if self.unit else ""
        return QuantityError(
            f"{self.label} ({name}) is {value!r}; give a number{unit}.", quantity=name
        )

    @property
    def _suffix(self) -> str:
        return f" {self.unit}" if self.unit else ""


LB_KG = 0.45359237  # exactly; NIST SP 811 (2008), appendix B
US_GALLON_L = 3.785411784  # exactly; the same

# From each metric unit to the US customary one: (unit, factor, offset); US = metric * factor
# + offset.
# Source: NIST SP 811 (2008), appendix B; the US gallon is 3.785411784 L exactly.
US_UNITS: dict[str, tuple[str, float, float]] = {
    "°C": ("°F", 1.8, 32.0),
    "K": ("°F", 1.8, 0.0),
    "L": ("US gal", 1 / US_GALLON_L, 0.0),
    "mL": ("US fl oz", 1 / 29.5735295625, 0.0),
    "m³": ("ft³", 1 / 0.3048**3, 0.0),
    "kg": ("lb", 1 / LB_KG, 0.0),
    "hPa": ("inHg", 1 / 33.86389, 0.0),
    "m": ("ft", 1 / 0.3048, 0.0),
    "kW": ("BTU/h", 3412.142, 0.0),
    "g": ("oz", 1 / 28.349523125, 0.0),
    "L/kg": ("US qt/lb", LB_KG / (US_GALLON_L / 4), 0.0),
    "cm": ("in", 1 / 2.54, 0.0),
    "L/min": ("US gal/min", 1 / US_GALLON_L, 0.0),
    "mL/min": ("US fl oz/min", 1 / 29.5735295625, 0.0),
    "kg/h": ("lb/h", 1 / LB_KG, 0.0),
    "K/h": ("°F/h", 1.8, 0.0),
    "m³/h": ("ft³/min", 1 / 0.3048**3 / 60, 0.0),
}

TEMPERATURE = Quantity("temperature_c", "Temperature", "°C", -20, 110)
ABW_FRACTION = Quantity("abw_fraction", "Strength by mass", "kg/kg", 0, 1, 5)
ABV = Quantity("abv", "Strength", "% vol", 0, 100, 2)
DENSITY = Quantity("density_kg_m3", "Density", "kg/m³", 700, 1400, 2)
PRESSURE = Quantity("pressure_hpa", "Pressure", "hPa", 600, 1100)
VOLUME = Quantity("volume_l", "Volume", "L", 0, 1_000_000, 3)
MASS = Quantity("mass_kg", "Mass", "kg", 0, 1_000_000, 3)

MOLE_FRACTION = Quantity("ethanol_mole_fraction", "Mole fraction of ethanol", "mol/mol", 0, 1, 5)
# US proof is twice the strength by volume at 60 °F (27 CFR 30.11).
US_PROOF = Quantity("us_proof", "US proof", "°proof", 0, 200)
# OIML R 22 gives its formula for this range.
SPIRIT_TEMPERATURE = TEMPERATURE.within(-20, 40)
# Alcoholometers are made for 15 °C, 60 °F, 20 °C and, in hot countries, up to 30 °C.
REFERENCE_TEMPERATURE = Quantity(
    "reference_temperature_c", "Temperature the instrument is made for", "°C", 10, 30, 2
)
PURE_ALCOHOL = Quantity("pure_alcohol_l", "Pure alcohol at 20 °C", "L", 0, 1_000_000, 3)

# The ASBC polynomial and its inverse hold from a finished sugar wash to a thick sugar syrup.
SG = Quantity("sg", "Specific gravity", "", 0.975, 1.18, 4)
PLATO = Quantity("plato", "Extract", "°P", -6.7, 40.2, 2)
PERCENT = Quantity("percent", "Share", "%", 0, 100)
# Grain, sugar and washes are weighed and measured less finely than spirit.
BULK_MASS = MASS.shown(2)
BULK_VOLUME = VOLUME.shown(1)
WASH_ALCOHOL = PURE_ALCOHOL.shown(2)
WASH_STRENGTH = ABV.shown(1)

# What a model expects, rather than what an instrument says: fewer decimals mean anything.
EXPECTED_ABV = Quantity("abv", "Strength", "% vol", 0, 100, 1)
EXPECTED_VOLUME = Quantity("volume_l", "Volume", "L", 0, 1_000_000, 2)

POWER = Quantity("power_kw", "Heating power", "kW", 0.05, 2000, 2)
HEAT_LOSS = Quantity("heat_loss_kw", "Power lost to the room", "kW", 0, 500, 2)
ENERGY = Quantity("energy_kwh", "Energy", "kWh", 0, 1_000_000, 2)
DURATION_H = Quantity("duration_h", "Time", "h", 0, 100_000, 2)
DURATION_MIN = Quantity("duration_min", "Time", "min", 0, 1_000_000, 0)

TemperatureC = Annotated[float, TEMPERATURE]
AbwFraction = Annotated[float, ABW_FRACTION]
Abv = Annotated[float, ABV]
DensityKgM3 = Annotated[float, DENSITY]
PressureHpa = Annotated[float, PRESSURE]
VolumeL = Annotated[float, VOLUME]
MassKg = Annotated[float, MASS]

EthanolMoleFraction = Annotated[float, MOLE_FRACTION]
UsProof = Annotated[float, US_PROOF]
SpiritTemperatureC = Annotated[float, SPIRIT_TEMPERATURE]
ReferenceTemperatureC = Annotated[float, REFERENCE_TEMPERATURE]
PureAlcoholL = Annotated[float, PURE_ALCOHOL]

Sg = Annotated[float, SG]
Plato = Annotated[float, PLATO]

PowerKw = Annotated[float, POWER]
HeatLossKw = Annotated[float, HEAT_LOSS]
EnergyKwh = Annotated[float, ENERGY]
DurationH = Annotated[float, DURATION_H]
DurationMin = Annotated[float, DURATION_MIN]

Glass = Literal["soda-lime", "borosilicate"]


def quantity_of(hint: Any) -> Quantity | None:
    """Return the declaration an annotation carries: bare, optional, or inside a tuple of many."""
    own = next((m for m in getattr(hint, "__metadata__", ()) if isinstance(m, Quantity)), None)
    if own is not None:
        return own
    return next((q for part in get_args(hint) if (q := quantity_of(part)) is not None), None)


def equal_rows(**columns: Sequence[Any] | None) -> int:
    """Return how many rows lists of values make up together; a list left out (None) is no part.

    Raises
    ------
    QuantityError
        If there is none, or the lists are not equally long.
    """
    lengths = {name: len(values) for name, values in columns.items() if values is not None}
    said = ", ".join(f"{name} has {length}" for name, length in lengths.items())
    if len(set(lengths.values())) != 1 or not all(lengths.values()):
        raise QuantityError(
            f"Each row needs a value in every column, and there must be at least one row; {said}.",
            quantity=next(iter(columns)),
        )
    return next(iter(lengths.values()))


def checked(function: Callable[P, R]) -> Callable[P, R]:
    """Check each argument against the quantity its annotation declares, before the call."""
    hints = get_type_hints(function, include_extras=True)
    declared = {name: q for name, hint in hints.items() if (q := quantity_of(hint)) is not None}
    declared.pop("return", None)
    takes = signature(function)

    @wraps(function)
    def call(*args: P.args, **kwargs: P.kwargs) -> R:
        bound = takes.bind(*args, **kwargs)
        for name, value in bound.arguments.items():
            if name in declared and value is not None:
                declared[name].check(value, name)
        return function(*args, **kwargs)

    return call


class Elementwise(Protocol):
    """A function of numbers that takes arrays as well, element by element."""

    @overload
    def __call__(  # type: ignore[overload-overlap]  # a float is the narrower answer
        self, *args: float, **kwargs: float | str
    ) -> float: ...
    @overload
    def __call__(
        self, *args: float | FloatArray, **kwargs: float | str | FloatArray
    ) -> FloatArray: ...
    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        """Return a float where all are floats, else an array of the shape they broadcast to."""


def elementwise(function: Callable[P, float]) -> Elementwise:
    """Check each argument, as `checked` does, of a function written for one value or for many.

    The body must be plain arithmetic or numpy, so that arrays run through it as numbers do.
    """
    run = checked(function)

    @wraps(function)
    def call(*args: P.args, **kwargs: P.kwargs) -> Any:
        found = run(*args, **kwargs)
        return float(found) if np.ndim(found) == 0 else found

    return cast("Elementwise", call)
