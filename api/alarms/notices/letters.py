"""What the service and its postman say to each other: one JSON object a line."""

from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Final, Self

import orjson

from api.alarms.notices.errors import PostError

TEXTS: Final = ("id", "address", "title", "body")


@dataclass(frozen=True, slots=True)
class Letter:
    """One notice on its way to one address; without a body only the address is looked at."""

    id: str
    address: str
    title: str = ""
    body: str = ""
    urgent: bool = False

    def line(self) -> bytes:
        """Write it."""
        return orjson.dumps(asdict(self), option=orjson.OPT_APPEND_NEWLINE)

    @classmethod
    def read(cls, line: bytes) -> Self:
        """Read a line that `line` wrote."""
        table = _table(line)
        letter_id, address, title, body = (str(table[key]) for key in TEXTS)
        return cls(letter_id, address, title, body, bool(table["urgent"]))


class Outcome(StrEnum):
    """What became of a letter."""

    TAKEN = "taken"
    NOT_TAKEN = "not taken"  # it surely reached nobody
    UNSURE = "unsure"  # it may have arrived all the same


@dataclass(frozen=True, slots=True)
class Answer:
    """The outcome, and a sentence where the letter was not taken."""

    id: str
    outcome: Outcome
    says: str = ""

    def line(self) -> bytes:
        """Write it."""
        return orjson.dumps(asdict(self), option=orjson.OPT_APPEND_NEWLINE)

    @classmethod
    def read(cls, line: bytes) -> Self:
        """Read a line that `line` wrote."""
        table = _table(line)
        return cls(str(table["id"]), Outcome(str(table["outcome"])), str(table["says"]))


def _table(line: bytes) -> dict[str, object]:
    try:
        found = orjson.loads(line)
    except orjson.JSONDecodeError:
        found = None
    if not isinstance(found, dict):
        raise PostError("The postman and the service do not understand each other; restart both.")
    return found
