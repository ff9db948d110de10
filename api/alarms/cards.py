"""What is known of an alarm beside its state, gathered from its events."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from api.alarms.model import Priority, Process, Trigger
from logger.store.alarm_tables import AlarmEvent

LONGEST_SHELF_MIN: Final = {Priority.LOW: 720, Priority.MEDIUM: 720, Priority.HIGH: 60}
ANNOUNCES: Final = {  # what makes an alarm come up as new
    Trigger.RAISE, Trigger.UNSHELVE, Trigger.SHELF_EXPIRES, Trigger.UNSUPPRESS,
    Trigger.PUT_IN_SERVICE,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Card:
    """What is known of an alarm beside its state."""

    event: AlarmEvent  # the newest
    raised: AlarmEvent | None = None  # the newest that made it come up
    acknowledged_by: str | None = None
    shelved_until: datetime | None = None

    def told(self, event: AlarmEvent) -> "Card":
        """Return a card that knows of one more event."""
        by = self.acknowledged_by
        if comes_up(event) or event.state_after == Process.NORMAL:
            by = None
        elif event.what == Trigger.ACKNOWLEDGE:
            by = event.who
        return replace(
            self,
            event=event,
            raised=event if comes_up(event) else self.raised,
            acknowledged_by=by,
            shelved_until=event.shelved_until if "shelved" in event.covers else None,
        )


def sounds(event: AlarmEvent) -> bool:
    """Say whether the alarm is to be heard after an event."""
    return event.state_after == Process.UNACKNOWLEDGED and not event.covers


def comes_up(event: AlarmEvent) -> bool:
    """Say whether an event makes its alarm come up as new."""
    return sounds(event) and event.what in ANNOUNCES
