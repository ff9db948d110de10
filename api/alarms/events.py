"""What the alarms keep: events and their notices in one transaction, and how all stand now."""

from collections.abc import Callable, Iterable, Sequence
from typing import Final, NamedTuple

from sqlalchemy import Engine, func, select
from sqlmodel import Session, col
from sqlmodel import select as rows_of
from sqlmodel.sql.expression import SelectOfScalar

from api.alarms.model import Process, Shelf, State
from logger.store import facts
from logger.store.alarm_tables import (
    JUDGED_AFTER,
    JUDGED_UNTIL,
    AlarmEvent,
    AlarmProgress,
    Notice,
    NoticeTarget,
)
from logger.store.failures import file_of, told

# Told of an event that has come up and is still to be heard, and of the targets there are.
NoticesFor = Callable[[AlarmEvent, Sequence[NoticeTarget]], Iterable[Notice]]
REPORTED: Final = "report"  # the rule of what people report, which is no alarm
SHELVES: Final = {"shelved": Shelf.TIMED, "shelved_once": Shelf.ONCE}


class Key(NamedTuple):
    """Which alarm: a rule, and what it is about."""

    rule: str
    subject: str

    def __str__(self) -> str:
        return f"{self.rule}@{self.subject}".replace("/", ":")  # it stands in addresses

    @classmethod
    def read(cls, text: str) -> "Key":
        """Read what `str` wrote."""
        rule, _, subject = text.replace(":", "/").partition("@")
        return cls(rule, subject)


def key_of(event: AlarmEvent) -> Key:
    """Say which alarm an event is of."""
    return Key(event.rule, event.subject)


def keep(
    engine: Engine,
    events: Sequence[AlarmEvent],
    *,
    slot: int | None = None,
    owed: Sequence[AlarmEvent] = (),
    notices_for: NoticesFor | None = None,
) -> None:
    """Commit events, the notices of those to be heard, and how far was judged, all or nothing."""
    with told(file_of(engine)), Session(engine, expire_on_commit=False) as session:
        session.add_all(events)
        if owed and notices_for is not None:
            targets = facts.current(session, NoticeTarget)
            for event in owed:
                session.add_all(notices_for(event, targets))
        if slot is not None:
            _note_progress(session, slot)
        session.commit()
        session.expunge_all()


def _note_progress(session: Session, slot: int) -> None:
    kept = session.get(AlarmProgress, JUDGED_UNTIL)
    if kept is None:  # nothing was judged before: of an earlier past no alarm can be told
        session.add_all(AlarmProgress(id=one, slot=slot) for one in (JUDGED_UNTIL, JUDGED_AFTER))
    else:
        kept.slot = slot


def latest(engine: Engine) -> dict[Key, AlarmEvent]:
    """Read the newest event of every alarm that ever had one."""
    newest = (
        select(func.max(col(AlarmEvent.number)))
        .where(col(AlarmEvent.rule) != REPORTED, col(AlarmEvent.what) != "noted")
        .group_by(col(AlarmEvent.rule), col(AlarmEvent.subject))
    )
    chosen = rows_of(AlarmEvent).where(col(AlarmEvent.number).in_(newest))
    with told(file_of(engine)), Session(engine) as session:
        found = session.exec(chosen.order_by(col(AlarmEvent.number))).all()
        session.expunge_all()
    return {key_of(event): event for event in found}


def state_of(event: AlarmEvent) -> State:
    """Say how an alarm stands after an event."""
    covers = event.covers.split(",") if event.covers else []
    shelf = next((SHELVES[one] for one in covers if one in SHELVES), Shelf.NONE)
    return State(
        Process(event.state_after), shelf, "suppressed" in covers, "out_of_service" in covers
    )


def untold(engine: Engine, events: Iterable[AlarmEvent]) -> list[AlarmEvent]:
    """Give those events that no notice was ever written for."""
    ids = [event.id for event in events]
    with told(file_of(engine)), Session(engine) as session:
        told_of = set(
            session.exec(rows_of(Notice.event_id).where(col(Notice.event_id).in_(ids))).all()
        )
    return [event for event in events if event.id not in told_of]


def _progress(which: int) -> SelectOfScalar[int]:
    return rows_of(AlarmProgress.slot).where(col(AlarmProgress.id) == which)


def first_judged_after(engine: Engine) -> int | None:
    """Read after which scan the alarms were first judged; None in a store older than this."""
    with told(file_of(engine)), Session(engine) as session:
        return session.exec(_progress(JUDGED_AFTER)).first()


def judged_slot(engine: Engine) -> int | None:
    """Read up to which scan the alarms were judged."""
    with told(file_of(engine)), Session(engine) as session:
        kept = session.exec(_progress(JUDGED_UNTIL)).first()
        newest = session.exec(rows_of(func.max(col(AlarmEvent.slot)))).one()
    return None if kept is None else max(kept, newest or kept)


def reports_since(engine: Engine, slot: int) -> Sequence[AlarmEvent]:
    """Read what people have reported since a scan."""
    chosen = rows_of(AlarmEvent).where(
        col(AlarmEvent.rule) == REPORTED, col(AlarmEvent.slot) >= slot
    )
    with told(file_of(engine)), Session(engine) as session:
        found = session.exec(chosen.order_by(col(AlarmEvent.number))).all()
        session.expunge_all()
        return found


def all_about(engine: Engine, newest: dict[Key, AlarmEvent]) -> Sequence[AlarmEvent]:
    """Read the last time each alarm came up, everything since, and the newest of every alarm."""
    came_up = (
        select(func.max(col(AlarmEvent.number)))
        .where(
            col(AlarmEvent.state_after) == Process.UNACKNOWLEDGED,
            col(AlarmEvent.state_before) != Process.UNACKNOWLEDGED,
        )
        .group_by(col(AlarmEvent.rule), col(AlarmEvent.subject))
    )
    with told(file_of(engine)), Session(engine) as session:
        found: list[AlarmEvent] = []
        raised = rows_of(AlarmEvent).where(col(AlarmEvent.number).in_(came_up))
        for event in session.exec(raised).all():
            since = rows_of(AlarmEvent).where(
                col(AlarmEvent.rule) == event.rule,
                col(AlarmEvent.subject) == event.subject,
                col(AlarmEvent.number) >= event.number,
            )
            found += session.exec(since.order_by(col(AlarmEvent.number))).all()
        session.expunge_all()
    return [*(event for key, event in newest.items()), *found]
