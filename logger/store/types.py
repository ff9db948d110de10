"""Times in the store: whole microseconds of UTC in the file, aware datetimes in the program."""

from datetime import UTC, datetime, timedelta
from typing import Final

from sqlalchemy import BigInteger, Dialect, Integer
from sqlalchemy.types import TypeDecorator

EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND: Final = timedelta(microseconds=1)

# SQLite makes only an INTEGER primary key the row's own number; elsewhere 64 bits are asked for
BigKey: Final = BigInteger().with_variant(Integer, "sqlite")


def to_us(moment: datetime) -> int:
    """Count the microseconds since 1970 UTC; a time without a zone is refused."""
    if moment.utcoffset() is None:
        raise ValueError(f"The time {moment.isoformat()} has no zone; give one with an offset.")
    return (moment - EPOCH) // MICROSECOND


def to_datetime(utc_us: int) -> datetime:
    """Make the aware datetime, in UTC, of whole microseconds since 1970."""
    return EPOCH + timedelta(microseconds=utc_us)


def now() -> datetime:
    """Read the wall clock, in UTC."""
    return datetime.now(UTC)


class UtcMicroseconds(TypeDecorator[datetime]):
    """A column of aware datetimes, stored as integers."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:
        """Store the integer."""
        del dialect
        return None if value is None else to_us(value)

    def process_result_value(self, value: int | None, dialect: Dialect) -> datetime | None:
        """Give the datetime back."""
        del dialect
        return None if value is None else to_datetime(value)
