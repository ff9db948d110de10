"""How loud the alarms have been, held against what people can take in.

Targets from public descriptions of EEMUA 191: about 1 alarm in 10 minutes is acceptable, 2 the
most that can be managed; more than 10 in 10 minutes is a flood, which ends below 5; none comes up
three times within a minute; hardly any stands over a day; about 80 % low, 15 % medium, 5 % high.
"""

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from api.alarms.bodies import Busiest, Flood, Loudness
from api.alarms.events import Key, key_of
from api.alarms.model import Process
from api.alarms.words import RULES
from logger.store.alarm_tables import AlarmEvent
from logger.store.failures import file_of, told

TEN: Final = timedelta(minutes=10)
FLOOD: Final = 10
FLOOD_ENDS: Final = 5
CHATTER: Final = 3
CHATTER_WITHIN: Final = timedelta(seconds=60)
STANDING: Final = timedelta(hours=24)
MOST: Final = 10
UP: Final = {Process.UNACKNOWLEDGED, Process.ACKNOWLEDGED}


def loudness(engine: Engine, now: datetime, days: int) -> Loudness:
    """Count the last days."""
    rows = _rows(engine, now - timedelta(days=days))
    return counted(rows, now, days)


def counted(rows: Sequence[AlarmEvent], now: datetime, days: float) -> Loudness:
    """Count events that lie in order."""
    came_up = [one for one in rows if _comes_up(one)]
    times = sorted(one.at for one in came_up)
    by_key = Counter(key_of(one) for one in came_up)
    names = {key_of(one): one.where for one in rows}
    shares = Counter(one.priority for one in came_up)
    total = max(len(came_up), 1)
    return Loudness(
        days=days,
        alarms=len(came_up),
        per_10_min=round(len(came_up) / (days * 144.0), 4),
        most_in_10_min=max((_within(times, at, TEN) for at in times), default=0),
        acceptable_per_10_min=1.0,
        manageable_per_10_min=2.0,
        floods=list(_floods(times)),
        chattering=_busiest(_chattering(came_up), names),
        standing_over_24_h=_busiest(_standing(rows, now), names),
        most_frequent=_busiest(by_key, names),
        share_percent={
            "low": round(100.0 * shares["low"] / total, 1),
            "medium": round(100.0 * shares["medium"] / total, 1),
            "high": round(100.0 * shares["high"] / total, 1),
        },
        target_percent={"low": 80.0, "medium": 15.0, "high": 5.0},
    )


def _comes_up(event: AlarmEvent) -> bool:
    up = event.state_after == Process.UNACKNOWLEDGED
    return up and event.state_before != Process.UNACKNOWLEDGED


def _within(times: Sequence[datetime], begin: datetime, span: timedelta) -> int:
    return bisect_left(times, begin + span) - bisect_left(times, begin)


def _floods(times: Sequence[datetime]) -> Iterator[Flood]:
    """Find the stretches that began with more than ten in ten minutes."""
    place = 0
    while place < len(times):
        if _within(times, times[place], TEN) <= FLOOD:
            place += 1
            continue
        first = place
        while place < len(times) and _within(times, times[place], TEN) >= FLOOD_ENDS:
            place += 1
        last = min(place, len(times) - 1)
        yield Flood(began_at=times[first], ended_at=times[last], alarms=last - first + 1)
        place = last + 1


def _chattering(came_up: Sequence[AlarmEvent]) -> Counter[Key]:
    found: Counter[Key] = Counter()
    times: dict[Key, list[datetime]] = {}
    for event in came_up:
        mine = times.setdefault(key_of(event), [])
        mine.append(event.at)
        if len(mine) >= CHATTER and mine[-1] - mine[-CHATTER] <= CHATTER_WITHIN:
            found[key_of(event)] += 1
    return found


def _standing(rows: Sequence[AlarmEvent], now: datetime) -> Counter[Key]:
    """Count how often each alarm stood over a day at a stretch."""
    since: dict[Key, datetime] = {}
    found: Counter[Key] = Counter()
    for event in rows:
        key = key_of(event)
        if event.state_after in UP:
            since.setdefault(key, event.at)
        elif (began := since.pop(key, None)) is not None and event.at - began > STANDING:
            found[key] += 1
    found.update(key for key, began in since.items() if now - began > STANDING)
    return found


def _busiest(counts: Counter[Key], names: dict[Key, str]) -> list[Busiest]:
    return [
        Busiest(rule=key.rule, name=RULES[key.rule].name, where=names.get(key, ""), times=times)
        for key, times in counts.most_common(MOST)
        if key.rule in RULES
    ]


def _rows(engine: Engine, since: datetime) -> Sequence[AlarmEvent]:
    chosen = select(AlarmEvent).where(
        col(AlarmEvent.at) >= since, col(AlarmEvent.state_after) != ""
    )
    with told(file_of(engine)), Session(engine) as session:
        found = session.exec(chosen.order_by(col(AlarmEvent.at), col(AlarmEvent.number))).all()
        session.expunge_all()
        return found
