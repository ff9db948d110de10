"""Which calculations a report's numbers come from, so that it can be told when they have changed.

Each calculation is declared by a digest of its own source, beside the program's version: a number
that differs between two reports either has other readings behind it or another digest. What is
named is all that a number passes on its way from what was stored or entered to the report.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Final

import calc
from api.estimates.estimate import MODEL_VERSION
from api.versions import program_version

DIGITS: Final = 12  # of a SHA-256: enough to tell versions of one file apart
TOP: Final = Path(calc.__file__).parents[1]
ROOMS: Final = ("calc", "api.record", "api.reviews")
FILES: Final = (
    "api.alarms.amounts",  # units
    "logger.degrees",
    "logger.store.export",
    "logger.store.gauging",  # volumes and strengths to 20 °C, with their errors
    "logger.store.grid",
    "logger.store.history",
    "logger.store.lines",  # calibration
    "logger.store.summary",
    "logger.store.timeline",
    "logger.store.tracks",
)


@dataclass(frozen=True, slots=True)
class Versions:
    """What made a report's numbers."""

    program: str
    estimates_model: int
    whole: str  # of all calculations together
    calculations: Mapping[str, str]  # by module


@cache
def versions() -> Versions:
    """Declare every calculation as it stands."""
    found = {
        ".".join(source.relative_to(TOP).with_suffix("").parts): _digest(source.read_bytes())
        for source in _sources()
    }
    whole = _digest("\n".join(f"{name} {digest}" for name, digest in found.items()).encode())
    return Versions(program_version(), MODEL_VERSION, whole, found)


def _sources() -> Iterator[Path]:
    for room in ROOMS:
        every = sorted((TOP / room.replace(".", "/")).rglob("*.py"))
        yield from (one for one in every if one.name != "__init__.py")
    yield from ((TOP / one.replace(".", "/")).with_suffix(".py") for one in FILES)


def _digest(content: bytes) -> str:
    return sha256(content).hexdigest()[:DIGITS]
