"""Calls again, and calls others, while nobody acknowledges a high alarm."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import Engine, func
from sqlmodel import Session, col, select

from api.alarms.events import latest
from api.alarms.model import Priority, Process
from api.alarms.notices.outbox import notice, wants
from api.alarms.notices.words import Speaker, held_since
from logger.store import facts
from logger.store.alarm_tables import AlarmEvent, Notice, NoticeTarget
from logger.store.failures import file_of, told

# Common practice, no source: minutes matter, and a phone that never rests is switched off.
OFTEN: Final = timedelta(minutes=2)
SELDOM: Final = timedelta(minutes=10)
OFTEN_ROUNDS: Final = 5
UNSEEN: Final = {Process.UNACKNOWLEDGED, Process.RETURNED}


def call_again(
    engine: Engine, reading: Engine, speaker: Callable[[], Speaker], now: datetime
) -> int:
    """Write the notices that are due again or for the first time; returns how many."""
    unseen = [one for one in latest(reading).values() if _is_unseen(one)]
    if not unseen:
        return 0
    with told(file_of(engine)), Session(engine, expire_on_commit=False) as session:
        targets = facts.current(session, NoticeTarget)
        made = [one for last in unseen for one in _due(session, last, targets, speaker(), now)]
        session.add_all(made)
        session.commit()
    return len(made)


def _is_unseen(last: AlarmEvent) -> bool:
    return last.priority == Priority.HIGH and last.state_after in UNSEEN and not last.covers


def _due(
    session: Session,
    last: AlarmEvent,
    targets: Sequence[NoticeTarget],
    speaker: Speaker,
    now: datetime,
) -> Iterable[Notice]:
    began = _began(session, last)
    returned = last.state_after == Process.RETURNED
    for target in targets:
        if not wants(target, began.priority):
            continue
        rounds, newest, waiting = _told(session, began, target)
        if waiting or now < _next_at(began, target, rounds, newest, returned=returned):
            continue
        more = held_since(now, began, returned=returned)
        yield notice(began, target, speaker, more=more, told_before=rounds, at=now)


def _began(session: Session, last: AlarmEvent) -> AlarmEvent:
    """Find the event by which an alarm came up that nobody has acknowledged since."""
    same = col(AlarmEvent.rule) == last.rule, col(AlarmEvent.subject) == last.subject
    came_up = (
        col(AlarmEvent.state_after) == Process.UNACKNOWLEDGED,
        col(AlarmEvent.state_before) != Process.UNACKNOWLEDGED,
    )
    chosen = select(AlarmEvent).where(*same, *came_up)
    return session.exec(chosen.order_by(col(AlarmEvent.number).desc())).first() or last


def _told(
    session: Session, began: AlarmEvent, target: NoticeTarget
) -> tuple[int, datetime | None, bool]:
    """Count what a target was told of an event, when last, and whether some of it still waits."""
    about = col(Notice.event_id) == began.id, col(Notice.target_id) == target.about
    columns = func.count(), func.max(col(Notice.created_at))
    rounds, newest = session.exec(select(*columns).where(*about)).one()
    waiting = select(Notice.id).where(
        *about, col(Notice.sent_at).is_(None), col(Notice.dropped_at).is_(None)
    )
    return rounds, newest, session.exec(waiting).first() is not None


def _next_at(
    began: AlarmEvent,
    target: NoticeTarget,
    rounds: int,
    newest: datetime | None,
    *,
    returned: bool,
) -> datetime:
    if newest is None:
        return began.at + timedelta(minutes=target.after_min)
    return newest + (SELDOM if returned or rounds >= OFTEN_ROUNDS else OFTEN)
