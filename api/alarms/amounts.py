"""Values and limits in the units a house reads; they are kept in the rule's."""

from typing import Final

from calc.quantities import US_UNITS

APART: Final = "K"  # differences of temperature; a slope is one in a time


def amount(value: float, unit: str, *, us_units: bool, apart: bool = False) -> str:
    """Say a number and its unit; `apart` where it is a difference of values in that unit."""
    shown, sign = turned(value, unit, us_units=us_units, apart=apart)
    return f"{float(f'{shown:.6g}'):g} {sign}".rstrip()


def turned(value: float, unit: str, *, us_units: bool, apart: bool = False) -> tuple[float, str]:
    """Turn a number to the house's unit."""
    whole, per, time = unit.partition("/")
    kind = unit if unit in US_UNITS else whole
    if not us_units or kind not in US_UNITS or (per and whole != APART and kind != unit):
        return value, unit
    sign, factor, offset = US_UNITS[kind]
    return value * factor + (0.0 if apart else offset), sign if kind == unit else sign + per + time
