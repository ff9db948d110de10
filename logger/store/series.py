"""The numbers that series are stored under."""

import re
from collections.abc import Sequence
from typing import Final

from sqlalchemy import Connection, Engine, select

from logger.reading import SeriesKey
from logger.store.tables import Series, table

IMPORTED: Final = "imported-"  # begins the id of what stands for a column of a trace
IMPORTED_LIKE: Final = (
    "SELECT id, probe_id FROM series WHERE probe_id >= 'imported-' AND probe_id < 'imported.'"
)
CADENCE: Final = re.compile(r"-(\d+)s$")


class SeriesNumbers:
    """Numbers by series and back; read from the store when an unknown one turns up."""

    def __init__(self) -> None:
        self._number: dict[SeriesKey, int] = {}
        self._key: dict[int, SeriesKey] = {}

    def key(self, number: int, connection: Connection) -> SeriesKey:
        """Find the series of a number."""
        if number not in self._key:
            self._load(connection)
        return self._key[number]

    def number(self, key: SeriesKey, engine: Engine) -> int:
        """Find a series' number, giving it one, committed, where it is new."""
        found = self._number.get(key)
        return self._new(key, engine) if found is None else found

    def _new(self, key: SeriesKey, engine: Engine) -> int:
        with engine.begin() as connection:
            self._load(connection)
            if key not in self._number:
                connection.execute(table(Series).insert().values(**key._asdict()))
        with engine.begin() as connection:
            self._load(connection)
        return self._number[key]

    def _load(self, connection: Connection) -> None:
        series = table(Series).c
        columns = (series.id, series.probe_id, series.quantity, series.counts_per_unit)
        for number, *key in connection.execute(select(*columns)):
            self._key[number] = SeriesKey(*key)
            self._number[self._key[number]] = number


def all_numbers(connection: Connection) -> tuple[int, ...]:
    """Read the numbers in use."""
    return tuple(connection.execute(select(table(Series).c.id)).scalars())


def imported_numbers(connection: Connection) -> Sequence[tuple[int, str]]:
    """Read the numbers and probes' ids of what was imported (see `imported`)."""
    return [(int(one), str(probe)) for one, probe in connection.exec_driver_sql(IMPORTED_LIKE)]


def cadence_s(probe_id: str) -> int:
    """Return how often a trace was read, by its probe's id."""
    found = CADENCE.search(probe_id)
    return int(found[1]) if found else 1
