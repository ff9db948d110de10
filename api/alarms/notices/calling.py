"""Everything by which the alarms call outwards, put together for one service."""

import logging
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from pathlib import Path
from threading import Event, Thread
from typing import Final
from zoneinfo import ZoneInfo

from sqlalchemy import Engine

from api.alarms.notices.addresses import Addresses
from api.alarms.notices.heartbeat import Heartbeat
from api.alarms.notices.outbox import Outbox, notices_for
from api.alarms.notices.post import Post
from api.alarms.notices.pulse import Pulse
from api.alarms.notices.repeats import call_again
from api.alarms.notices.sender import Sender
from api.alarms.notices.words import Speaker
from logger.errors import StoreError
from logger.sounder import Call
from logger.store.alarm_tables import AlarmEvent, Notice, NoticeTarget

log = logging.getLogger(__name__)

REPEATS_S: Final = 10.0  # between looks at what nobody has acknowledged


class Calling:
    """The outbox and its sender, the repeats, the heartbeat, and word to logger and manager."""

    def __init__(
        self,
        data: Path,
        engine: Engine,
        reading: Engine,
        now: Callable[[], datetime],
        age_s: Callable[[int], float],
        own_address: Callable[[], str],
    ) -> None:
        self._engine, self._reading, self._now = engine, reading, now
        self._own_address = own_address
        self._speaker: Speaker | None = None
        self.post = Post()
        self.sender = Sender(Outbox(engine, reading, now), self.post)
        self.pulse = Pulse(data, age_s)
        self.heartbeat = Heartbeat(lambda: self.pulse.fresh)
        self._stopped = Event()
        self._thread = Thread(target=self._call_again, name="repeats", daemon=True)

    def start(self) -> None:
        """Send what waits, and go on."""
        self.reread()
        self.sender.start()
        self.heartbeat.start()
        self._thread.start()

    def stop(self) -> None:
        """End; what is under way is sent again at the next start, marked."""
        self._stopped.set()
        self.heartbeat.stop()
        self.sender.stop()
        self.post.close()
        self._thread.join()

    def reread(self) -> None:
        """Take over what is set of the site, the links and the heartbeat.

        Read here and not for each notice: those are written while the store is locked.
        """
        from api.site import stored as site  # noqa: PLC0415 - it stands on the house, as we do

        told, _ = site(self._reading)
        addresses, _ = Addresses.stored(self._reading)
        self.heartbeat.set(addresses.heartbeat_address, addresses.heartbeat_every_s)
        self._speaker = Speaker(
            ZoneInfo(told.time_zone),
            (addresses.link_address or self._own_address()).rstrip("/"),
            us_units=told.temperature_unit == "F",
            simulated=told.simulated,
        )

    def speaker(self) -> Speaker:
        """Speak in the site's time and units as they are now."""
        if self._speaker is None:
            self.reread()
        assert self._speaker is not None  # noqa: S101 - it was just made
        return self._speaker

    def notices_for(self, event: AlarmEvent, targets: Sequence[NoticeTarget]) -> Iterable[Notice]:
        """Write the notices of an event that has come up, for the transaction that keeps it."""
        return notices_for(event, targets, self.speaker()) if targets else ()

    def committed(self) -> None:
        """Send at once what was just committed."""
        self.sender.wake()

    def judged(self, slot: int, call: Call) -> None:
        """Note a scan that is judged and committed; the only thing that feeds the watchdog."""
        self.pulse.judged(slot, call)

    def look(self) -> None:
        """Write what is due again, and have it sent."""
        if call_again(self._engine, self._reading, self.speaker, self._now()):
            self.sender.wake()

    def _call_again(self) -> None:
        while not self._stopped.wait(REPEATS_S):
            try:
                self.look()
            except StoreError as error:
                log.error("Alarms are not called again: %s", error)  # noqa: TRY400
            except Exception:
                log.exception("Alarms are not called again; it is tried again.")
