"""What was measured of a liquid, and how much pure alcohol that is, with its error."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import hypot
from typing import Final

from calc.alcoholometer import true_strength
from calc.contents import contents_by_volume
from calc.errors import OutOfRangeError
from logger.store.gauging import INSTRUMENTS, USUAL, VOLUME_ERROR_FRACTION

# Two standard errors: what lies beyond is not put down to measuring. JCGM 100:2008 (GUM), 6.2:
# a coverage factor of 2 covers about 95 %.
COVERAGE: Final = 2.0
ROUNDING_L: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Amount:
    """Pure alcohol in litres at 20 °C, with its standard error; errors add as independent ones."""

    pure_alcohol_l: float = 0.0
    error_l: float = 0.0

    def __add__(self, other: "Amount") -> "Amount":
        both = hypot(self.error_l, other.error_l)
        return Amount(self.pure_alcohol_l + other.pure_alcohol_l, both)

    def __neg__(self) -> "Amount":
        return Amount(-self.pure_alcohol_l, self.error_l)

    def __sub__(self, other: "Amount") -> "Amount":
        return self + -other

    @property
    def is_above_nothing(self) -> bool:
        """Whether it is more than nothing beyond its error."""
        return self.pure_alcohol_l > COVERAGE * self.error_l + ROUNDING_L


def total(amounts: Iterable[Amount]) -> Amount:
    """Add amounts up."""
    return sum(amounts, Amount())


@dataclass(frozen=True, slots=True)
class Taken:
    """What was measured of a quantity of liquid.

    `volume_l` is as it was measured, at `volume_temperature_c` (None: said to be at 20 °C);
    `abv` is at 20 °C; `reading_abv` and `temperature_c` are what it was worked out from.
    """

    name: str  # as people say: jar 7
    volume_l: float
    abv: float
    volume_temperature_c: float | None = None
    reading_abv: float | None = None
    temperature_c: float | None = None
    volume_error_l: float | None = None
    abv_error: float | None = None
    is_jar: bool = False
    is_corrected: bool = False  # its strength cannot be wrong by its temperature
    is_weighed: bool = False  # nor its volume

    def amount(self) -> Amount:
        """Work out the pure alcohol; u² = (abv u_V)² + (V u_abv)², after JCGM 100:2008, 5.1.2."""
        at_20_l = self.volume_at_20_c_l
        volume_error_l, abv_error = self.errors
        pure_l = at_20_l * self.abv / 100.0
        error_l = hypot(self.abv * volume_error_l, at_20_l * abv_error) / 100.0
        return Amount(pure_l, error_l)

    @property
    def volume_at_20_c_l(self) -> float:
        """The volume, at 20 °C."""
        if self.volume_temperature_c is None:
            return self.volume_l
        return contents_by_volume(
            self.volume_l, self.abv, self.volume_temperature_c
        ).volume_at_20_c_l

    @property
    def errors(self) -> tuple[float, float]:
        """The standard errors of volume and strength, as stated or as is usual."""
        stated, strength = self.volume_error_l, self.abv_error
        return (
            VOLUME_ERROR_FRACTION * self.volume_l if stated is None else stated,
            INSTRUMENTS[USUAL].error_abv if strength is None else strength,
        )

    def read_at(self, temperature_c: float) -> "Taken":
        """Return it as it would be had its strength been read at another temperature."""
        reading = self.abv if self.reading_abv is None else self.reading_abv
        strength = true_strength(reading, temperature_c).abv_at_20_c
        return replace(self, abv=strength, temperature_c=temperature_c)

    def read_as(self, reading_abv: float) -> "Taken | None":
        """Return it as it would be had the instrument shown this; None where none can be so."""
        at_c = 20.0 if self.temperature_c is None else self.temperature_c
        try:
            strength = true_strength(reading_abv, at_c).abv_at_20_c
        except OutOfRangeError:
            return None
        return replace(self, abv=strength, reading_abv=reading_abv)

    def measured_at(self, temperature_c: float) -> "Taken":
        """Return it as it would be had its volume been measured at another temperature."""
        return replace(self, volume_temperature_c=temperature_c)
