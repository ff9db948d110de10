"""Moments are whole microseconds, and have a zone."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.store.types import to_datetime, to_us


@given(st.datetimes(timezones=st.just(UTC)))
def test_times_come_back_to_the_microsecond(moment):
    assert to_datetime(to_us(moment)) == moment


def test_any_zone_will_do_but_none_will_not():
    east = datetime(2026, 1, 1, 2, tzinfo=timezone(timedelta(hours=2)))
    assert to_us(east) == 1_767_225_600_000_000
    with pytest.raises(ValueError, match="has no zone"):
        to_us(datetime(2026, 1, 1))  # noqa: DTZ001 - the naive time is what is refused
