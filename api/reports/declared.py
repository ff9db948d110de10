"""Which calculations a report's numbers come from, so that it can be told when they have changed.

Each calculation is declared by a digest of its own source, beside the program's version: a number
that differs between two reports either has other readings behind it or another digest.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Final

import calc
from api import reviews
from api.estimates.estimate import MODEL_VERSION
from api.versions import program_version

DIGITS: Final = 12  # of a SHA-256: enough to tell versions of one file apart
ROOMS: Final[Mapping[str, Path]] = {
    "calc": Path(calc.__file__).parent,
    "api.reviews": Path(reviews.__file__).parent,
}


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
        ".".join((room, *source.relative_to(folder).with_suffix("").parts)): _digest(
            source.read_bytes()
        )
        for room, folder in ROOMS.items()
        for source in sorted(folder.rglob("*.py"))
        if source.name != "__init__.py"
    }
    whole = _digest("\n".join(f"{name} {digest}" for name, digest in found.items()).encode())
    return Versions(program_version(), MODEL_VERSION, whole, found)


def _digest(content: bytes) -> str:
    return sha256(content).hexdigest()[:DIGITS]
