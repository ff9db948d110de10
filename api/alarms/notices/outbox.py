"""The outbox: notices written with their events, and kept until each has left.

A notice is marked as under way before it is handed over and the mark is taken off by the answer,
so one that was under way when the service died is known by its mark: it is sent again, and says
that it may be a repeat.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import datetime, timedelta
from typing import Final, NamedTuple
from uuid import UUID

from sqlalchemy import Engine, Update, func, update
from sqlmodel import Session, col, select

from api.alarms.model import URGENCY, Priority
from api.alarms.notices.letters import Answer, Letter, Outcome
from api.alarms.notices.words import MAYBE_REPEAT, MAYBE_TITLE, Speaker
from logger.store import facts
from logger.store.alarm_tables import AlarmEvent, Notice, NoticeTarget
from logger.store.failures import file_of, told

FIRST_WAIT_S: Final = 5
# the longest wait between attempts, by priority
LONGEST_WAIT_S: Final = {Priority.LOW: 1800, Priority.MEDIUM: 600, Priority.HIGH: 60}


class Due(NamedTuple):
    """A notice that is to be handed over now, and to whom."""

    id: UUID
    target_id: UUID
    letter: Letter


def notices_for(
    event: AlarmEvent, targets: Iterable[NoticeTarget], speaker: Speaker
) -> list[Notice]:
    """Write the notices of an event that has come up: to each target that is told at once."""
    return [
        notice(event, target, speaker)
        for target in targets
        if wants(target, event.priority) and target.after_min == 0
    ]


def wants(target: NoticeTarget, priority: str) -> bool:
    """Say whether a target is told of alarms of a priority; a later one only of high ones."""
    least = Priority.HIGH if target.after_min else Priority(target.least_priority)
    return URGENCY[Priority(priority)] >= URGENCY[least]


def notice(
    event: AlarmEvent,
    target: NoticeTarget,
    speaker: Speaker,
    *,
    more: str = "",
    told_before: int = 0,
    at: datetime | None = None,
) -> Notice:
    """Write one notice; its first line is the title."""
    written = at or event.recorded_at
    return Notice(
        event_id=event.id,
        target_id=target.about,
        priority=event.priority,
        text=f"{speaker.title(event)}\n{speaker.body(event, more)}",
        round=told_before,
        created_at=written,
        next_attempt_at=written,
    )


def wait_s(attempts: int, priority: str) -> int:
    """Say how long to wait after so many attempts: twice as long each time, up to a bound."""
    longest = LONGEST_WAIT_S[Priority(priority)]
    return min(longest, FIRST_WAIT_S << min(attempts - 1, 20))


class Outbox:
    """The notices of one store, as the sender sees them."""

    def __init__(self, engine: Engine, reading: Engine, now: Callable[[], datetime]) -> None:
        self._engine, self._reading, self._now = engine, reading, now

    def recover(self) -> int:
        """Mark what was under way when the service ended; returns how many notices that are."""
        waiting = col(Notice.sent_at).is_(None), col(Notice.started_at).is_not(None)
        marked = update(Notice).where(*waiting).values(maybe_repeat=True, started_at=None)
        return self._write(marked)

    def due(self, busy: Collection[UUID]) -> list[Due]:
        """Find the next notice of every target that is not busy, the most urgent one each."""
        with told(file_of(self._reading)), Session(self._reading) as session:
            targets = {one.about: one for one in facts.current(session, NoticeTarget)}
            waiting = sorted(self._waiting(session), key=_order)
            session.expunge_all()
        found: dict[UUID, Due] = {}
        for one in waiting:
            target = targets.get(one.target_id)
            if target is None:
                self._drop(one.target_id)
            elif one.target_id not in busy and one.target_id not in found:
                found[one.target_id] = _due(one, target)
        return list(found.values())

    def begin(self, notice_id: UUID) -> None:
        """Mark a notice as under way, before it is handed over."""
        values = {"started_at": self._now(), "attempts": Notice.attempts + 1}
        self._write(update(Notice).where(col(Notice.id) == notice_id).values(**values))

    def finish(self, notice_id: UUID, answer: Answer) -> None:
        """Note what became of it: it is sent, or due again after a while."""
        now = self._now()
        with told(file_of(self._engine)), Session(self._engine) as session:
            one = session.get_one(Notice, notice_id)
            one.started_at = None
            one.problem = answer.says
            if answer.outcome is Outcome.TAKEN:
                one.sent_at = now
            else:
                one.maybe_repeat |= answer.outcome is Outcome.UNSURE
                one.next_attempt_at = now + timedelta(seconds=wait_s(one.attempts, one.priority))
            session.add(one)
            session.commit()

    def next_in_s(self) -> float | None:
        """Say in how many seconds the next attempt is due; None where nothing waits."""
        chosen = select(func.min(col(Notice.next_attempt_at))).where(*_OPEN)
        with told(file_of(self._reading)), Session(self._reading) as session:
            next_at = session.exec(chosen).one()
        return None if next_at is None else max(0.0, (next_at - self._now()).total_seconds())

    def _waiting(self, session: Session) -> Sequence[Notice]:
        """Read what is due; a time set by a clock that ran ahead holds nothing back."""
        now = self._now()
        ahead = now + timedelta(seconds=2 * max(LONGEST_WAIT_S.values()))
        next_at = col(Notice.next_attempt_at)
        due = (col(Notice.attempts) == 0) | (next_at <= now) | (next_at > ahead)
        return session.exec(select(Notice).where(*_OPEN, due)).all()

    def _drop(self, target_id: UUID) -> None:
        """Let go of what waits for a target that was taken away."""
        gone = update(Notice).where(*_OPEN, col(Notice.target_id) == target_id)
        self._write(gone.values(dropped_at=self._now()))

    def _write(self, statement: Update) -> int:
        with told(file_of(self._engine)), self._engine.begin() as connection:
            return int(connection.execute(statement).rowcount)


_OPEN: Final = (
    col(Notice.sent_at).is_(None),
    col(Notice.dropped_at).is_(None),
    col(Notice.started_at).is_(None),
)


def _order(one: Notice) -> tuple[int, datetime]:
    return -URGENCY[Priority(one.priority)], one.created_at


def _due(one: Notice, target: NoticeTarget) -> Due:
    title, _, body = one.text.partition("\n")
    if one.maybe_repeat:
        title, body = f"{title} ({MAYBE_TITLE})", f"{MAYBE_REPEAT}\n{body}"
    letter = Letter(str(one.id), target.address, title, body, urgent=one.priority == Priority.HIGH)
    return Due(one.id, one.target_id, letter)
