"""Rules' limits as owners have set them, for all or for one condenser, each with its reason."""

from collections.abc import Mapping

from sqlalchemy import Engine
from sqlmodel import col

from api.alarms.events import Key
from api.alarms.rules import Limits, Rule
from logger.store import facts
from logger.store.alarm_tables import AlarmLimit


def facts_of(engine: Engine) -> dict[str, AlarmLimit]:
    """Read what was set for all, by rule."""
    found = facts.all_current(engine, AlarmLimit, col(AlarmLimit.condenser).is_(None))
    return {one.rule: one for one in found}


def own_facts_of(engine: Engine) -> dict[Key, AlarmLimit]:
    """Read what was set for one condenser alone."""
    found = facts.all_current(engine, AlarmLimit, col(AlarmLimit.condenser).is_not(None))
    return {Key(one.rule, str(one.condenser)): one for one in found}


def current_limits(engine: Engine, rules: Mapping[str, Rule]) -> dict[str, Limits]:
    """Read every rule's limits: as set, else as declared."""
    found = {name: rule.limits for name, rule in rules.items()}
    for name, fact in facts_of(engine).items():
        if name in found:
            found[name] = limits_of(fact)
    return found


def own_limits(engine: Engine) -> dict[Key, Limits]:
    """Read the limits of condensers that have their own."""
    return {key: limits_of(fact) for key, fact in own_facts_of(engine).items()}


def limits_of(fact: AlarmLimit) -> Limits:
    """Return the limits a fact sets."""
    return Limits(fact.limit, fact.deadband, fact.on_delay_s, fact.off_delay_s)
