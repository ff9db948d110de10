"""What a calculation says: numbers with their unit, and the answer as one sentence.

Page, route and command all speak through here, so that they say the same thing.
"""

from collections.abc import Mapping
from math import log10
from typing import Any, Literal

from calc.catalogue.entry import Calculation, Field
from calc.quantities import CANNOT_TELL, US_UNITS, Quantity

Units = Literal["metric", "us"]


def label(item: Field) -> str:
    """Return the words for a quantity, or for a choice by its name."""
    return item.quantity.label if item.quantity else item.name.replace("_", " ").capitalize()


def number(value: float, quantity: Quantity, units: Units = "metric") -> str:
    """Return a value with the decimals worth showing and its unit.

    Examples
    --------
    >>> from calc.quantities import PRESSURE, TEMPERATURE
    >>> number(66.04, TEMPERATURE), number(66.04, TEMPERATURE, "us")
    ('66.0 °C', '150.9 °F')
    >>> number(1013.25, PRESSURE, "us")
    '29.92 inHg'
    """
    decimals = quantity.decimals
    if units == "us" and quantity.unit in US_UNITS:
        decimals = max(0, decimals - int(log10(US_UNITS[quantity.unit][1])))
    # Adding zero turns -0.0 into 0.0.
    rounded = round(converted(value, quantity, units), decimals) + 0.0
    return f"{rounded:.{decimals}f} {unit_of(quantity, units)}".rstrip()


def converted(value: float, quantity: Quantity, units: Units) -> float:
    """Return a metric value in the units asked for."""
    if units == "metric" or quantity.unit not in US_UNITS:
        return float(value)
    _, factor, offset = US_UNITS[quantity.unit]
    return float(value) * factor + offset


def unit_of(quantity: Quantity, units: Units) -> str:
    """Return the unit a quantity is printed in."""
    if units == "metric" or quantity.unit not in US_UNITS:
        return quantity.unit
    return US_UNITS[quantity.unit][0]


def words(item: Field, value: Any, units: Units = "metric") -> str:
    """Return one thing taken or given as it is printed; a list by commas, None as its absence."""
    if value is None:
        return item.quantity.absent if item.quantity else CANNOT_TELL
    if isinstance(value, tuple | list):
        return ", ".join(words(item, one, units) for one in value) or "nothing"
    if item.quantity is None or isinstance(value, str):
        return str(value)
    return number(value, item.quantity, units)


def sentence(
    entry: Calculation,
    given: Mapping[str, Any],
    values: Mapping[str, Any],
    units: Units = "metric",
) -> str:
    """Return the entry's answer with its numbers, or the reason why there is none.

    Parameters
    ----------
    entry : Calculation
        Whose answer it is.
    given : mapping
        What was asked, by name; what is left out stands at its default.
    values : mapping
        What `calc.catalogue.calculate` returned for it.
    units : {"metric", "us"}
        Which units to print.

    Returns
    -------
    str
        A sentence to show as it is.
    """
    reason = values.get(entry.why) if entry.why else None
    if reason:
        return str(reason)
    asked = {f.name: words(f, _or_default(given.get(f.name), f), units) for f in entry.takes}
    found = {f.name: words(f, values[f.name], units) for f in entry.gives}
    return entry.answer.format_map(asked | found)


def _or_default(value: Any, item: Field) -> Any:
    return item.default if value is None else value
