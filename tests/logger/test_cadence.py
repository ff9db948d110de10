"""Cadence: hot by temperature or by its rise, held half an hour, slower where 12 bit needs it."""

import pytest

from logger.cadence import Cadence
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.settings import Settings

POT = SeriesKey("28-000000000001", "temperature_c", 16)
AIR = SeriesKey("iio-air", "pressure_hpa", 16)
START = 1_790_000_000


def scan(slot, *values, period_s=10, series=POT, grade=Grade.OK):
    return Scan(
        slot,
        period_s,
        tuple(
            Reading(series, grade, None if v is None else round(v * series.counts_per_unit))
            for v in values
        ),
    )


def cadence(**settings):
    return Cadence(Settings(**settings))


def seen(values, every_s=10, **settings):
    judged = cadence(**settings)
    for index, value in enumerate(values):
        judged.see(scan(START + index * every_s, value), sweep_us=400_000)
    return judged, START + len(values) * every_s


def test_idle_until_something_is_hot():
    judged, slot = seen([18.0, 18.0625, 18.0])
    assert judged.period_s(slot) == 10


def test_hot_from_45_c_on():
    assert seen([44.9375])[0].period_s(START + 10) == 10
    assert seen([45.0])[0].period_s(START + 10) == 1


def test_any_one_place_is_enough():
    judged = cadence()
    judged.see(scan(START, 18.0, 45.0, 18.0), 400_000)
    assert judged.period_s(START + 1) == 1


def test_hot_is_held_for_thirty_minutes_after_the_last_hot_reading():
    judged = cadence()
    judged.see(scan(START, 90.0), 400_000)
    judged.see(scan(START + 600, 44.0), 400_000)
    assert judged.period_s(START + 1799) == 1
    assert judged.period_s(START + 1800) == 10


def test_one_degree_within_a_minute_is_hot():
    assert seen([20.0, 20.25, 20.5, 20.75, 21.0])[0].period_s(START + 50) == 1


def test_a_slow_rise_is_not():
    judged, slot = seen([20.0 + index * 0.125 for index in range(40)])
    assert judged.period_s(slot) == 10


def test_a_fall_is_not():
    assert seen([25.0, 20.0])[0].period_s(START + 20) == 10


def test_refused_readings_and_other_quantities_say_nothing():
    judged = cadence()
    judged.see(scan(START, None, grade=Grade.CRC), 400_000)
    judged.see(scan(START, 1013.25, series=AIR), 400_000)
    judged.see(scan(START + 10, 1016.25, series=AIR), 400_000)
    assert judged.period_s(START + 20) == 10


def test_a_probe_that_was_silent_for_longer_than_a_minute_starts_anew():
    judged = cadence()
    judged.see(scan(START, 18.0), 400_000)
    judged.see(scan(START + 70, 21.0), 400_000)
    assert judged.period_s(START + 80) == 10


@pytest.mark.parametrize(("bits", "period_s"), [(12, 2), (11, 1), ("auto", 1)])
def test_two_seconds_only_where_full_resolution_is_asked_for_and_does_not_fit(bits, period_s):
    judged = cadence(resolution_bits=bits)
    judged.see(scan(START, 78.0), sweep_us=1_150_000)
    assert judged.period_s(START + 1) == period_s


def test_one_slow_sweep_among_many_changes_nothing():
    judged = cadence(resolution_bits=12)
    for index in range(8):
        judged.see(scan(START + index, 78.0), sweep_us=900_000)
    judged.see(scan(START + 8, 78.0), sweep_us=2_000_000)
    assert judged.period_s(START + 9) == 1


def test_hot_is_never_slower_than_idle():
    judged = cadence(resolution_bits=12, period_hot_s=1, period_idle_s=1)
    judged.see(scan(START, 78.0), sweep_us=1_150_000)
    assert judged.period_s(START + 1) == 1


def test_a_new_process_stays_hot_where_the_last_was():
    judged = cadence()
    judged.resume(scan(START, 40.0, period_s=1))
    assert judged.period_s(START + 1799) == 1
    assert judged.period_s(START + 1800) == 10


def test_a_new_process_stays_idle_where_the_last_was():
    judged = cadence()
    judged.resume(scan(START, 20.0, period_s=10))
    assert judged.period_s(START + 1) == 10
