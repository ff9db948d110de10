"""Strengths of vapour and pot from a still's temperatures, as calc tells them, restated in turn."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from calc.vapour_strength import StrengthEstimate, pot_strength, vapour_strength

EVERY_S: Final = 60
SEA_LEVEL_HPA: Final = 1013.25
PROBE_ERROR_C: Final = 0.5  # what an uncalibrated one-wire probe promises
BAROMETER_ERROR_HPA: Final = 3.0
WEATHER_HPA: Final = 30.0  # where no barometer is: sea level, whatever the weather
RANGE_C: Final = (-20.0, 110.0)
NO_READING: Final = "There is no good reading of the {place}."
NO_SUCH: Final = "The reading of the {place}, {value:g} °C, is none a still can have."


@dataclass(frozen=True, slots=True)
class Estimate:
    """One quantity as it is told now: with its 95 % band, or why it cannot be told."""

    quantity: str
    value: float | None
    low: float | None
    high: float | None
    why: str | None = None


class Strengths:
    """Restates both strengths every minute."""

    def __init__(self) -> None:
        self._due_s: int | None = None

    def see(self, at_s: int, values: Mapping[str, float | None]) -> Iterator[Estimate]:
        """Take one scan's values by place; gives what is restated now."""
        if self._due_s is not None and at_s < self._due_s:
            return
        self._due_s = at_s + EVERY_S
        measured = values.get("pressure_hpa")
        hpa = SEA_LEVEL_HPA if measured is None else measured
        error_hpa = WEATHER_HPA if measured is None else BAROMETER_ERROR_HPA
        for quantity, place, tell in (
            ("vapour_abv", "head", vapour_strength),
            ("pot_abv", "pot", pot_strength),
        ):
            if place not in values:
                continue
            value = values[place]
            if value is None:
                yield Estimate(quantity, None, None, None, NO_READING.format(place=place))
            elif not RANGE_C[0] <= value <= RANGE_C[1]:
                why = NO_SUCH.format(place=place, value=value)
                yield Estimate(quantity, None, None, None, why)
            else:
                yield _told(quantity, tell(value, hpa, PROBE_ERROR_C, error_hpa))


def _told(quantity: str, found: StrengthEstimate) -> Estimate:
    if found.abv is None:
        return Estimate(quantity, None, found.abv_low, found.abv_high, found.why)
    return Estimate(quantity, found.abv, found.abv_low, found.abv_high)
