"""How the alarms stand, for people and programs."""

from api.alarms.asking import MASH
from api.alarms.bodies import AlarmsNow, PriorityName, StageNow, StandingAlarm
from api.alarms.cards import LONGEST_SHELF_MIN
from api.alarms.evaluate import Judge
from api.alarms.model import URGENCY, Priority, Process, Shelf
from api.alarms.sights import CondenserSight, SpotSight, VesselSight
from api.alarms.watch import Watch
from logger.sounder import Call
from logger.store.types import to_datetime


def alarms_now(watch: Watch) -> AlarmsNow:
    """Return what stands."""
    with watch.lock:
        judges = [one for one in watch.evaluation.judges.values() if one.rule.priority is not None]
        now = [_alarm(watch, one) for one in judges if one.state.standing]
        aside = [_alarm(watch, one) for one in judges if _is_aside(one)]
        sounding = [one.rule.priority for one in judges if one.state.sounds if one.rule.priority]
        judged = watch.slot
        return AlarmsNow(
            now=sorted(now, key=_urgency),
            aside=sorted(aside, key=_urgency),
            sounding=bool(sounding),
            chirping=watch.call is Call.CHIRP,
            highest=_highest(now),
            stages=[_stage(one) for one in watch.evaluation.vessels.values()],
            judged_until=to_datetime(watch.book.epochs.utc_us(judged)) if judged else None,
        )


def _is_aside(judge: Judge) -> bool:
    return judge.state.shelf is not Shelf.NONE or judge.state.out_of_service


def _highest(now: list[StandingAlarm]) -> PriorityName | None:
    if not now:
        return None
    return max(now, key=lambda one: URGENCY[Priority(one.priority)]).priority


def _urgency(alarm: StandingAlarm) -> tuple[int, int, float]:
    """Order by priority, then what nobody has seen, then the newest."""
    seen = alarm.state not in {Process.UNACKNOWLEDGED, Process.RETURNED}
    since = alarm.since.timestamp() if alarm.since else 0.0
    return -URGENCY[Priority(alarm.priority)], seen, -since


def _alarm(watch: Watch, judge: Judge) -> StandingAlarm:
    rule, card = judge.rule, watch.ledger.cards.get(judge.key)
    assert rule.priority is not None  # noqa: S101 - events are not listed
    vessel, place = _where(judge)
    came_up = card.raised if card else None
    return StandingAlarm(
        key=str(judge.key),
        rule=rule.name,
        name=rule.words.name,
        cause=rule.words.cause,
        consequence=rule.words.consequence,
        first_action=rule.words.first_action,
        place=place,
        vessel=vessel,
        part=_part(judge),
        state=judge.state.process.value,
        priority=rule.priority.value,
        since=came_up.at if came_up else None,
        value=_value(judge, came_up.value if came_up else None),
        unit=rule.unit,
        limit=judge.limit,
        time_to_act_s=rule.time_to_act_s,
        covers=list(judge.state.covers),
        shelved_until=card.shelved_until if card else None,
        acknowledged_by=card.acknowledged_by if card else None,
        latching=rule.latching,
        longest_shelf_min=LONGEST_SHELF_MIN[rule.priority],
    )


def _value(judge: Judge, raised: float | None) -> float | None:
    value = judge.value if judge.value is not None else raised
    return None if value is None else round(value, 3)


def _where(judge: Judge) -> tuple[str, str]:
    """Return vessel and place in words."""
    sight = judge.sight
    if isinstance(sight, VesselSight):
        return sight.ground.name, judge.rule.place
    if isinstance(sight, CondenserSight):
        return sight.vessel.ground.name, judge.rule.place
    if isinstance(sight, SpotSight):
        return (sight.vessel.ground.name if sight.vessel else ""), sight.spot.name
    return "", ""


def _part(judge: Judge) -> str:
    sight = judge.sight
    return sight.ground.name if isinstance(sight, CondenserSight) else ""


def _stage(sight: VesselSight) -> StageNow:
    still, said = sight.still, sight.ground.stage
    source = "occupancy" if said is not None and sight.stage == said else "guessed"
    touched = sight.touched_slot
    away = still is not None and still.hot and touched is not None
    return StageNow.model_validate(
        {
            "vessel_id": sight.ground.key,
            "vessel": sight.ground.name,
            "stage": sight.stage,
            "source": source if sight.stage else "nobody",
            "phase": still.phase.value if still else None,
            "water_proven": any(one.proven for one in sight.waters) if _boils(sight) else None,
            "at_the_still_min": round((sight.slot - (touched or 0)) / 60.0, 1) if away else None,
            "mash_cooked": sight.mash_cooked if away and said == MASH else None,
        }
    )


def _boils(sight: VesselSight) -> bool:
    return sight.still is not None and sight.still.hot and bool(sight.waters)
