"""Changes and reports as the rows that are kept of them."""

from datetime import datetime

from api.alarms.evaluate import SYSTEM, Change
from api.alarms.events import REPORTED, Key
from api.alarms.ground import Ground
from api.alarms.rules import Rule
from logger.store.alarm_tables import AlarmEvent


def change_row(
    change: Change,
    rule: Rule,
    ground: Ground,
    at: datetime,
    *,
    who: str,
    why: str,
    shelved_until: datetime | None,
) -> AlarmEvent:
    """Write a change down."""
    return AlarmEvent(
        rule=change.key.rule,
        subject=change.key.subject,
        where=where(ground, change.key, rule),
        slot=change.slot,
        at=at,
        what=change.what,
        state_before=change.before.process,
        state_after=change.after.process,
        covers=",".join(change.after.covers),
        shelved_until=shelved_until,
        who=who,
        why=why,
        value=change.value,
        limit=change.limit,
        unit=rule.unit,
        priority=rule.priority or "event",
    )


def report_row(
    ground: Ground, vessel: str, what: str, slot: int, at: datetime, *, who: str, note: str
) -> AlarmEvent:
    """Write down what somebody reported of a vessel."""
    return AlarmEvent(
        rule=REPORTED,
        subject=vessel,
        where=ground.where(vessel),
        slot=slot,
        at=at,
        what=what,
        state_before="",
        state_after="",
        who=who,
        why=note,
        priority="event",
    )


def where(ground: Ground, key: Key, rule: Rule) -> str:
    """Say in words what an alarm is about: the vessel, and the place its value is from."""
    if key.subject == SYSTEM:
        return ""
    condenser = next((one for one in ground.condensers if one.key == key.subject), None)
    said = ground.where(condenser.vessel if condenser else key.subject)
    return f"{said}, {rule.place}".replace("_", " ") if rule.place else said.replace("_", " ")
