"""Sign-ins that failed: whoever guesses waits ever longer, and nobody else is kept out.

An address that has signed a name in before is not kept waiting by others who guess at that name;
and the machine itself needs no sign-in at all.
"""

from collections import OrderedDict
from dataclasses import dataclass, field
from threading import Lock
from typing import Final

from api.errors import TooManyError

FREE: Final = 5  # failures in a row before the first wait
FIRST_S: Final = 30.0
LONGEST_S: Final = 900.0
FORGOTTEN_S: Final = 3600.0
MOST_KNOWN: Final = 4096


@dataclass(slots=True)
class _Failures:
    """What one address, or whoever tries one name, got wrong in a row."""

    count: int = 0
    at_s: float = 0.0

    def wait_s(self, now_s: float) -> float:
        """Return how long there is to wait yet."""
        if self.count < FREE:
            return 0.0
        whole = min(LONGEST_S, FIRST_S * 2.0 ** min(self.count - FREE, 20))
        return max(0.0, self.at_s + whole - now_s)


@dataclass
class Attempts:
    """Failures by address and by name; forgotten after an hour of peace."""

    _failures: OrderedDict[tuple[str, str], _Failures] = field(default_factory=OrderedDict)
    _known: OrderedDict[tuple[str, str], None] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)

    def check(self, address: str, name: str | None, now_s: float) -> None:
        """Raise TooManyError where there is to wait before the next try.

        A link has no name that could be guessed at: of whoever tries one, the address alone counts.
        """
        with self._lock:
            wait_s = self._of(("address", address), now_s).wait_s(now_s)
            if name is not None and (address, name) not in self._known:
                wait_s = max(wait_s, self._of(("name", name), now_s).wait_s(now_s))
        if wait_s > 0:
            raise TooManyError(
                f"Too many sign-ins failed; wait {wait_s:.0f} s, or use the machine itself, "
                "which asks for none.",
                wait_s,
            )

    def failed(self, address: str, name: str | None, now_s: float) -> None:
        """Count a failure."""
        with self._lock:
            named = [] if name is None else [("name", name)]
            for key in (("address", address), *named):
                one = self._of(key, now_s)
                one.count, one.at_s = one.count + 1, now_s

    def succeeded(self, address: str, name: str) -> None:
        """Forget the failures, and remember where the name signs in from."""
        with self._lock:
            self._failures.pop(("address", address), None)
            self._failures.pop(("name", name), None)
            self._known[address, name] = None
            if len(self._known) > MOST_KNOWN:
                self._known.popitem(last=False)

    def _of(self, key: tuple[str, str], now_s: float) -> _Failures:
        found = self._failures.setdefault(key, _Failures())
        if now_s - found.at_s > FORGOTTEN_S:
            found.count = 0
        self._failures.move_to_end(key)
        if len(self._failures) > MOST_KNOWN:
            self._failures.popitem(last=False)
        return found
