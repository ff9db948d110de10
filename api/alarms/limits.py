"""Rules' limits as owners have set them, each with its reason."""

from collections.abc import Mapping

from sqlalchemy import Engine

from api.alarms.rules import Limits, Rule
from logger.store import facts
from logger.store.alarm_tables import AlarmLimit


def facts_of(engine: Engine) -> dict[str, AlarmLimit]:
    """Read what was set, by rule."""
    return {one.rule: one for one in facts.all_current(engine, AlarmLimit)}


def current_limits(engine: Engine, rules: Mapping[str, Rule]) -> dict[str, Limits]:
    """Read every rule's limits: as set, else as declared."""
    found = {name: rule.limits for name, rule in rules.items()}
    for name, fact in facts_of(engine).items():
        if name in found:
            found[name] = limits_of(fact)
    return found


def limits_of(fact: AlarmLimit) -> Limits:
    """Return the limits a fact sets."""
    return Limits(fact.limit, fact.deadband, fact.on_delay_s, fact.off_delay_s)
