"""What the yeast that the record names stands; its name is in people's own words."""

import re
from typing import Final

from calc.yeast import YEAST_MAXIMUM_C, Yeast

# Told by a word of its own in the name; the more careful one where several are in it.
_KINDS: Final[tuple[tuple[Yeast, str], ...]] = (
    ("ordinary", r"\bordinary\b|\bbaker'?s\b"),
    ("spirit", r"\bspirits?\b|\bdistill(?:er'?s|ing)\b"),
    ("heat-tolerant", r"\bheat[- ]tolerant\b|\bwarm[- ]rooms?\b"),
)


def maximum_c(name: str | None) -> float | None:
    """Return what it stands at most, °C; None where the name does not tell its kind."""
    plain = (name or "").lower().replace("’", "'")
    kinds = [kind for kind, words in _KINDS if re.search(words, plain)]
    return min((YEAST_MAXIMUM_C[kind] for kind in kinds), default=None)
