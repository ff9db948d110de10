"""What owners set of the rules: limits, each with its reason, and what a change would do."""

from typing import Any, Final
from uuid import UUID

from api.access import Visitor
from api.alarms.backtest import Setting
from api.alarms.bodies import (
    CondenserLimits,
    Delay,
    LimitsChange,
    LimitsNow,
    LimitsTried,
    RuleNow,
)
from api.alarms.detectors import delay_s, window_of
from api.alarms.events import Key
from api.alarms.limits import facts_of, limits_of, own_facts_of
from api.alarms.rules import Limits, Rule, checked
from api.alarms.sights import CondenserSight
from api.entries import correct, entered
from api.house import House
from api.site import stored as site
from logger.errors import ConflictError, NotFoundError
from logger.store import facts
from logger.store.alarm_tables import AlarmLimit

PERIODS_S: Final = (1, 2, 10)
AS_FOR_ALL: Final = "As for all condensers again."


def listed(house: House) -> list[RuleNow]:
    """Return all rules as they stand."""
    kept, own = facts_of(house.reader.engine), own_facts_of(house.reader.engine)
    return [_record(house, rule, kept.get(name), own) for name, rule in house.alarms.rules.items()]


def tried(house: House, rule: Rule, body: LimitsTried) -> tuple[Setting, Setting]:
    """Return how a rule is set, and how it would be; refuses what cannot be."""
    fact, kept = facts_of(house.reader.engine).get(rule.name), own_facts_of(house.reader.engine)
    limits = limits_of(fact) if fact else rule.limits
    own = {key: limits_of(one) for key, one in kept.items() if key.rule == rule.name}
    us_units = site(house.reader.engine)[0].temperature_unit == "F"
    if body.condenser_id is None:
        return Setting(limits, own), Setting(_checked(rule, limits, body, us_units), own)
    key = _key(house, rule, body.condenser_id)
    wanted = _checked(rule, own.get(key, limits), body, us_units)
    return Setting(limits, own), Setting(limits, own | {key: wanted})


def change(house: House, asking: Visitor, name: str, body: LimitsChange) -> RuleNow:
    """Set a rule's limits; whoever changed them meanwhile is not overwritten."""
    rule = _rule(house, name)
    _, setting = tried(house, rule, body)
    if body.condenser_id is None:
        fact, wanted = facts_of(house.engine).get(name), setting.limits
    else:
        key = Key(name, str(body.condenser_id))
        fact, wanted = own_facts_of(house.engine).get(key), setting.own[key]
    columns: dict[str, Any] = {
        "limit": wanted.limit,
        "deadband": wanted.deadband,
        "on_delay_s": wanted.on_delay_s,
        "off_delay_s": wanted.off_delay_s,
        "reason": body.reason,
    }
    if fact is not None:
        correct(house, asking, fact, body.version, columns)
    elif body.version:
        raise ConflictError(f"Nothing has version {body.version} here yet; load it again.")
    else:
        about: dict[str, Any] = {"rule": name, "condenser": body.condenser_id}
        facts.record(house.engine, AlarmLimit.first(**about, **columns, **entered(house, asking)))
    return _taken(house, rule)


def release(house: House, asking: Visitor, name: str, condenser_id: UUID, version: int) -> RuleNow:
    """Let a condenser go by its rule's limits again."""
    rule = _rule(house, name)
    fact = own_facts_of(house.engine).get(Key(name, str(condenser_id)))
    if fact is None:
        raise NotFoundError(
            f"The condenser {condenser_id} has no limit of its own there; load the rules again."
        )
    correct(house, asking, fact, version, {"withdrawn": True, "reason": AS_FOR_ALL})
    return _taken(house, rule)


def _taken(house: House, rule: Rule) -> RuleNow:
    house.alarms.take_limits()
    kept = facts_of(house.engine).get(rule.name)
    return _record(house, rule, kept, own_facts_of(house.engine))


def _rule(house: House, name: str) -> Rule:
    rule = house.alarms.rules.get(name)
    if rule is None:
        raise NotFoundError(f'There is no rule "{name}"; load the rules again.')
    return rule


def _key(house: House, rule: Rule, condenser_id: UUID) -> Key:
    """Name the alarm of a condenser, or say that the rule has none there."""
    key = Key(rule.name, str(condenser_id))
    with house.alarms.lock:
        judge = house.alarms.evaluation.judges.get(key)
    if judge is None or not isinstance(judge.sight, CondenserSight):
        raise NotFoundError(
            f"“{rule.words.name}” is not judged of a condenser {condenser_id}; choose one of those "
            "that the rule lists."
        )
    return key


def _checked(rule: Rule, now: Limits, body: LimitsTried, us_units: bool) -> Limits:  # noqa: FBT001
    wanted = Limits(
        limit=body.limit,
        deadband=now.deadband if body.deadband is None else body.deadband,
        on_delay_s=now.on_delay_s if body.on_delay_s is None else body.on_delay_s,
        off_delay_s=now.off_delay_s if body.off_delay_s is None else body.off_delay_s,
    )
    return checked(rule, wanted, us_units=us_units)


def _record(
    house: House, rule: Rule, fact: AlarmLimit | None, own: dict[Key, AlarmLimit]
) -> RuleNow:
    limits = limits_of(fact) if fact else rule.limits
    with house.alarms.lock:
        ground = house.alarms.evaluation.ground
        judges = [one for k, one in house.alarms.evaluation.judges.items() if k.rule == rule.name]
    cycle_s = ground.control_cycle_s
    return RuleNow(
        rule=rule.name,
        name=rule.words.name,
        cause=rule.words.cause,
        consequence=rule.words.consequence,
        first_action=rule.words.first_action,
        unit=rule.unit,
        side=rule.side.value,
        least=rule.least,
        most=rule.most,
        normal=rule.normal,
        **_plain(limits).model_dump(),
        declared=_plain(rule.limits),
        priority=rule.priority.value if rule.priority else None,
        time_to_act_s=rule.time_to_act_s,
        stages=None if rule.stages is None else sorted(rule.stages),
        basis=rule.basis,
        latching=rule.latching,
        window_s=rule.window_s,
        delays=[
            Delay(period_s=one, delay_s=_delay_s(rule, limits, one, cycle_s)) for one in PERIODS_S
        ],
        alarms=len(judges),
        not_known=sum(not one.known for one in judges),
        version=fact.version if fact else 0,
        reason=fact.reason if fact else "",
        who=fact.who if fact else "",
        changed_at=fact.recorded_at if fact else None,
        condensers=[
            _of_condenser(one.key.subject, ground.where(one.key.subject), limits, own.get(one.key))
            for one in judges
            if isinstance(one.sight, CondenserSight) and one.sight.ground.is_declared
        ],
    )


def _of_condenser(
    subject: str, name: str, limits: Limits, fact: AlarmLimit | None
) -> CondenserLimits:
    return CondenserLimits(
        condenser_id=UUID(subject),
        name=name,
        own=fact is not None,
        **_plain(limits_of(fact) if fact else limits).model_dump(),
        version=fact.version if fact else 0,
        reason=fact.reason if fact else "",
        who=fact.who if fact else "",
        changed_at=fact.recorded_at if fact else None,
    )


def _plain(limits: Limits) -> LimitsNow:
    return LimitsNow(
        limit=limits.limit,
        deadband=limits.deadband,
        on_delay_s=limits.on_delay_s,
        off_delay_s=limits.off_delay_s,
    )


def _delay_s(rule: Rule, limits: Limits, period_s: int, cycle_s: float) -> int:
    if rule.window_s:
        return delay_s(window_of(rule.window_s, cycle_s), limits.on_delay_s, period_s)
    return max(limits.on_delay_s, 2 * period_s) if limits.on_delay_s else period_s
