"""What a hand means by pressing a button: once, twice, or long. Pure.

Times are seconds on a clock that only goes forward.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

BOUNCE_S: Final = 0.025  # contacts chatter for less (common practice, no source)
LONG_S: Final = 0.8
GAP_S: Final = 0.4  # a second press begins within it, or there is none


class Press(StrEnum):
    """What was meant."""

    SHORT = "short"  # next jar
    DOUBLE = "double"  # cut
    LONG = "long"  # I am here


@dataclass(slots=True)
class Presses:
    """Reads the edges of a contact; `look` says what was meant once enough time has passed."""

    _down_s: float | None = None
    _up_s: float | None = None  # let go, and not yet known whether it chatters
    _first_up_s: float | None = None  # the end of a press that may be the first of two
    _long_told: bool = False

    def down(self, at_s: float) -> None:
        """Take the closing of the contact."""
        if self._up_s is not None and at_s - self._up_s < BOUNCE_S:
            self._up_s = None  # it chattered: the press goes on
        elif self._down_s is None:
            self._down_s, self._long_told = at_s, False

    def up(self, at_s: float) -> None:
        """Take the opening of the contact."""
        if self._down_s is not None and self._up_s is None:
            self._up_s = at_s

    def look(self, now_s: float) -> Press | None:
        """Say what was meant, once; None while that is open."""
        if self._down_s is not None and self._up_s is None:
            return self._held(now_s)
        if self._down_s is not None and self._up_s is not None:
            if now_s - self._up_s < BOUNCE_S:
                return None
            if (found := self._ended(self._down_s, self._up_s)) is not None:
                return found
        if self._first_up_s is not None and now_s - self._first_up_s >= GAP_S:
            self._first_up_s = None
            return Press.SHORT
        return None

    @property
    def is_waiting(self) -> bool:
        """Whether time alone may still change what was meant."""
        return self._down_s is not None or self._first_up_s is not None

    def _held(self, now_s: float) -> Press | None:
        assert self._down_s is not None  # noqa: S101 - asked only then
        if self._long_told or now_s - self._down_s < LONG_S:
            return None
        self._long_told, self._first_up_s = True, None
        return Press.LONG

    def _ended(self, down_s: float, up_s: float) -> Press | None:
        """Judge a press that is over."""
        told = self._long_told
        self._down_s = self._up_s = None
        self._long_told = False
        if told or up_s - down_s < BOUNCE_S:  # it was told already, or was no press at all
            return None
        if up_s - down_s >= LONG_S:  # let go before anybody looked
            self._first_up_s = None
            return Press.LONG
        if self._first_up_s is not None and down_s - self._first_up_s < GAP_S:
            self._first_up_s = None
            return Press.DOUBLE
        self._first_up_s = up_s
        return None
