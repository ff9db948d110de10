"""What is kept of the alarms: every change with its notices, and what is known of each alarm."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import Final

from sqlalchemy import Engine

from api.alarms import events
from api.alarms.cards import Card, comes_up, sounds
from api.alarms.evaluate import NOTED
from api.alarms.events import REPORTED, Key, NoticesFor
from api.alarms.model import State
from logger.store.alarm_tables import AlarmEvent

ALARMS: Final = "alarms"  # who, where nobody else is


class Ledger:
    """The events of a store, each committed with its notices, and a card of every alarm.

    Used under the lock of whoever judges.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self.notices_for: NoticesFor | None = None
        self.changed: list[Callable[[Sequence[AlarmEvent]], None]] = []  # told of what was kept
        self.cards: dict[Key, Card] = {}
        self.kept_slot = 0  # up to which scan it is written down that all was judged
        self._owed: dict[Key, AlarmEvent] = {}
        self._unkept: list[AlarmEvent] = []

    @property
    def owes(self) -> bool:
        """Say whether something is still to be told."""
        return bool(self._owed)

    @property
    def states(self) -> dict[Key, State]:
        """Return how every alarm stands."""
        return {key: events.state_of(card.event) for key, card in self.cards.items()}

    def read(self) -> None:
        """Read what is known of every alarm, and which notices nobody ever wrote."""
        found = events.latest(self._engine)
        self.cards = {key: Card(event) for key, event in found.items()}
        for event in events.all_about(self._engine, found):
            key = events.key_of(event)
            self.cards[key] = self.cards[key].told(event)
        heard = [card.raised for card in self.cards.values() if sounds(card.event)]
        standing = [event for event in heard if event is not None]
        self._owed = {events.key_of(one): one for one in events.untold(self._engine, standing)}

    def keep(
        self, rows: Sequence[AlarmEvent], *, slot: int | None = None, owed: bool = False
    ) -> list[AlarmEvent]:
        """Commit rows, with the notices that are owed where asked for or somebody acted.

        What cannot be committed now goes with the next; gives what was.
        """
        rows = self._unkept = [*self._unkept, *rows]
        owing = self._owing(rows)
        tells = list(owing.values()) if owed or any(row.who != ALARMS for row in rows) else []
        if rows or tells or slot is not None:
            events.keep(self._engine, rows, slot=slot, owed=tells, notices_for=self.notices_for)
        self._unkept = []
        self._owed = {} if tells else owing
        if slot is not None:
            self.kept_slot = slot
        self._note(rows)
        return rows

    def shelved_until(self, key: Key) -> datetime | None:
        """Say until when an alarm lies on its shelf."""
        card = self.cards.get(key)
        return card.shelved_until if card else None

    def over(self, now: datetime) -> Iterable[Key]:
        """Find the alarms whose shelf has ended."""
        return [
            key
            for key, card in self.cards.items()
            if card.shelved_until is not None and card.shelved_until <= now
        ]

    def tell(self, rows: Sequence[AlarmEvent]) -> None:
        """Tell everybody of what was kept."""
        for told in self.changed:
            told(rows)

    def _owing(self, rows: Sequence[AlarmEvent]) -> dict[Key, AlarmEvent]:
        owing = dict(self._owed)
        for row in rows:
            if comes_up(row):
                owing[events.key_of(row)] = row
            elif not sounds(row):
                owing.pop(events.key_of(row), None)
        return owing

    def _note(self, rows: Sequence[AlarmEvent]) -> None:
        for row in rows:
            if row.rule != REPORTED and row.what != NOTED:
                key = events.key_of(row)
                self.cards[key] = self.cards.get(key, Card(row)).told(row)
