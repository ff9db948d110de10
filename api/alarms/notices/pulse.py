"""What a judged scan sets going: the manager's watchdog, the logger's trust, the sounder.

Called with every scan the alarms have judged, and by nothing else: a service that answers pages
but judges nothing is restarted by its manager, and sounded by the logger.
"""

import logging
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from threading import Lock
from typing import Final

from logger.errors import StoreError
from logger.notify import notify
from logger.service_state import ServiceState
from logger.sounder import Call

log = logging.getLogger(__name__)

FRESH_S: Final = 30  # a scan judged later than this after its slot feeds nothing
CANNOT: Final = "The data folder {} cannot be written ({}); the sounder cannot be told."
EVERY_S: Final = 10  # slots between notes to the logger while nothing changes


class Pulse:
    """The newest judged scan, and how loud the alarms are."""

    def __init__(self, data: Path, age_s: Callable[[int], float]) -> None:
        self._data, self._age_s = data, age_s  # of a slot
        self._lock = Lock()
        self._state = ServiceState(os.getpid(), 0)
        self._noted_slot = 0
        self._failing = False
        before = ServiceState.read(data)
        if before is not None:  # tries only rise, so that a restart is no press
            self._state = ServiceState(os.getpid(), 0, tries=before.tries)

    @property
    def fresh(self) -> bool:
        """Say whether the newest judged scan is of now."""
        return self._age_s(self._state.judged_slot) <= FRESH_S

    def judged(self, slot: int, call: Call) -> None:
        """Note a scan that the alarms have judged, its events committed."""
        with self._lock:
            changed = call.value != self._state.call
            self._state = replace(self._state, judged_slot=slot, call=call.value)
            if changed or not 0 <= slot - self._noted_slot < EVERY_S:
                self._write()
        if self.fresh:
            notify("WATCHDOG=1")

    def loud(self, call: Call) -> None:
        """Note that somebody has made the alarms louder or softer between two scans."""
        with self._lock:
            if call.value != self._state.call:
                state = self._state
                self._state = ServiceState(
                    state.process, state.judged_slot, call.value, state.tries
                )
                self._write()

    def attempt(self) -> None:
        """Ask the logger to let sounder and lamp be heard and seen; StoreError where it cannot."""
        with self._lock:
            self._state = replace(self._state, tries=self._state.tries + 1)
            if problem := self._write():
                raise StoreError(problem)

    def _write(self) -> str:
        """Tell the logger; gives a sentence where the folder takes nothing, and logs it once."""
        try:
            self._state.write(self._data)
        except OSError as error:
            problem = CANNOT.format(self._data, error.strerror)
        else:
            problem = ""
            self._noted_slot = self._state.judged_slot
        if problem and not self._failing:
            log.error("%s", problem)
        self._failing = bool(problem)
        return problem
