"""What an estimate is: one quantity as it is told now, with its bands, or why it cannot be told."""

from dataclasses import dataclass
from typing import Final

# Raised whenever the same facts would give another estimate; kept with every one.
MODEL_VERSION: Final = 7


@dataclass(frozen=True, slots=True)
class Estimate:
    """One quantity as it is told now: with its 95 % band, or why it cannot be told."""

    quantity: str  # the name ends in the unit
    value: float | None
    low: float | None  # 95 % band
    high: float | None
    why: str | None = None  # one sentence, where there is no value
    low_68: float | None = None
    high_68: float | None = None
    rests_on: tuple[str, ...] = ()  # short sentences: what it is told from
    narrows: tuple[str, ...] = ()  # short sentences: what a person could do to narrow the band
    contradictions: tuple[str, ...] = ()  # sentences: what does not fit the rest
