"""A ferment is done when two gravities a day apart agree; the numbers are common practice."""

from datetime import UTC, datetime, timedelta

from api.record.fermented import Gravity, verdict

START = datetime(2026, 3, 1, tzinfo=UTC)


def gravities(*pairs):
    return [Gravity(START + timedelta(hours=hours), sg) for hours, sg in pairs]


def test_two_that_agree_a_day_apart_say_done():
    found = verdict(gravities((0, 1.062), (72, 1.0005), (97, 1.0)))
    assert found.done
    assert found.since == START + timedelta(hours=72)
    assert "agree within 0.001" in found.sentence


def test_two_that_agree_too_soon_say_nothing():
    found = verdict(gravities((0, 1.062), (90, 1.0005), (97, 1.0)))
    assert not found.done
    assert "still moves" in found.sentence


def test_one_says_nothing_and_none_says_so():
    assert "another" in verdict(gravities((0, 1.062))).sentence
    assert "No gravity" in verdict([]).sentence


def test_a_rise_between_them_counts():
    assert not verdict(gravities((0, 1.000), (12, 1.004), (30, 1.0005))).done


def test_flat_far_above_the_end_is_stuck():
    found = verdict(gravities((0, 1.020), (30, 1.020)), expected_end_sg=1.000)
    assert found.stuck
    assert not found.done
    assert verdict(gravities((0, 1.0055), (30, 1.006)), expected_end_sg=1.000).done


def test_the_limits_themselves_agree():
    assert verdict(gravities((0, 1.001), (24, 1.000))).done
    assert not verdict(gravities((0, 1.0011), (24, 1.000))).done
    assert not verdict(gravities((0, 1.000), (23.9, 1.000))).done
