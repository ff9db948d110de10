"""Sounds what the service says, and sounds by itself where the service has fallen silent.

A service is silent when the scans it has judged lie behind the scans that are stored: that shows a
dead process, a hung one, and one that answers pages but judges nothing any more. Slots are counted,
so no clock has to agree.
"""

import logging
from pathlib import Path
from threading import Event, Lock, Thread
from typing import Final

from logger.service_state import ServiceState
from logger.settings import Settings
from logger.sounder import Call, Sounder, call_of

log = logging.getLogger(__name__)

SILENT_AFTER_S: Final = 60  # of scans stored and not judged; a service starts in less
LOOK_S: Final = 0.25


class AlarmIfSilent:
    """Follows the service's state file, in a thread where there is something to sound."""

    def __init__(self, data: Path, sounder: Sounder, problem: str = "") -> None:
        self._data, self._sounder, self.problem = data, sounder, problem
        self._lock = Lock()
        self._first_slot: int | None = None
        self._stored_slot, self._hot = 0, False
        self._tries: int | None = None
        self._silent = False
        self._stop = Event()
        self._thread: Thread | None = None

    @classmethod
    def open(cls, settings: Settings) -> "AlarmIfSilent":
        """Take the pins; one that cannot be had is told, and everything else goes on."""
        sounder, problems = Sounder.open(settings)
        for problem in problems:
            log.error("%s", problem)
        return cls(settings.data, sounder, " ".join(map(str, problems)))

    def start(self) -> None:
        """Begin to follow."""
        self._thread = Thread(target=self._run, name="sounder", daemon=True)
        self._thread.start()

    def stored(self, slot: int, *, hot: bool) -> None:
        """Note a scan that is in the store; safe from any thread."""
        with self._lock:
            if self._first_slot is None:
                self._first_slot = slot
            self._stored_slot, self._hot = slot, hot

    def look(self) -> Call:
        """Read what the service says, and call as it is called for."""
        state = ServiceState.read(self._data)
        call = self._own_call(state) or (call_of(state.call) if state else Call.NONE)
        self._sounder.call(call)
        self._try(state)
        return call

    def stop(self) -> None:
        """Fall silent and give the pins back."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join()
        self._sounder.close()

    def _run(self) -> None:
        while not self._stop.wait(LOOK_S):
            try:
                self.look()
            except Exception:
                log.exception("The sounder failed; it is tried again.")
                self._stop.wait(10.0)

    def _own_call(self, state: ServiceState | None) -> Call:
        """Say how to call for the service's silence: as for high where something is hot."""
        with self._lock:
            first, stored, hot = self._first_slot, self._stored_slot, self._hot
        if first is None:
            return Call.NONE
        judged = max(first, state.judged_slot) if state else first
        silent = stored - judged > SILENT_AFTER_S
        if silent and not self._silent:
            log.error(
                "The service has judged no scan for %d s: no alarm would come. "
                "Start it (wormtub serve), or see what it says.",
                stored - judged,
            )
        elif self._silent and not silent:
            log.info("The service judges again.")
        self._silent = silent
        if not silent:
            return Call.NONE
        return Call.HIGH if hot else Call.CHIRP

    def _try(self, state: ServiceState | None) -> None:
        tries = state.tries if state else 0
        if self._tries is not None and tries > self._tries:
            self._sounder.attempt()
        self._tries = tries
