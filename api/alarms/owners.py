"""What owners set of the rules: limits, each with its reason, and what a change would do."""

from typing import Any

from api.access import Visitor
from api.alarms.bodies import Delay, LimitsChange, LimitsNow, LimitsTried, RuleNow
from api.alarms.detectors import delay_s, window_of
from api.alarms.limits import facts_of, limits_of
from api.alarms.rules import Limits, Rule, checked
from api.entries import correct, entered
from api.house import House
from api.site import stored as site
from logger.errors import ConflictError, NotFoundError
from logger.store import facts
from logger.store.alarm_tables import AlarmLimit

PERIODS_S = (1, 2, 10)


def listed(house: House) -> list[RuleNow]:
    """Return all rules as they stand."""
    kept = facts_of(house.reader.engine)
    return [_record(house, rule, kept.get(name)) for name, rule in house.alarms.rules.items()]


def tried(house: House, rule: Rule, body: LimitsTried) -> tuple[Limits, Limits]:
    """Return a rule's limits as they are, and as they would be; refuses what cannot be."""
    fact = facts_of(house.reader.engine).get(rule.name)
    now = limits_of(fact) if fact else rule.limits
    us_units = site(house.reader.engine)[0].temperature_unit == "F"
    return now, checked(rule, _with(now, body), us_units=us_units)


def change(house: House, asking: Visitor, name: str, body: LimitsChange) -> RuleNow:
    """Set a rule's limits; whoever changed them meanwhile is not overwritten."""
    rule = house.alarms.rules.get(name)
    if rule is None:
        raise NotFoundError(f'There is no rule "{name}"; load the rules again.')
    fact = facts_of(house.engine).get(name)
    _, wanted = tried(house, rule, body)
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
        made = AlarmLimit.first(rule=name, **columns, **entered(house, asking))
        facts.record(house.engine, made)
    house.alarms.set_limits(name, wanted)
    return _record(house, rule, facts_of(house.engine)[name])


def _with(now: Limits, body: LimitsTried) -> Limits:
    return Limits(
        limit=body.limit,
        deadband=now.deadband if body.deadband is None else body.deadband,
        on_delay_s=now.on_delay_s if body.on_delay_s is None else body.on_delay_s,
        off_delay_s=now.off_delay_s if body.off_delay_s is None else body.off_delay_s,
    )


def _record(house: House, rule: Rule, fact: AlarmLimit | None) -> RuleNow:
    limits = limits_of(fact) if fact else rule.limits
    with house.alarms.lock:
        cycle_s = house.alarms.evaluation.ground.control_cycle_s
        judges = [one for k, one in house.alarms.evaluation.judges.items() if k.rule == rule.name]
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
