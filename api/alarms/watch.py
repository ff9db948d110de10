"""The alarms at work: judge every scan in its turn, keep what changed, and take people's acts.

One lock guards it all. The feed's thread judges scans, a thread of its own keeps the time (shelves
that end, a logger that falls silent), and the routes' threads bring what people do.
"""

import logging
import shutil
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from threading import Event, RLock, Thread
from typing import Final
from uuid import UUID

from sqlalchemy import Engine

from api.alarms import events
from api.alarms.book import Book, Standing
from api.alarms.cards import Card, comes_up, sounds
from api.alarms.evaluate import NOTED, Change, Evaluation
from api.alarms.events import REPORTED, Key, NoticesFor
from api.alarms.ground import Charges, NothingKnown
from api.alarms.limits import current_limits
from api.alarms.model import URGENCY, Priority, Shelf, State, Trigger
from api.alarms.reports import AT_STILL, take_report
from api.alarms.rows import change_row, report_row
from api.alarms.rules import Limits, Rule
from api.alarms.shipped import SHIPPED
from api.alarms.sights import VesselSight
from logger.clock import MICRO, Clock
from logger.errors import NotFoundError, StoreError
from logger.reading import Scan
from logger.sounder import Call
from logger.store.alarm_tables import AlarmEvent
from logger.store.failures import file_of
from logger.store.scans import ScanReader
from logger.store.types import to_datetime

log = logging.getLogger(__name__)

TICK_S: Final = 1.0
WARM_UP_S: Final = 3600
KEPT_EVERY_S: Final = 60  # how far was judged is written down so often
OLDEST_BACKLOG_S: Final = 7 * 86_400
DOWN_S: Final = 60  # a pause shorter than this is none
CHARGES_EVERY_S: Final = 10
DISK_EVERY_S: Final = 60
MEGABYTE: Final = 1_000_000
ALARMS: Final = "alarms"  # who, where nobody else is


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
        self.charges: Charges = charges or NothingKnown()
        self.rules = dict(rules or SHIPPED)
        self.notices_for: NoticesFor | None = None
        self.judged: list[Callable[[int], None]] = []  # told of the newest scan judged
        self.changed: list[Callable[[Sequence[AlarmEvent]], None]] = []  # told of what was kept
        self.lock = RLock()
        self.cards: dict[Key, Card] = {}
        self.slot = 0
        self.changed_slot = -1  # the scan as of which something was last kept
        self._kept_slot = 0
        self._taken_us: int | None = None  # on the boot clock: when the newest scan came
        self._owed: dict[Key, AlarmEvent] = {}
        self._unkept: list[AlarmEvent] = []
        self._told_free_us = self._charged_us = -DISK_EVERY_S * MICRO
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
            if self._ready.is_set() and self.slot > self._kept_slot:
                self._keep([], slot=self.slot)

    def wait_ready(self, timeout_s: float | None = None) -> bool:
        """Wait until the past has been judged."""
        return self._ready.wait(timeout_s)

    def see(self, scans: Sequence[Scan]) -> None:
        """Judge scans in their order, and keep what changed before anybody is shown them."""
        self._ready.wait()
        with self.lock:
            self._taken_us = self._clock.now().boottime_us
            try:
                self._judge(scans, last=True)
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
            self._stand(self.slot or self._now_slot())
            step_us = self.book.epochs.pieces[-1].offset_us - before.pieces[-1].offset_us
            self._set_limits()
            if step_us:
                self.evaluation.system.clock_step_s = step_us / MICRO
                self._pay(self._rows(self.evaluation.see_system(self.slot)))
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
            rows = self._rows(changes, who=who, why=why, shelved_until=until)
            if not rows and trigger is Trigger.SHELVE and self._state(key).shelf is Shelf.TIMED:
                rows = [self._longer(key, who, why, until)]  # another time on the same shelf
            self._keep(rows)
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
            self._keep([row])
            take_report(sight, what, slot)
            return row

    def at_the_still(self, who: str) -> None:
        """Take a sign that somebody is beside the stills that are hot."""
        for key, sight in list(self.evaluation.vessels.items()):
            if sight.still is not None and sight.still.hot:
                self.report(UUID(key), AT_STILL, who)

    def set_limits(self, rule: str, limits: Limits) -> None:
        """Hold a rule against other limits from now on; the fact was recorded before."""
        with self.lock:
            self.evaluation.set_limits(rule, limits)

    # -- the past, once

    def _run(self) -> None:
        try:
            self._catch_up()
        except Exception:
            log.exception("The alarms could not take up their past; they judge from now on.")
        finally:
            self._ready.set()
        if self.cards:  # a sounder may have to call, whether scans come or not
            for told in self.changed:
                told(())
        while not self._stopped.wait(TICK_S):
            try:
                self.tick()
            except StoreError:
                log.exception("Alarms cannot be kept; trying again.")

    def _catch_up(self) -> None:
        with self.lock:
            self._restore()
            until = self.slot
            judged = events.judged_slot(self._engine)
            from_slot = until if judged is None else max(judged, until - OLDEST_BACKLOG_S)
            self._warm_up(from_slot)
            self._back_to_states()
            self.slot = self._kept_slot = from_slot
            if judged is None:  # so that what comes before the first change is a backlog too
                self._keep([], slot=from_slot)
            backlog = self._reader.scans(from_slot + 1, until + 1)
            was_hot = self._judge_backlog(backlog)
            self._note_down(judged, until, was_hot=was_hot)
            self.book = Book.read(self._reader.engine, self.now)  # entered meanwhile
            self._stand(self._now_slot())
            self._pay([])

    def _restore(self) -> None:
        found = events.latest(self._engine)
        states = {key: events.state_of(event) for key, event in found.items()}
        self._set_limits()
        self.evaluation = Evaluation(
            self.standing.ground, self.rules, self.evaluation.limits, states
        )
        self.cards = {key: Card(event) for key, event in found.items()}
        for event in events.all_about(self._engine, found):
            key = events.key_of(event)
            self.cards[key] = self.cards[key].told(event)
        heard = [card.raised for card in self.cards.values() if sounds(card.event)]
        standing = [event for event in heard if event is not None]
        self._owed = {events.key_of(one): one for one in events.untold(self._engine, standing)}

    def _warm_up(self, from_slot: int) -> None:
        """Show the detectors the last hour; what they would have raised was raised then."""
        for scan in self._reader.scans(from_slot - WARM_UP_S, from_slot + 1):
            self._stand(scan.slot)
            self.evaluation.see(self.standing.moment(scan))
        for event in events.reports_since(self._engine, from_slot - WARM_UP_S):
            if (sight := self.evaluation.vessels.get(event.subject)) is not None:
                take_report(sight, event.what, event.slot)

    def _back_to_states(self) -> None:
        """Let every alarm stand as it stood, whatever the warm-up made of it."""
        self.evaluation.restore(
            {key: events.state_of(card.event) for key, card in self.cards.items()}
        )

    def _judge_backlog(self, scans: Iterable[Scan]) -> bool:
        hot, held = False, []
        for scan in scans:
            held.append(scan)
            if len(held) >= 1000:
                self._judge(held, last=False)
                held = []
            hot = hot or self._any_hot()
        self._judge(held, last=False)
        return hot or self._any_hot()

    def _note_down(self, judged: int | None, until: int, *, was_hot: bool) -> None:
        if judged is None or until - judged < DOWN_S or not was_hot:
            return
        system = self.evaluation.system
        system.down_s = float(until - judged)
        self._keep(self._rows(self.evaluation.see_system(until)))
        system.down_s = None

    # -- now

    def tick(self) -> None:
        """Do what is due by the clock, whether scans come or not."""
        with self.lock:
            now = self._clock.now()
            system = self.evaluation.system
            if self._taken_us is None:
                self._taken_us = now.boottime_us
            system.silent_s = max(0.0, (now.boottime_us - self._taken_us) / MICRO)
            if now.boottime_us - self._told_free_us >= DISK_EVERY_S * MICRO:
                self._told_free_us = now.boottime_us
                system.free_mb = self._free_mb()
            changes = self.evaluation.see_system(self.slot)
            changes += self._end_shelves()
            if changes or self._owed:
                self._pay(self._rows(changes))

    def _judge(self, scans: Sequence[Scan], *, last: bool) -> None:
        changes: list[Change] = []
        for scan in scans:
            if scan.slot <= self.slot:
                continue  # judged, but what came of it could not be kept at once
            self._stand(scan.slot)
            self._ask_charges()
            changes += self.evaluation.see(self.standing.moment(scan))
            self.slot = scan.slot
        rows = self._rows(changes)
        if last:
            self._pay(rows)
        else:
            self._keep(rows, slot=self.slot if scans else None)

    def _pay(self, rows: Sequence[AlarmEvent]) -> None:
        """Keep events, with the notices of what is still to be heard."""
        due = self.slot - self._kept_slot >= KEPT_EVERY_S
        slot = self.slot if due or rows else None
        self._keep(rows, slot=slot, owed=True)

    def _keep(
        self, rows: Sequence[AlarmEvent], *, slot: int | None = None, owed: bool = False
    ) -> None:
        """Commit; what cannot be committed now goes with the next."""
        rows = self._unkept = [*self._unkept, *rows]
        owing = dict(self._owed)
        for row in rows:
            key = events.key_of(row)
            if comes_up(row):
                owing[key] = row
            elif not sounds(row):
                owing.pop(key, None)
        tells = list(owing.values()) if owed or any(row.who != ALARMS for row in rows) else []
        if rows or tells or slot is not None:
            events.keep(self._engine, rows, slot=slot, owed=tells, notices_for=self.notices_for)
        self._unkept = []
        self._owed = {} if tells else owing
        if slot is not None:
            self._kept_slot = slot
        for row in rows:
            if row.rule != REPORTED and row.what != NOTED:
                key = events.key_of(row)
                self.cards[key] = self.cards.get(key, Card(row)).told(row)
        if rows:
            self.changed_slot = self.slot
            for told in self.changed:
                told(rows)

    def _rows(
        self,
        changes: Iterable[Change],
        *,
        who: str = ALARMS,
        why: str = "",
        shelved_until: datetime | None = None,
    ) -> list[AlarmEvent]:
        return [self._row(one, who, why, shelved_until) for one in changes]

    def _row(
        self, change: Change, who: str, why: str, shelved_until: datetime | None
    ) -> AlarmEvent:
        until = shelved_until
        if until is None and change.after.shelf is Shelf.TIMED:
            card = self.cards.get(change.key)
            until = card.shelved_until if card else None
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
        now = self.now
        changes: list[Change] = []
        for key, card in self.cards.items():
            over = card.shelved_until is not None and card.shelved_until <= now
            if over and key in self.evaluation.judges:
                changes += self.evaluation.turn(key, Trigger.SHELF_EXPIRES, self.slot)
        return changes

    def _stand(self, slot: int) -> None:
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

    def _ask_charges(self) -> None:
        now_us = self._clock.now().boottime_us
        if now_us - self._charged_us < CHARGES_EVERY_S * MICRO:
            return
        self._charged_us = now_us
        for sight in self.evaluation.vessels.values():
            if sight.still is not None:
                self._ask_charge(sight)

    def _ask_charge(self, sight: VesselSight) -> None:
        """Ask the record of a still's run; where it cannot be read, nothing is known of it."""
        run, hand_at = sight.ground.run_id, None
        sight.charge = None
        if run is not None:
            try:
                sight.charge = self.charges.charge(run)
                hand_at = self.charges.last_hand_at(run)
            except StoreError:
                log.exception("The alarms cannot read the record of run %s.", run)
        if hand_at is not None:
            sight.touched_slot = max(self.book.slot_of(hand_at), sight.touched_slot or 0)

    def _set_limits(self) -> None:
        for name, limits in current_limits(self._reader.engine, self.rules).items():
            self.evaluation.set_limits(name, limits)

    def _any_hot(self) -> bool:
        sights = self.evaluation.vessels.values()
        return any(one.still is not None and one.still.hot for one in sights)

    def _now_slot(self) -> int:
        slots = self.book.epochs.slots(*_second(self._clock.now().utc_us))
        return slots[-1].from_slot if slots else self._clock.now().utc_us // MICRO

    def _free_mb(self) -> float:
        return shutil.disk_usage(file_of(self._engine).parent).free / MEGABYTE


def _second(utc_us: int) -> tuple[int, int]:
    return utc_us, utc_us + MICRO
