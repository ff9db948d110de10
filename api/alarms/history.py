"""What the alarms did, newest first, with filters."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from api.alarms.bodies import AlarmEventNow
from api.alarms.events import key_of
from api.alarms.words import RULES
from logger.errors import RangeError
from logger.store.alarm_tables import AlarmEvent
from logger.store.failures import file_of, told


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which events; None is all."""

    from_at: datetime | None
    to_at: datetime | None
    rule: str | None
    where: str | None
    priority: str | None
    what: str | None
    before: int | None
    limit: int


def history(engine: Engine, wanted: Wanted) -> list[AlarmEventNow]:
    """Return the events asked for."""
    if wanted.from_at and wanted.to_at and wanted.to_at <= wanted.from_at:
        raise RangeError("The range ends before it begins; give an end later than the begin.")
    return [_record(one) for one in _found(engine, wanted)]


def _found(engine: Engine, wanted: Wanted) -> Sequence[AlarmEvent]:
    chosen = select(AlarmEvent).order_by(col(AlarmEvent.number).desc()).limit(wanted.limit)
    if wanted.from_at:
        chosen = chosen.where(col(AlarmEvent.at) >= wanted.from_at)
    if wanted.to_at:
        chosen = chosen.where(col(AlarmEvent.at) < wanted.to_at)
    if wanted.before:
        chosen = chosen.where(col(AlarmEvent.number) < wanted.before)
    if wanted.where:
        chosen = chosen.where(col(AlarmEvent.where).contains(wanted.where, autoescape=True))
    for column, value in (
        (AlarmEvent.rule, wanted.rule),
        (AlarmEvent.priority, wanted.priority),
        (AlarmEvent.what, wanted.what),
    ):
        if value:
            chosen = chosen.where(col(column) == value)
    with told(file_of(engine)), Session(engine) as session:
        found = session.exec(chosen).all()
        session.expunge_all()
        return found


def _record(event: AlarmEvent) -> AlarmEventNow:
    words = RULES.get(event.rule)
    return AlarmEventNow(
        number=event.number or 0,
        id=str(event.id),
        key=str(key_of(event)),
        rule=event.rule,
        name=words.name if words else event.rule,
        where=event.where,
        at=event.at,
        what=event.what,
        state_before=event.state_before,
        state_after=event.state_after,
        covers=event.covers.split(",") if event.covers else [],
        shelved_until=event.shelved_until,
        who=event.who,
        why=event.why,
        value=event.value,
        limit=event.limit,
        unit=event.unit,
        priority=event.priority,
    )
