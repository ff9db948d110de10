"""What a calibration does to a strength estimate, in words."""

from collections.abc import Callable
from typing import Final, NamedTuple

from pydantic import BaseModel

from calc.errors import OutOfRangeError
from calc.vapour_strength import StrengthEstimate, pot_strength, vapour_strength
from logger.calibration import Line
from logger.degrees import Degrees

# A probe as it comes, ±0.5 °C: the maker's datasheet, -10 to 85 °C. After two points about ±0.2:
# common practice, no source.
AS_BOUGHT_C: Final = 0.5
CALIBRATED_C: Final = 0.2
HEAD_C: Final = 84.0
POT_C: Final = 95.0

Estimate = Callable[[float, float, float], StrengthEstimate]


class Effect(BaseModel):
    """An estimate before and after: where a probe showed one temperature it will show another."""

    estimate: str
    shown_c: float
    becomes_c: float
    pressure_hpa: float
    abv_before: float | None
    abv_after: float | None
    says: str


class Changed(NamedTuple):
    """A line in another's place."""

    before: Line
    after: Line
    two_points: bool  # what comes after is drawn through two points or more

    @property
    def errors_c(self) -> tuple[float, float]:
        """Give how far the probe may be off, before and after; one point leaves its slope alone."""
        return (
            AS_BOUGHT_C if self.before.slope == 1.0 else CALIBRATED_C,
            CALIBRATED_C if self.two_points else AS_BOUGHT_C,
        )


def effects(changed: Changed, pressure_hpa: float, degrees: Degrees) -> list[Effect]:
    """Say what changes in the head and in the pot."""
    return [
        _effect("vapour", vapour_strength, HEAD_C, changed, pressure_hpa, degrees),
        _effect("pot", pot_strength, POT_C, changed, pressure_hpa, degrees),
    ]


def _effect(
    name: str,
    estimate: Estimate,
    shown_c: float,
    changed: Changed,
    pressure_hpa: float,
    degrees: Degrees,
) -> Effect:
    becomes_c = changed.after.at(changed.before.measured(shown_c))
    error_before_c, error_after_c = changed.errors_c
    was = _told(estimate, shown_c, pressure_hpa, error_before_c)
    now = _told(estimate, becomes_c, pressure_hpa, error_after_c)
    where = "in the head" if name == "vapour" else "in a boiling pot"
    return Effect(
        estimate=name,
        shown_c=shown_c,
        becomes_c=round(becomes_c, 2),
        pressure_hpa=pressure_hpa,
        abv_before=was.abv if was else None,
        abv_after=now.abv if now else None,
        says=f"Where it showed {degrees.at(shown_c, 1)} {where} it will show "
        f"{degrees.at(becomes_c)}: at {pressure_hpa:.0f} hPa {_words(was)} becomes {_words(now)}.",
    )


def _told(
    estimate: Estimate, temperature_c: float, pressure_hpa: float, error_c: float
) -> StrengthEstimate | None:
    """Estimate, or None where no estimate is made of such a temperature."""
    try:
        return estimate(temperature_c, pressure_hpa, error_c)
    except OutOfRangeError:
        return None


def _words(found: StrengthEstimate | None) -> str:
    if found is None or found.abv is None:
        return "a strength that cannot be told"
    return f"{found.abv:.1f} % vol ({found.abv_low:.1f} to {found.abv_high:.1f})"
