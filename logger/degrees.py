"""Temperatures in sentences, in the unit their reader goes by; numbers themselves stay in °C."""

from dataclasses import dataclass
from typing import Final, Literal

from calc.quantities import US_UNITS

Unit = Literal["C", "F"]


@dataclass(frozen=True, slots=True)
class Degrees:
    """Says temperatures (`at`), differences of them (`apart`) and limits (`most`) in a unit."""

    unit: Unit = "C"

    @property
    def sign(self) -> str:
        """What stands after a temperature: "°C"."""
        return US_UNITS["°C"][0] if self.unit == "F" else "°C"

    def turned(self, celsius: float) -> float:
        """Turn a temperature to this unit."""
        _, factor, offset = US_UNITS["°C"]
        return celsius * factor + offset if self.unit == "F" else celsius

    def at(self, celsius: float, decimals: int = 2) -> str:
        """Say a temperature: "18.25 °C"."""
        return self._said("°C", celsius, f".{decimals}f")

    def apart(self, kelvin: float, decimals: int = 2) -> str:
        """Say how far two lie apart, or how far one goes: "0.31 °C"."""
        return self._said("K", kelvin, f".{decimals}f")

    def change(self, kelvin: float) -> str:
        """Say a difference with its sign: "+0.31 °C"."""
        return self._said("K", kelvin, "+.2f").replace("-0.00 ", "+0.00 ")

    def most(self, kelvin: float) -> str:
        """Say a limit of a difference, without needless zeros: "0.2 °C"."""
        return self._said("K", kelvin, ".3g")

    def _said(self, kind: Literal["°C", "K"], value: float, form: str) -> str:
        if self.unit == "F":
            sign, factor, offset = US_UNITS[kind]
            value = value * factor + offset
        else:
            sign = "°C"
        return f"{value:{form}} {sign}"


CELSIUS: Final = Degrees()
