"""What hangs on the bus, in facts that seldom change."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

Supply = Literal["external", "parasite", "unknown"]


@dataclass(frozen=True, slots=True)
class ProbeFacts:
    """What is known of a probe besides its temperature."""

    probe_id: str
    kind: str  # "DS18B20"
    master: str  # "w1_bus_master1"
    resolution_bits: int | None  # None where it cannot be chosen, or has not been read yet
    supply: Supply
    likely_copy: bool  # works, but may be some degrees off: calibrate it
    bulk: bool  # whether its master converts all its probes at once


def is_likely_copy(probe_id: str) -> bool:
    """Judge by the number: genuine DS18B20 are numbered 28-0000... (common practice)."""
    return probe_id.startswith("28-") and not probe_id.startswith("28-0000")
