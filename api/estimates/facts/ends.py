"""What ends a run, as the distiller says it: a strength at the spout, or how little is left.

Until somebody says something else a run is taken to end at 10 % vol at the spout: what comes after
it holds little alcohol for the heat it takes (common practice, no source).
"""

from dataclasses import dataclass
from typing import Final, Self

import orjson
from sqlalchemy import Engine

from api.estimates.ground import END_ABV
from logger.store import facts
from logger.store.tables import Setting

KEY: Final = "run_ends"
STRIPS: Final = frozenset({"strip", "sacrificial", "cleaning"})


@dataclass(frozen=True, slots=True)
class RunEnd:
    """Where a run is taken to end, what comes first; and what its vapour has to leave against."""

    spout_abv: float | None = END_ABV
    left_percent: float | None = None  # of the charge's alcohol
    seal_hpa: float | None = None  # that a liquid seal adds to the air's pressure
    vacuum: bool = False  # the still is pumped down, and nothing measures how far

    @property
    def left_share(self) -> float | None:
        """The same as a share."""
        return None if self.left_percent is None else self.left_percent / 100.0


@dataclass(frozen=True, slots=True)
class RunEnds:
    """Where stripping runs and all the others are taken to end."""

    strip: RunEnd = RunEnd()
    cut: RunEnd = RunEnd()

    def of(self, purpose: str) -> RunEnd:
        """Return where a run of a purpose ends."""
        return self.strip if purpose in STRIPS else self.cut

    @classmethod
    def read(cls, text: str) -> Self:
        """Read what the setting keeps."""
        said = orjson.loads(text)
        return cls(RunEnd(**said["strip"]), RunEnd(**said["cut"]))

    def written(self) -> str:
        """Write it as the setting keeps it."""
        return orjson.dumps(self).decode()


def setting_of(engine: Engine) -> Setting | None:
    """Return the setting as it stands, where somebody has said something."""
    found = facts.all_current(engine, Setting)
    return next((one for one in reversed(found) if one.key == KEY), None)


def run_ends(engine: Engine) -> RunEnds:
    """Return what ends the runs."""
    setting = setting_of(engine)
    return RunEnds() if setting is None else RunEnds.read(setting.value)
