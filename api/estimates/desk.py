"""The estimates at work: every occupied vessel's, stepped with what is stored as it comes.

A thread of its own, so that a slow step delays neither a scan nor an alarm. What it is told is how
far the scans have come and that something was entered, nothing that could pile up: where it falls
behind, it catches up from the store. The same way it begins after a restart.
"""

import logging
from collections import deque
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from threading import Condition, Thread
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Engine

from api.alarms.shipped import SHIPPED
from api.estimates import issued
from api.estimates.estimate import Estimate
from api.estimates.facts.held import Held, HeldReader, Holding
from api.estimates.facts.tanks import YEAST_RULE
from api.estimates.issued import Issue
from api.estimates.restating import KEPT, KEPT_SLOWLY, LIVE, Restating
from api.estimates.seat import Maker, Seat, maker
from api.estimates.steps import end_of_steps
from api.site import zone
from logger.store.types import to_datetime

log = logging.getLogger(__name__)

TICK_S: Final = 1.0  # so often it looks whether something began or ended by itself
MOST_OWED: Final = 2000  # estimates that wait for a store that takes none; older ones are given up


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of one vessel now."""

    held: Held
    slot: int  # of the newest step it stands on
    at: datetime
    estimates: tuple[Estimate, ...]

    @property
    def by_quantity(self) -> dict[str, Estimate]:
        """Return the estimates by what they are of."""
        return {one.quantity: one for one in self.estimates}


@dataclass(slots=True)
class _Place:
    """A seat, and what was said of it to pages and to the store."""

    seat: Seat
    live: Restating
    kept: Restating


class Desk:
    """All estimators of a data folder."""

    def __init__(
        self,
        engine: Engine,
        reading: Engine,
        now: Callable[[], datetime],
        *,
        make: Maker = maker,
    ) -> None:
        self._engine, self._reading, self._now, self._make = engine, reading, now, make
        self._facts = HeldReader(reading, SHIPPED[YEAST_RULE])
        self._zone = ZoneInfo("UTC")
        self.heard: list[Callable[[Mapping[str, Told]], None]] = []  # told of what is restated
        self.told: Mapping[str, Told] = {}  # by vessel; replaced, never changed
        self._holding = Holding()
        self._places: dict[UUID, _Place] = {}
        self._owed: deque[Issue] = deque(maxlen=MOST_OWED)
        self._wake = Condition()
        self._newest = 0  # the slot of the newest scan
        self._changed: set[UUID] | None = set()  # runs; empty: anything; None: nothing
        self._stopped = self._failing = False
        self._thread = Thread(target=self._run, name="estimates", daemon=True)

    def start(self) -> None:
        """Begin, with what is stored."""
        self._thread.start()

    def stop(self) -> None:
        """End the thread."""
        with self._wake:
            self._stopped = True
            self._wake.notify()
        if self._thread.is_alive():
            self._thread.join()

    def seen(self, slot: int) -> None:
        """Take note of how far the scans have come."""
        with self._wake:
            before, self._newest = self._newest, slot
            if end_of_steps(slot) != end_of_steps(before):
                self._wake.notify()

    def changed(self, runs: Collection[UUID] = ()) -> None:
        """Take note that something was entered: of some runs, else of anything."""
        with self._wake:
            some = bool(runs) and (self._changed is None or bool(self._changed))
            self._changed = (self._changed or set()) | set(runs) if some else set()
            self._wake.notify()

    def work(self) -> None:
        """Do what is due."""
        with self._wake:
            newest, changed, self._changed = self._newest, self._changed, None
        try:
            if changed is not None or self._is_over():
                self._read_facts(changed or set())
            self._step(end_of_steps(newest))
        except Exception:
            with self._wake:
                self._changed = set()  # it is all read again
            raise

    def _run(self) -> None:
        done = 0
        while True:
            with self._wake:
                if not self._stopped and (self._failing or not self._is_due(done)):
                    self._wake.wait(TICK_S)
                if self._stopped:
                    return
                due, done = self._is_due(done), self._newest
            if due or self._is_over():
                self._try_to_work()

    def _is_due(self, done: int) -> bool:
        """Say whether something was entered, or a step is over since a slot."""
        return self._changed is not None or end_of_steps(self._newest) != end_of_steps(done)

    def _try_to_work(self) -> None:
        try:
            self.work()
        except Exception:
            if not self._failing:  # once, and not with every step
                log.exception("The estimates cannot go on; trying again with every step.")
            self._failing = True
        else:
            self._failing = False

    def _is_over(self) -> bool:
        """Say whether something begins or ends by now, as was said before."""
        changes_at = self._holding.changes_at
        return changes_at is not None and self._now() >= changes_at

    def _read_facts(self, changed: Collection[UUID]) -> None:
        self._facts.forget(changed)
        self._holding, self._zone = self._facts.read(self._now()), zone(self._reading)
        places = {}
        for held in self._holding.held:
            place = self._places.get(held.run_id)
            if place is None:
                place = _Place(
                    Seat(self._reading, held, self._hour, self._make),
                    Restating(LIVE),
                    Restating(KEPT_SLOWLY if held.kind == "ferment" else KEPT),
                )
            else:
                place.seat.know(held)
            places[held.run_id] = place
        self._places = places

    def _step(self, end_slot: int) -> None:
        """Let every estimator see what has come, and tell what is to be told."""
        told, restated = {}, {}
        for run, place in self._places.items():
            seat = place.seat
            seat.advance(end_slot)
            if not seat.slot:
                continue  # nothing has been read since it began
            key = str(seat.held.vessel_id)
            told[key] = one = self._tell(place)
            if place.live.take(one.slot, one.estimates):
                restated[key] = one
            due = place.kept.take(one.slot, one.estimates)
            self._owed += (Issue(run, one.slot, one.at, each) for each in due)
        gone = self.told.keys() - told.keys()
        self.told = told
        if restated or gone:
            for hear in self.heard:
                hear(restated)
        self._pay()

    def _tell(self, place: _Place) -> Told:
        estimates, slot = place.seat.tell(), place.seat.slot
        at = to_datetime(self._holding.epochs.utc_us(slot))
        return Told(place.seat.held, slot, at, estimates)

    def _pay(self) -> None:
        """Keep what is owed; where the store takes nothing now, it goes with the next."""
        if self._owed:
            issued.keep(self._engine, self._owed)
            self._owed.clear()

    def _hour(self, slot: int) -> str:
        moment = to_datetime(self._holding.epochs.utc_us(slot))
        return moment.astimezone(self._zone).strftime("%H:%M")
