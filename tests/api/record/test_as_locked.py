"""A jar in a locked period keeps what could be known of it when the lock was made."""

from datetime import UTC, datetime, timedelta

from api.record.as_locked import AsLocked
from api.record.collected import collected
from logger.store.record_tables import Jar
from logger.store.tables import Occupancy

NOON = datetime(2026, 9, 21, 12, tzinfo=UTC)
RUN = Occupancy.first(vessel=None, batch="rye", stage="spirit", effective_at=NOON)


def jar(number, reading_abv=None):
    begun = NOON + timedelta(minutes=10 * number)
    read = {"reading_abv": reading_abv, "temperature_c": 20.0, "instrument": "density_meter"}
    return Jar.first(
        run=RUN.about, number=number, effective_at=begun, volume_l=1.0,
        **(read if reading_abv else {}),
    )  # fmt: skip


def test_a_reading_that_is_corrected_after_the_lock_changes_no_jar_before_it():
    row = [jar(1, 70.0), jar(2), jar(3, 60.0)]
    [lock] = [AsLocked(row[1].effective_at + timedelta(minutes=11), list(row))]
    then = collected(RUN, row, [], {})
    row[2] = row[2].correction(who="somebody", reading_abv=50.0)
    free, kept = collected(RUN, row, [], {}), collected(RUN, row, [], {}, [lock])
    assert [one[1].content.strength.abv for one in (then, free, kept)] == [65.0, 60.0, 65.0]
    assert kept[2].content.strength.abv == 50.0  # it was filled after the lock
