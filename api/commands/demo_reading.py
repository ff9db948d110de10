"""How the demonstration's crew reads: with errors drawn by a seed, on scales with marks."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any, Final, TypeVar

import numpy as np

from api.record.entries import beside_of
from calc.alcoholometer import expected_reading
from calc.contents import contents_by_volume
from logger.store.record_tables import StageEntry
from logger.store.tables import Fact

F = TypeVar("F", bound=Fact)
CELLAR_C: Final = 17.0
SAMPLE_L: Final = 0.05  # what is tasted of a cask
FIRST_TASTED: Final = "Tasted after its first night."
SEED: Final = 7
READING_ERROR_ABV: Final = 0.2  # one standard error, stated with each


@dataclass(frozen=True, slots=True)
class Reading:
    """A gauging as it is written down."""

    volume_l: float | None = None
    volume_temperature_c: float | None = None
    volume_error_l: float | None = None
    mass_kg: float | None = None
    reading_abv: float | None = None
    temperature_c: float | None = None
    instrument: str | None = None
    reading_error_abv: float | None = None

    @property
    def columns(self) -> dict[str, Any]:
        """Return them by name."""
        return asdict(self)


class Told:
    """What every fact of the demonstration has in common, and the dice for errors."""

    def __init__(self, common: dict[str, Any], until: datetime) -> None:
        self._common = {name: common[name] for name in ("site", "who")}
        self.began: datetime = common["effective_at"]
        self.until = until
        self.dice = np.random.default_rng(SEED)

    def tare_kg(self, number: int) -> float:
        """Give what an empty jar weighs; each its own, as glass is blown."""
        return round(0.92 + 0.013 * float(np.random.default_rng(number).standard_normal()), 3)

    def first(self, row: type[F], at: datetime, /, **fields: Any) -> F:
        """Make a fact of a moment."""
        return row.first(effective_at=at, **self._common, **fields)

    def corrected(self, row: F, /, **changes: Any) -> F:
        """Make a correction of a fact, by the same hand."""
        return row.correction(who=self._common["who"], **changes)

    def entry(self, at: datetime, /, **fields: Any) -> Iterator[Fact]:
        """Make an entry of a stage, and what the books take of it."""
        made = self.first(StageEntry, at, **fields)
        yield made
        for kind, own, said in beside_of(made):
            yield self.first(kind, at, id=own, **said)

    def near(self, value: float, fraction: float, decimals: int) -> float:
        """Read a value with an error in proportion to it."""
        return round(value * (1.0 + fraction * float(self.dice.standard_normal())), decimals)

    def off(self, value: float, error: float, decimals: int) -> float:
        """Read a value with an error, never below nothing."""
        return round(max(value + error * float(self.dice.standard_normal()), 0.0), decimals)

    def spirit(self, volume_l: float, abv: float, at_c: float, fraction: float) -> Reading:
        """Read a volume (true at 20 °C) and a strength in liquid of a temperature."""
        there_l = volume_l * volume_l / contents_by_volume(volume_l, abv, at_c).volume_at_20_c_l
        return Reading(
            volume_l=self.near(there_l, fraction, 2),
            volume_temperature_c=at_c,
            volume_error_l=round(max(fraction * volume_l, 0.01), 3),
            reading_abv=self.shown(abv, at_c),
            temperature_c=at_c,
            instrument="alcoholometer_20c",
            reading_error_abv=READING_ERROR_ABV,
        )

    def shown(self, abv: float, at_c: float) -> float:
        """Read an alcoholometer with marks at every half percent, to a fifth of one."""
        shown = float(expected_reading(abv, at_c)) + 0.15 * float(self.dice.standard_normal())
        return round(max(shown, 0.0), 1)
