"""How loud it has been, counted by the definitions of EEMUA 191's public descriptions."""

from datetime import UTC, datetime, timedelta

from api.alarms.loudness import counted
from logger.store.alarm_tables import AlarmEvent

NOW = datetime(2026, 3, 31, tzinfo=UTC)


def event(seconds, rule="spout_warm", before="normal", after="unacknowledged", priority="medium"):
    return AlarmEvent(
        rule=rule, subject="s", where="still", slot=1, at=NOW - timedelta(seconds=seconds),
        what="raise", state_before=before, state_after=after, who="alarms", priority=priority,
    )  # fmt: skip


def test_a_flood_is_more_than_ten_in_ten_minutes_and_ends_below_five():
    rows = [event(8000 - 30 * n, rule=f"r{n}") for n in range(12)] + [event(100)]
    found = counted(rows, NOW, 30)
    assert found.alarms == 13
    assert found.most_in_10_min == 12
    [flood] = found.floods
    assert flood.began_at == rows[0].at
    assert 8 <= flood.alarms <= 12
    assert counted(rows[:10], NOW, 30).floods == []


def test_chattering_is_three_of_one_alarm_within_a_minute():
    rows = [event(5000 - 25 * n) for n in range(3)]
    assert [one.times for one in counted(rows, NOW, 30).chattering] == [1]
    slow = [event(5000 - 40 * n) for n in range(3)]
    assert counted(slow, NOW, 30).chattering == []


def test_standing_is_over_a_day_acknowledged_or_not():
    day = 86_400
    rows = [event(3 * day), event(3 * day - 60, before="unacknowledged", after="acknowledged")]
    assert [one.rule for one in counted(rows, NOW, 30).standing_over_24_h] == ["spout_warm"]
    ended = [*rows, event(2.5 * day, before="acknowledged", after="normal")]
    assert counted(ended, NOW, 30).standing_over_24_h == []


def test_nothing_at_all_is_quiet():
    found = counted([], NOW, 30)
    assert (found.alarms, found.per_10_min, found.most_in_10_min) == (0, 0.0, 0)
