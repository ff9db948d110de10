"""A heartbeat to an address outside the house, so that a dead Pi is noticed by its silence.

It beats only while scans are judged: a logger or an evaluation that stands still is as silent as
a dead Pi.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass, replace
from threading import Event, Thread
from time import monotonic
from typing import Final

from api.versions import program_version

log = logging.getLogger(__name__)

LONGEST_EVERY_S: Final = 60
SHORTEST_EVERY_S: Final = 10
AGAIN_S: Final = 10.0  # after a beat that was not answered
TIMEOUT_S: Final = 8.0
LOOK_S: Final = 1.0


@dataclass(frozen=True, slots=True)
class Beat:
    """How the heart beats: where to, how often, and how the last one went."""

    address: str = ""  # empty: not at all
    every_s: int = LONGEST_EVERY_S
    beats: int = 0
    problem: str = ""  # of the last beat, in one sentence


class Heartbeat:
    """A thread that asks the address on a schedule no clock step moves."""

    def __init__(
        self,
        fresh: Callable[[], bool],
        *,
        ask: Callable[[str], str] | None = None,
        clock_s: Callable[[], float] = monotonic,
    ) -> None:
        self._fresh, self._ask, self._clock_s = fresh, ask or asked, clock_s
        self.beat = Beat()
        self._due_s = clock_s()
        self._stopped = Event()
        self._thread = Thread(target=self._run, name="heartbeat", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """End; a beat under way is not waited for."""
        self._stopped.set()

    def set(self, address: str, every_s: int) -> None:
        """Beat there, so often, from now on."""
        if (address, every_s) != (self.beat.address, self.beat.every_s):
            self.beat = Beat(address, min(every_s, LONGEST_EVERY_S))
            self._due_s = self._clock_s()

    def look(self) -> None:
        """Beat if it is time."""
        now_s, beat = self._clock_s(), self.beat
        if not beat.address or now_s < self._due_s or not self._fresh():
            return
        problem = self._ask(beat.address)
        if problem and not beat.problem:
            log.warning("%s", problem)
        if self.beat is beat:  # not set anew meanwhile
            self.beat = replace(beat, beats=beat.beats + 1, problem=problem)
            self._due_s = now_s + (AGAIN_S if problem else beat.every_s)

    def _run(self) -> None:
        while not self._stopped.wait(LOOK_S):
            try:
                self.look()
            except Exception:
                log.exception("The heartbeat failed; it is tried again.")
                self._stopped.wait(AGAIN_S)


def asked(address: str) -> str:
    """Ask an address; returns a sentence where it does not answer well, else nothing."""
    from urllib.error import HTTPError  # noqa: PLC0415 - kept out of memory until one is set
    from urllib.request import Request, urlopen  # noqa: PLC0415

    headers = {"User-Agent": f"wormtub/{program_version()}"}
    try:
        request = Request(address, headers=headers)  # noqa: S310 - checked at entry
        with urlopen(request, timeout=TIMEOUT_S):  # noqa: S310
            return ""
    except HTTPError as error:
        error.close()
        return f"The heartbeat's address answered {error.code}; check the address."
    except (OSError, ValueError) as error:
        why = getattr(error, "reason", error)
        return f"The heartbeat's address did not answer ({why}); check it and the network."
