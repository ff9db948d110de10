"""The alarms at work: judge every scan in its turn, keep what changed, and take people's acts.

One lock guards it all. The feed's thread judges scans, a thread of its own keeps the time (shelves
that end, a logger that falls silent), and the routes' threads bring what people do.
"""

import logging
import shutil
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from threading import Event, RLock, Thread
from typing import TYPE_CHECKING, Final
from uuid import UUID

from sqlalchemy import Engine

from api.alarms.asking import Asking
from api.alarms.book import Book, Standing
from api.alarms.evaluate import SYSTEM, Change, Evaluation
from api.alarms.events import Key
from api.alarms.ground import Charges
from api.alarms.ledger import ALARMS, Ledger
from api.alarms.limits import current_limits, own_limits
from api.alarms.model import URGENCY, Priority, Shelf, State, Trigger
from api.alarms.past import Past
from api.alarms.reports import AT_STILL, take_report
from api.alarms.rows import change_row, report_row
from api.alarms.rules import Rule
from api.alarms.shipped import SHIPPED
from logger.clock import MICRO, Clock
from logger.errors import NotFoundError, StoreError
from logger.reading import Scan
from logger.sounder import Call
from logger.store.alarm_tables import AlarmEvent
from logger.store.failures import file_of
from logger.store.scans import ScanReader
from logger.store.types import to_datetime

if TYPE_CHECKING:
    from api.alarms.estimated import Estimated

log = logging.getLogger(__name__)

SILENT: Final = Key("logger_silent", SYSTEM)
TICK_S: Final = 1.0
KEPT_EVERY_S: Final = 60  # how far was judged is written down so often
DISK_EVERY_S: Final = 60
MEGABYTE: Final = 1_000_000


class Watch:
    """All alarms of a data folder."""

    def __init__(
        self,
        engine: Engine,
        reader: ScanReader,
        clock: Clock,
        *,
        charges: Charges | None = None,
        rules: dict[str, Rule] | None = None,
    ) -> None:
        self._engine, self._reader, self._clock = engine, reader, clock
        self.rules = dict(rules or SHIPPED)
        self.record = Asking(charges)
        self.ledger = Ledger(engine)
        self.judged: list[Callable[[int], None]] = []  # told of the newest scan judged
        self.estimated: Mapping[str, Estimated] = {}  # by vessel; replaced by whoever estimates
        self.lock = RLock()
        self.slot = 0
        self.changed_slot = -1  # the scan as of which something was last kept
        self._taken_us: int | None = None  # on the boot clock: when the newest scan came
        self._told_free_us = -DISK_EVERY_S * MICRO
        self._failing = False
        self._stood_from = 0
        self._stood_on: Book | None = None
        self._ready, self._stopped = Event(), Event()
        self._thread = Thread(target=self._run, name=ALARMS, daemon=True)
        self.book = Book.read(reader.engine, self.now)
        self.standing: Standing = self.book.at(self._now_slot())
        self.evaluation = Evaluation(self.standing.ground, self.rules)

    @property
    def now(self) -> datetime:
        """The time, as the machine knows it."""
        return to_datetime(self._clock.now().utc_us)

    @property
    def call(self) -> Call:
        """How sounder and lamp are to call."""
        with self.lock:
            sounding = [one.rule for one in self.evaluation.judges.values() if one.state.sounds]
        loud = [one.priority for one in sounding if one.priority and not one.chirps]
        worst = max(loud, key=URGENCY.__getitem__, default=None)
        if worst in {Priority.MEDIUM, Priority.HIGH}:
            return Call(worst)
        if any(one.chirps for one in sounding):
            return Call.CHIRP
        return Call.NONE if worst is None else Call.LOW

    def start(self, until_slot: int) -> None:
        """Take up where an earlier service left off, up to a scan; then keep the time."""
        self.slot = until_slot
        self._thread.start()

    def stop(self) -> None:
        """End the thread; how far was judged is kept."""
        self._stopped.set()
        if self._thread.is_alive():
            self._thread.join()
        with self.lock:
            if self._ready.is_set() and self.slot > self.ledger.kept_slot:
                self.keep([], slot=self.slot)

    def wait_ready(self, timeout_s: float | None = None) -> bool:
        """Wait until the past has been judged."""
        return self._ready.wait(timeout_s)

    def see(self, scans: Sequence[Scan]) -> None:
        """Judge scans in their order, and keep what changed before anybody is shown them."""
        self._ready.wait()
        with self.lock:
            self._taken_us = self._clock.now().boottime_us
            try:
                self.judge(scans, last=True)
            except StoreError:
                log.exception("Alarms cannot be kept; they go with the next that can.")
                return
        for told in self.judged:
            told(self.slot)

    def relay(self) -> None:
        """Read the facts anew: something was entered or corrected."""
        if not self._ready.is_set():
            return  # they are read when the past has been judged
        with self.lock:
            before = self.book.epochs
            self.book = Book.read(self._reader.engine, self.now)
            self.stand(self.slot or self._now_slot())
            step_us = self.book.epochs.pieces[-1].offset_us - before.pieces[-1].offset_us
            self._set_limits()
            if step_us:
                self.evaluation.system.clock_step_s = step_us / MICRO
                self.pay(self.rows(self.evaluation.see_system(self.slot)))
                self.evaluation.system.clock_step_s = None

    def act(
        self,
        key: Key,
        trigger: Trigger,
        *,
        who: str,
        why: str = "",
        minutes: int | None = None,
    ) -> AlarmEvent | None:
        """Let a person's act happen; gives its event, None where it changed nothing."""
        self._ready.wait()
        with self.lock:
            if key not in self.evaluation.judges:
                raise NotFoundError(f"There is no alarm {key}; load the list again.")
            until = None if minutes is None else self.now + timedelta(minutes=minutes)
            changes = self.evaluation.turn(key, trigger, self.slot)
            rows = self.rows(changes, who=who, why=why, shelved_until=until)
            if not rows and trigger is Trigger.SHELVE and self._state(key).shelf is Shelf.TIMED:
                rows = [self._longer(key, who, why, until)]  # another time on the same shelf
            self.keep(rows)
            return rows[0] if rows else None

    def report(self, vessel: UUID, what: str, who: str, note: str = "") -> AlarmEvent:
        """Take what somebody at the still has seen or shown."""
        self._ready.wait()
        with self.lock:
            sight = self.evaluation.vessels.get(str(vessel))
            if sight is None or sight.still is None:
                raise NotFoundError(f"There is no still {vessel}; load the vessels again.")
            slot = max(self.slot, self._now_slot())
            ground = self.standing.ground
            row = report_row(ground, str(vessel), what, slot, self.now, who=who, note=note)
            self.keep([row])
            take_report(sight, what, slot)
            return row

    def at_the_still(self, who: str, how: str) -> None:
        """Take a sign that somebody is beside the stills that are hot."""
        for key, sight in list(self.evaluation.vessels.items()):
            if sight.still is not None and sight.still.hot:
                self.report(UUID(key), AT_STILL, who, how)

    def take_limits(self) -> None:
        """Hold all rules against the limits that stand now; they were recorded before."""
        with self.lock:
            self._set_limits()

    def _run(self) -> None:
        try:
            with self.lock:
                Past(self, self._engine, self._reader).take_up()
        except Exception:
            log.exception("The alarms could not take up their past; they judge from now on.")
        finally:
            self._ready.set()
        if self.ledger.cards:  # a sounder may have to call, whether scans come or not
            self.ledger.tell(())
        while not self._stopped.wait(TICK_S):
            try:
                self.tick()
                self._failing = False
            except Exception:
                if not self._failing:  # once, and not every second
                    log.exception("The alarms cannot keep the time; trying again.")
                self._failing = True

    def tick(self) -> None:
        """Do what is due by the clock, whether scans come or not."""
        with self.lock:
            now = self._clock.now()
            system = self.evaluation.system
            if self._taken_us is None:
                self._taken_us = now.boottime_us - self._silent_before_us()
            system.silent_s = max(0.0, (now.boottime_us - self._taken_us) / MICRO)
            if now.boottime_us - self._told_free_us >= DISK_EVERY_S * MICRO:
                self._told_free_us = now.boottime_us
                system.free_mb = self._free_mb()
            changes = self.evaluation.see_system(self.slot)
            changes += self._end_shelves()
            if changes or self.ledger.owes:
                self.pay(self.rows(changes))

    def judge(self, scans: Sequence[Scan], *, last: bool) -> None:
        """Judge scans; the last are those of now, of which everybody is told."""
        changes: list[Change] = []
        for scan in scans:
            if scan.slot <= self.slot:
                continue  # judged, but what came of it could not be kept at once
            self.stand(scan.slot)
            self.ask()
            self.evaluation.estimate(self.estimated)
            changes += self.evaluation.see(self.standing.moment(scan))
            self.slot = scan.slot
        rows = self.rows(changes)
        if last:
            self.pay(rows)
        else:
            self.keep(rows, slot=self.slot if scans else None)

    def ask(self) -> None:
        """Ask the record, where that is due."""
        now_us = self._clock.now().boottime_us
        self.record.ask(now_us, self.evaluation.vessels.values(), self.book.slot_of)

    def begin_from(self, states: Mapping[Key, State]) -> None:
        """Judge by the limits as they are, from alarms that stand so."""
        self._set_limits()
        limits, own = self.evaluation.limits, self.evaluation.own
        self.evaluation = Evaluation(self.standing.ground, self.rules, limits, states, own)

    def read_book(self) -> None:
        """Read the facts as they are now, and stand on them."""
        self.book = Book.read(self._reader.engine, self.now)
        self.stand(self._now_slot())

    def pay(self, rows: Sequence[AlarmEvent]) -> None:
        """Keep events, with the notices of what is still to be heard."""
        due = self.slot - self.ledger.kept_slot >= KEPT_EVERY_S
        slot = self.slot if due or rows else None
        self.keep(rows, slot=slot, owed=True)

    def keep(
        self, rows: Sequence[AlarmEvent], *, slot: int | None = None, owed: bool = False
    ) -> None:
        """Commit, and tell; nothing is told of a past that is still being judged."""
        kept = self.ledger.keep(rows, slot=slot, owed=owed)
        if kept:
            self.changed_slot = self.slot
            if self._ready.is_set():
                self.ledger.tell(kept)

    def rows(
        self,
        changes: Iterable[Change],
        *,
        who: str = ALARMS,
        why: str = "",
        shelved_until: datetime | None = None,
    ) -> list[AlarmEvent]:
        """Write changes down."""
        return [self._row(one, who, why, shelved_until) for one in changes]

    def _row(
        self, change: Change, who: str, why: str, shelved_until: datetime | None
    ) -> AlarmEvent:
        until = shelved_until
        if until is None and change.after.shelf is not Shelf.NONE:
            until = self.ledger.shelved_until(change.key)
        return change_row(
            change,
            self.rules[change.key.rule],
            self.standing.ground,
            to_datetime(self.book.epochs.utc_us(change.slot)),
            who=who,
            why=why,
            shelved_until=until,
        )

    def _longer(self, key: Key, who: str, why: str, until: datetime | None) -> AlarmEvent:
        state = self._state(key)
        change = Change(key, self.slot, Trigger.SHELVE, state, state, None, None)
        return self._row(change, who, why, until)

    def _state(self, key: Key) -> State:
        return self.evaluation.judges[key].state

    def _end_shelves(self) -> list[Change]:
        changes: list[Change] = []
        for key in self.ledger.over(self.now):
            if key in self.evaluation.judges:
                changes += self.evaluation.turn(key, Trigger.SHELF_EXPIRES, self.slot)
        return changes

    def _silent_before_us(self) -> int:
        """Say for how long no reading has come, where that was told before a restart already."""
        silent = self.evaluation.judges.get(SILENT)
        if silent is None or not silent.state.holds:
            return 0
        return max(0, self._clock.now().utc_us - self.book.epochs.utc_us(self.slot))

    def stand(self, slot: int) -> None:
        """Stand on the facts as they hold at a slot."""
        until_us = self.standing.until_us
        moment_us = self.book.epochs.utc_us(slot)
        same = self._stood_from <= slot and (until_us is None or moment_us < until_us)
        if same and self._stood_on is self.book:
            return
        self.standing = self.book.at(slot)
        self._stood_from, self._stood_on = slot, self.book
        self.evaluation.lay(self.standing.ground)
        for sight in self.evaluation.vessels.values():
            if sight.still is not None and sight.touched_slot is None:
                sight.touched_slot = slot

    def _set_limits(self) -> None:
        for name, limits in current_limits(self._reader.engine, self.rules).items():
            self.evaluation.set_limits(name, limits)
        self.evaluation.set_own_limits(own_limits(self._reader.engine))

    @property
    def any_hot(self) -> bool:
        """Say whether a still is hot."""
        sights = self.evaluation.vessels.values()
        return any(one.still is not None and one.still.hot for one in sights)

    def _now_slot(self) -> int:
        slots = self.book.epochs.slots(*_second(self._clock.now().utc_us))
        return slots[-1].from_slot if slots else self._clock.now().utc_us // MICRO

    def _free_mb(self) -> float:
        return shutil.disk_usage(file_of(self._engine).parent).free / MEGABYTE


def _second(utc_us: int) -> tuple[int, int]:
    return utc_us, utc_us + MICRO
