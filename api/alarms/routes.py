"""What is asked of the alarms, and what people do to them."""

from typing import Annotated
from uuid import UUID

from fastapi import Path, Query
from pydantic import AwareDatetime

from api.access import Asking, Role, Visitor, needs
from api.alarms.backtest import back_test
from api.alarms.bodies import (
    Acknowledgement,
    AlarmEventNow,
    AlarmsNow,
    BackTest,
    Counted,
    LimitsChange,
    LimitsTried,
    Loudness,
    Presence,
    Reason,
    RuleNow,
    Shelving,
    StillReport,
)
from api.alarms.cards import LONGEST_SHELF_MIN
from api.alarms.events import Key
from api.alarms.history import Wanted, history
from api.alarms.loudness import loudness
from api.alarms.model import Priority, Trigger
from api.alarms.owners import change, listed, release, tried
from api.alarms.reports import CLOUDY, MASH_COOKED, WATER_RUNS
from api.alarms.view import alarms_now
from api.errors import declared
from api.house import House, Housed
from api.routing import Router
from logger.errors import NotFoundError, RangeError

AlarmKey = Annotated[str, Path(max_length=200, description="As the list gives it.")]
RuleName = Annotated[str, Path(max_length=60, pattern=r"^[a-z0-9_]+$")]

router = Router(prefix="/alarms", tags=["alarms"], dependencies=[needs(Role.WATCH)])
acts = Router(
    prefix="/alarms", tags=["alarms"], dependencies=[needs(Role.OPERATE)], responses=declared(404)
)
NO_SIGN = (
    "A tap from elsewhere does not show that anybody is at the still; press the button there, set "
    "a mark or change a jar, or tap on the screen of the machine itself."
)


@router.get("")
def now(house: Housed) -> AlarmsNow:
    """Return what stands now, most urgent first, and what each still is doing."""
    house.alarms.wait_ready()
    return alarms_now(house.alarms)


@router.get("/rules")
def rules(house: Housed) -> list[RuleNow]:
    """Return all rules with their limits, the basis of each, and what it says."""
    return listed(house)


@router.get("/history")
def past(
    house: Housed,
    from_: Annotated[AwareDatetime | None, Query(alias="from")] = None,
    to: AwareDatetime | None = None,
    rule: Annotated[str | None, Query(max_length=60)] = None,
    where: Annotated[str | None, Query(max_length=120, description="Part of the place.")] = None,
    priority: Annotated[str | None, Query(pattern="^(low|medium|high|event)$")] = None,
    what: Annotated[str | None, Query(max_length=40)] = None,
    before: Annotated[int | None, Query(ge=1, description="Only numbers below this one.")] = None,
    limit: Annotated[int, Query(ge=1, le=1000)] = 200,
) -> list[AlarmEventNow]:
    """Return what happened, newest first."""
    wanted = Wanted(from_, to, rule, where, priority, what, before, limit)
    return history(house.reader.engine, wanted)


@router.get("/loudness")
def how_loud(house: Housed, days: Annotated[int, Query(ge=1, le=366)] = 30) -> Loudness:
    """Return how loud the alarms have been, held against what people can take in."""
    return loudness(house.reader.engine, house.now, days)


@router.put(
    "/rules/{rule}",
    dependencies=[needs(Role.OWN)],
    responses=declared(404, 409),
)
def change_rule(house: Housed, asking: Asking, rule: RuleName, body: LimitsChange) -> RuleNow:
    """Hold a rule against other limits from now on; the reason is kept."""
    return change(house, asking, rule, body)


@router.delete(
    "/rules/{rule}/condensers/{condenser_id}",
    dependencies=[needs(Role.OWN)],
    responses=declared(404, 409),
)
def hold_as_all(
    house: Housed,
    asking: Asking,
    rule: RuleName,
    condenser_id: UUID,
    version: Annotated[int, Query(ge=0, description="Of the limits that are let go.")],
) -> RuleNow:
    """Hold a condenser against the rule's limits again, and let its own go; they are kept."""
    return release(house, asking, rule, condenser_id, version)


@router.post("/rules/{rule}/backtest", responses=declared(404))
def backtest_rule(house: Housed, rule: RuleName, body: LimitsTried) -> BackTest:
    """Say when a rule would have sounded in past runs, before anything is changed."""
    found = house.alarms.rules.get(rule)
    if found is None:
        raise NotFoundError(f'There is no rule "{rule}"; load the rules again.')
    ways = tried(house, found, body)
    condenser = None if body.condenser_id is None else str(body.condenser_id)
    return back_test(house.reader, house.now, found, ways, condenser)


@acts.post("/at-the-still")
def at_the_still(house: Housed, asking: Asking, body: Presence) -> Counted:
    """Show that somebody is beside the stills: by the button there, or at the machine's screen."""
    if not asking.at_machine:  # whatever a caller says of itself
        return Counted(counted=False, says=NO_SIGN)
    house.alarms.at_the_still(asking.name, body.source)
    return Counted(counted=True, says="The watch on hot stills begins anew.")


@acts.post("/water-runs")
def water_runs(house: Housed, asking: Asking, body: StillReport) -> AlarmsNow:
    """Say that the water has been seen to run."""
    return _report(house, asking, body, WATER_RUNS)


@acts.post("/cloudy-spout")
def cloudy_spout(house: Housed, asking: Asking, body: StillReport) -> AlarmsNow:
    """Say that the spout runs cloudy: wash has come over."""
    return _report(house, asking, body, CLOUDY)


@acts.post("/mash-cooked")
def mash_cooked(house: Housed, asking: Asking, body: StillReport) -> AlarmsNow:
    """Say that what is hot in the pot is a mash being cooked, and no run."""
    return _report(house, asking, body, MASH_COOKED)


@acts.post("/{key}/acknowledge")
def acknowledge(
    house: Housed, asking: Asking, key: AlarmKey, body: Acknowledgement | None = None
) -> AlarmsNow:
    """Say that somebody knows."""
    return _act(house, asking, key, Trigger.ACKNOWLEDGE, body.note if body else "")


@acts.post("/{key}/reset")
def reset(house: Housed, asking: Asking, key: AlarmKey) -> AlarmsNow:
    """Let go of an alarm that stays until somebody does."""
    return _act(house, asking, key, Trigger.RESET)


@acts.post("/{key}/shelve")
def shelve(house: Housed, asking: Asking, key: AlarmKey, body: Shelving) -> AlarmsNow:
    """Lay an alarm aside for a time, or once."""
    if body.once == (body.minutes is not None):
        raise RangeError("Shelve for minutes, or once: give one of the two.")
    longest = _longest_min(house, key)
    if body.once:
        return _act(house, asking, key, Trigger.SHELVE_ONCE, body.why, longest)
    _check_minutes(body.minutes or 0, longest)
    return _act(house, asking, key, Trigger.SHELVE, body.why, body.minutes)


@acts.post("/{key}/unshelve")
def unshelve(house: Housed, asking: Asking, key: AlarmKey) -> AlarmsNow:
    """Take an alarm off its shelf."""
    return _act(house, asking, key, Trigger.UNSHELVE)


@acts.post("/{key}/out-of-service")
def out_of_service(house: Housed, asking: Asking, key: AlarmKey, body: Reason) -> AlarmsNow:
    """Take an alarm out of service until it is put back."""
    return _act(house, asking, key, Trigger.TAKE_OUT_OF_SERVICE, body.why)


@acts.post("/{key}/in-service")
def in_service(house: Housed, asking: Asking, key: AlarmKey) -> AlarmsNow:
    """Put an alarm back in service."""
    return _act(house, asking, key, Trigger.PUT_IN_SERVICE)


def _act(
    house: House,
    asking: Visitor,
    key: str,
    trigger: Trigger,
    why: str = "",
    minutes: int | None = None,
) -> AlarmsNow:
    house.alarms.act(Key.read(key), trigger, who=asking.name, why=why, minutes=minutes)
    return alarms_now(house.alarms)


def _report(house: House, asking: Visitor, body: StillReport, what: str) -> AlarmsNow:
    try:
        vessel = UUID(body.vessel_id)
    except ValueError:
        raise NotFoundError(
            f'There is no still "{body.vessel_id[:60]}"; load them again.'
        ) from None
    house.alarms.report(vessel, what, asking.name, body.note)
    return alarms_now(house.alarms)


def _longest_min(house: House, key: str) -> int:
    """Say for how long an alarm may be shelved at most."""
    rule = house.alarms.rules.get(Key.read(key).rule)
    priority = rule.priority if rule and rule.priority else Priority.LOW
    return LONGEST_SHELF_MIN[priority]


def _check_minutes(minutes: int, longest: int) -> None:
    if minutes > longest:
        raise RangeError(
            f"This alarm may be shelved for at most {longest} min; it was {minutes}. Shelve it "
            "again when the time has passed."
        )
