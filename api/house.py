"""What the routes share: the data folder held open, the board, and the streams."""

import asyncio
import logging
from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from contextlib import ExitStack, asynccontextmanager
from datetime import datetime
from threading import Lock
from typing import TYPE_CHECKING, Annotated, Final
from uuid import UUID

import orjson
from fastapi import Depends, Request

from api.alarms.estimated import Estimated
from api.alarms.notices.calling import Calling
from api.alarms.watch import Watch
from api.board import Board, Good
from api.changes import ChangeFeed
from api.layout import Channel, Layout, Marks
from api.messages import scan_data
from api.record.charges import RecordedCharges
from api.record.feed import RecordFeed
from api.stream import HEARTBEAT, MOST_WAITING, EventId, Hub, event, load_again
from logger.clock import MICRO, Clock, SystemClock
from logger.locks import hold
from logger.reading import Scan
from logger.settings import Settings
from logger.store import database
from logger.store.alarm_tables import AlarmEvent
from logger.store.refusals import Refusals
from logger.store.scans import ScanReader
from logger.store.timeline import EpochTable
from logger.store.types import to_datetime

if TYPE_CHECKING:
    from api.estimates.desk import Desk, Told

log = logging.getLogger(__name__)

HEARTBEAT_S: Final = 15
REMEMBERED_S: Final = 3600  # scans read at the start, for trends and counts of refusals


class House:
    """One data folder, opened for as long as the service runs.

    The board, the hub, the epochs and the marks belong to the event loop. The feed's thread and
    the routes' threads read the store and hand over what they found.
    """

    def __init__(self, settings: Settings, clock: Clock) -> None:
        self.settings = settings
        self.clock = clock
        self.engine = database.engine(settings.data)
        self.reader = ScanReader(database.engine(settings.data, read_only=True))
        self.refusals = Refusals(self.reader.engine)
        self.record = RecordFeed(self.reader.engine)
        self.identity = database.identity(self.engine)
        self.hub = Hub()
        self.board = Board()
        self.epochs = EpochTable()
        self.marks = Marks(0, 0)
        self._held = ExitStack()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._refreshing = Lock()
        self._taken_us = 0  # on the boot clock: when the newest scan came in
        self._shown: tuple[str, ...] = ()
        self.calling = Calling(
            settings.data,
            self.engine,
            self.reader.engine,
            lambda: self.now,
            self._age_s,
            self._address,
        )
        charges = RecordedCharges(self.reader.engine, lambda: self.now)
        self.alarms = Watch(self.engine, self.reader, clock, charges=charges)
        self.estimates = self._desk()

    @classmethod
    def open(cls, settings: Settings, clock: Clock | None = None) -> "House":
        """Take the folder, or raise WormtubError with a sentence."""
        with ExitStack() as opening:
            opening.enter_context(hold(settings.data, "service"))
            database.prepare(settings.data)
            house = cls(settings, clock or SystemClock())
            house._held.push(opening.pop_all())
            return house

    def close(self) -> None:
        """Give the folder back."""
        self.reader.close()
        self.reader.engine.dispose()
        self.engine.dispose()
        self._held.close()

    @asynccontextmanager
    async def running(self) -> AsyncIterator[None]:
        """Watch for changes while the application runs; close when it ends."""
        self._remember()
        self._loop = asyncio.get_running_loop()
        feed = ChangeFeed(self.reader, self._deliver, self.refresh, after_slot=self.board.slot)
        self._begin_alarms()
        feed.start()
        self.calling.start()
        self._begin_estimates()
        beating = asyncio.create_task(self._beat())
        try:
            yield
        finally:
            beating.cancel()
            self.hub.close()
            await asyncio.to_thread(feed.stop)
            await asyncio.to_thread(self.estimates.stop)
            await asyncio.to_thread(self.alarms.stop)
            await asyncio.to_thread(self.calling.stop)
            self.close()

    @property
    def now(self) -> datetime:
        """The time, as the machine knows it."""
        return to_datetime(self.clock.now().utc_us)

    @property
    def now_ms(self) -> int:
        """The same in whole milliseconds UTC."""
        return self.clock.now().utc_us // 1000

    @property
    def event_id(self) -> EventId:
        """Where a page stands that knows everything up to now."""
        return EventId(self.board.slot, self.marks.facts)

    @property
    def age_s(self) -> float | None:
        """Seconds since the newest scan, by a clock that never steps; None without a scan."""
        if self.board.latest is None:
            return None
        return max(0.0, (self.clock.now().boottime_us - self._taken_us) / MICRO)

    def _age_s(self, slot: int) -> float:
        """Seconds since a slot, by the wall clock as the epochs correct it."""
        return (self.clock.now().utc_us - self.epochs.utc_us(slot)) / MICRO

    def _address(self) -> str:
        from api.server import address  # noqa: PLC0415 - the server stands on the house

        return address(self.settings)

    def refresh(self) -> None:
        """Read facts and epochs anew where there are new ones; safe from any thread."""
        with self._refreshing:
            changed = self.record.look()
            if changed is not None:
                self._hand_over(self._recorded, self.record.version, changed)
                self.estimates.changed(changed)
            marks = Marks.read(self.reader.engine)
            until = self.board.layout.holds_until
            if marks == self.marks and (until is None or self.now < until):
                return
            layout = Layout.load(self.reader.engine, self.now)
            epochs = EpochTable.load(self.reader.engine)
            self._hand_over(self._relaid, marks, layout, epochs)
        self.calling.reread()
        self.alarms.relay()
        self.estimates.changed()

    def _begin_alarms(self) -> None:
        """Let the alarms take up their past; they judge each scan before anybody is shown it."""
        alarms, calling = self.alarms, self.calling
        alarms.ledger.notices_for = calling.notices_for
        alarms.judged.append(lambda slot: calling.judged(slot, alarms.call))
        alarms.ledger.changed.append(self._alarmed)
        alarms.start(self.board.slot)

    def _desk(self) -> "Desk":
        from api.estimates.desk import Desk  # noqa: PLC0415 - the record's routes stand on the house

        return Desk(self.engine, self.reader.engine, lambda: self.now)

    def _begin_estimates(self) -> None:
        """Let the estimates take up what is stored; they follow the scans in their own thread."""
        self.estimates.heard.append(self._estimated)
        self.estimates.seen(self.board.slot)
        self.estimates.start()

    def _estimated(self, restated: "Mapping[str, Told]") -> None:
        """Show what is estimated, and let the alarms judge by it from the next scan on."""
        from api.estimates.bodies import told_data  # noqa: PLC0415 - as above

        self.alarms.estimated = {
            key: Estimated(one.slot, one.by_quantity) for key, one in self.estimates.told.items()
        }
        self._hand_over(self._show_estimates, told_data(restated.values(), self.estimates.told))

    def _show_estimates(self, data: bytes) -> None:
        self.hub.broadcast(event("estimates", data, self.event_id), self.event_id)

    def alarms_data(self) -> bytes:
        """Write how the alarms stand, as their event says it."""
        from api.alarms.view import alarms_now  # noqa: PLC0415 - its bodies stand on the house

        return alarms_now(self.alarms).model_dump_json().encode()

    def _alarmed(self, _events: Sequence[AlarmEvent]) -> None:
        """Show how the alarms stand now that something of them was kept."""
        data = self.alarms_data()
        self.calling.committed()
        self.calling.pulse.loud(self.alarms.call)
        self._hand_over(self._show_alarms, data)

    def _show_alarms(self, data: bytes) -> None:
        self.hub.broadcast(event("alarms", data, self.event_id), self.event_id)

    def _deliver(self, scans: Sequence[Scan]) -> None:
        self.alarms.see(scans)
        self.estimates.seen(scans[-1].slot)
        self._hand_over(self._scanned, scans)

    def _hand_over(self, action: Callable[..., None], *what: object) -> None:
        if self._loop is None:
            action(*what)
        else:
            self._loop.call_soon_threadsafe(action, *what)

    def _relaid(self, marks: Marks, layout: Layout, epochs: EpochTable) -> None:
        changed = marks.facts != self.marks.facts or layout != self.board.layout
        self.marks, self.epochs, self.board.layout = marks, epochs, layout
        if changed:
            self._show_layout()

    def _scanned(self, scans: Sequence[Scan]) -> None:
        self._taken_us = self.clock.now().boottime_us
        if len(scans) > MOST_WAITING:  # more than any watcher may be behind
            self.board.remember({}, scans)
            self.hub.broadcast(load_again(self.event_id), self.event_id)
            return
        for scan in scans:
            self.board.apply(scan)
            if self._shown != tuple(line.key for line in self.board.lines):
                self._show_layout()
            data = scan_data(self.board, self.epochs, self.board.standings())
            self.hub.broadcast(event("scan", data, self.event_id), self.event_id)

    def _recorded(self, version: int, runs: Sequence[UUID]) -> None:
        data = orjson.dumps({"version": version, "run_ids": [str(one) for one in runs]})
        self.hub.broadcast(event("record", data, self.event_id), self.event_id)

    def _show_layout(self) -> None:
        self._shown = tuple(line.key for line in self.board.lines)
        self.hub.broadcast(event("layout", b"{}", self.event_id), self.event_id)

    async def _beat(self) -> None:
        while True:
            await asyncio.sleep(HEARTBEAT_S)
            self.hub.broadcast(HEARTBEAT, self.event_id)

    def _remember(self) -> None:
        """Read the last minutes, so that trends and last good values are there at once."""
        self.refresh()
        latest = self.reader.latest()
        if latest is None:
            return
        before = self.reader.scans(latest.slot - REMEMBERED_S, latest.slot + 1)
        self.board.remember(self._last_good(), before)
        passed_us = self.clock.now().utc_us - self.epochs.utc_us(latest.slot)
        self._taken_us = self.clock.now().boottime_us - max(0, passed_us)
        self._shown = tuple(line.key for line in self.board.lines)

    def _last_good(self) -> dict[Channel, Good]:
        return {
            Channel.of(series): Good(slot, count / series.counts_per_unit)
            for series, (slot, count) in self.reader.latest_good().items()
        }


def housed(request: Request) -> House:
    """Return the house the application serves."""
    house: House = request.app.state.house
    return house


Housed = Annotated[House, Depends(housed)]
