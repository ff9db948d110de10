"""The alarms of a run as spells: when each came, when it went, who knew. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from api.alarms.amounts import amount
from api.alarms.model import Process, Trigger
from api.alarms.words import RULES
from logger.degrees import Unit
from logger.store.alarm_tables import AlarmEvent

COMING: Final = frozenset({Process.UNACKNOWLEDGED.value})
GOING: Final = frozenset({Process.NORMAL.value, Process.RETURNED.value, Process.LATCHED.value})


@dataclass(frozen=True, slots=True)
class Spell:
    """One time an alarm came up, and how it went."""

    event_id: str
    rule: str
    name: str
    where: str
    priority: str
    came_at: datetime
    went_at: datetime | None
    acknowledged_at: datetime | None
    acknowledged_by: str | None
    value: float | None
    limit: float | None
    unit: str

    @property
    def lasted(self) -> timedelta | None:
        """How long its condition held."""
        return None if self.went_at is None else self.went_at - self.came_at


def spells(events: Iterable[AlarmEvent]) -> list[Spell]:
    """Put events, oldest first, together; what came up under a cover sounded for nobody."""
    found: list[Spell] = []
    standing: dict[tuple[str, str], int] = {}
    for one in events:
        key = (one.rule, one.subject)
        if one.state_after in COMING and one.state_before != one.state_after:
            standing[key] = len(found)
            found.append(_begun(one))
            continue
        place = standing.get(key)
        if place is not None:
            found[place] = _after(found[place], one)
    return found


def says(one: Spell, unit: Unit) -> str:
    """Tell a spell in a sentence, without its time, in the unit the house reads."""
    ended = _ended(one)
    return f"{one.name} at {one.where} ({one.priority}){_value(one, us_units=unit == 'F')}{ended}."


def count_by_priority(found: Sequence[Spell]) -> dict[str, int]:
    """Count spells by how urgent they were."""
    return {name: sum(one.priority == name for one in found) for name in ("high", "medium", "low")}


def _begun(one: AlarmEvent) -> Spell:
    words = RULES.get(one.rule)
    return Spell(
        str(one.id), one.rule, words.name if words else one.rule, one.where, one.priority,
        one.at, None, None, None, one.value, one.limit, one.unit,
    )  # fmt: skip


def _after(spell: Spell, one: AlarmEvent) -> Spell:
    if one.what == Trigger.ACKNOWLEDGE and spell.acknowledged_at is None:
        spell = replace(spell, acknowledged_at=one.at, acknowledged_by=one.who)
    if one.state_after in GOING and spell.went_at is None:
        spell = replace(spell, went_at=one.at)
    return spell


def _value(one: Spell, *, us_units: bool) -> str:
    if one.value is None:
        return ""
    value = amount(one.value, one.unit or "", us_units=us_units)
    if one.limit is None:
        return f", {value}"
    return f", {value} against a limit of {amount(one.limit, one.unit or '', us_units=us_units)}"


def _ended(one: Spell) -> str:
    lasted = one.lasted
    if lasted is None:
        return ", still standing"
    minutes = lasted.total_seconds() / 60.0
    held = f"{minutes:.0f} min" if minutes >= 1.0 else f"{lasted.total_seconds():.0f} s"
    known = f", acknowledged by {one.acknowledged_by}" if one.acknowledged_by else ""
    return f"; it held for {held}{known}"
