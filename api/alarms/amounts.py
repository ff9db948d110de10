"""Values and limits in the units a house reads; they are kept in the rule's."""

from typing import Final

from calc.quantities import US_UNITS

CELSIUS: Final = "°C"
LARGE: Final = 10.0
APART: Final = "K"  # differences of temperature; a slope is one in a time


def amount(value: float, unit: str, *, us_units: bool, apart: bool = False) -> str:
    """Say a number and its unit; `apart` where it is a difference of values in that unit."""
    shown, sign = turned(value, unit, us_units=us_units, apart=apart)
    return f"{_rounded(shown, fine=apart or unit != CELSIUS):g} {sign}".rstrip()


def _rounded(shown: float, *, fine: bool) -> float:
    """Keep what can be told: a tenth (never minus nothing), of small differences three digits."""
    return float(f"{shown:.3g}") if fine and abs(shown) < LARGE else round(shown, 1) + 0.0


def turned(value: float, unit: str, *, us_units: bool, apart: bool = False) -> tuple[float, str]:
    """Turn a number to the house's unit."""
    whole, per, time = unit.partition("/")
    kind = unit if unit in US_UNITS else whole
    if not us_units or kind not in US_UNITS or (per and whole != APART and kind != unit):
        return value, unit
    sign, factor, offset = US_UNITS[kind]
    return value * factor + (0.0 if apart else offset), sign if kind == unit else sign + per + time
