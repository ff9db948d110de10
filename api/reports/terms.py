"""The words of the terms of a balance, as the batch's page has them."""

from collections.abc import Mapping
from typing import Final

from api.record.balancing import Name

TERMS: Final[Mapping[Name, str]] = {
    "in_wash": "in the wash",
    "received": "received",
    "collected": "collected",
    "in_store": "in store",
    "kept_as_feints": "kept as feints",
    "aged": "ageing",
    "bottled": "bottled",
    "discarded": "discarded",
    "sampled": "sampled",
    "used": "used",
    "lost": "lost",
    "left_in_still": "left in the still",
    "gone_elsewhere": "gone to other batches",
    "difference": "found at gaugings, more or less",
}


def term_name(name: str) -> str:
    """Name a term in words."""
    return next((words for term, words in TERMS.items() if term == name), name.replace("_", " "))
