"""All data of a run as tables, with the units in the names of the columns."""

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, tzinfo
from itertools import chain
from typing import Any, Final

import orjson

from api.estimates.quantities import UNITS
from api.house import House
from api.reports.declared import versions
from api.reports.gathering import (
    Cell,
    RunTold,
    column_of,
    issued,
    key_rows,
    reading_tracks,
    readings,
)
from api.reports.order import TABLES, TableName
from api.reviews.bodies import ReviewJarBody, RunReviewBody

MOMENTS: Final = ("moment", "time", "basis", "why", "pot_c", "head_c")
PHASES: Final = (
    "phase", "from_time", "to_time", "duration_min", "collected_volume_l",
    "collected_pure_alcohol_l", "collected_abv", "rate_ml_min", "energy_kwh", "energy_basis",
)  # fmt: skip
MARKS: Final = ("time", "kind", "power_kw", "text", "smell", "who")
JARS: Final = (
    "number", "began_time", "ended_time", "cut", "volume_l", "volume_temperature_c",
    "volume_error_l", "mass_kg", "reading_abv", "temperature_c", "instrument", "reading_error_abv",
    "volume_at_20_c_l", "abv", "abv_error", "abv_basis", "pure_alcohol_l", "pure_alcohol_error_l",
    "running_volume_l", "running_pure_alcohol_l", "duration_min", "rate_ml_min", "text", "smell",
    "who",
)  # fmt: skip
ALARMS: Final = (
    "rule", "name", "where", "priority", "came_time", "went_time", "acknowledged_time",
    "acknowledged_by", "value", "limit", "unit_of_value_and_limit",
)  # fmt: skip
NUMBERS: Final = ("name", "label", "value", "unit")
ESTIMATES: Final = (
    "time", "quantity", "unit", "value", "low_95", "high_95", "low_68", "high_68", "why",
    "model_version",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Table:
    """Columns, and rows that may be too many to hold."""

    columns: Sequence[str]
    rows: Iterable[Sequence[Cell]]

    def as_csv(self) -> Iterator[str]:
        """Write it a row at a time; nothing is an empty cell."""
        for row in chain([self.columns], self.rows):
            text = io.StringIO()
            csv.writer(text).writerow(row)
            yield text.getvalue()

    def as_data(self) -> dict[str, Any]:
        """Give it for JSON."""
        return {"columns": list(self.columns), "rows": [list(row) for row in self.rows]}


def of_run(house: House, told: RunTold, name: TableName) -> Table:
    """Make one table of a run."""
    return MADE[name](house, told)


def _readings(house: House, told: RunTold) -> Table:
    tracks = reading_tracks(house, told)
    read = readings(house, told, tracks)
    rows = ([at.isoformat(timespec="seconds"), *values] for at, values in read)
    return Table(("time", *map(column_of, tracks)), rows)


def _moments(_house: House, told: RunTold) -> Table:
    rows = [
        [one.name, local_time(one.at, told.zone), one.basis, one.why, one.pot_c, one.head_c]
        for one in told.review.moments
    ]
    return Table(MOMENTS, rows)


def _phases(_house: House, told: RunTold) -> Table:
    rows: list[list[Cell]] = []
    for one in told.review.phases:
        came = one.collected
        collected: list[Cell] = (
            [came.volume_l, came.pure_alcohol_l, came.abv] if came else [None, None, None]
        )
        times = [local_time(one.from_at, told.zone), local_time(one.to_at, told.zone)]
        spent = [one.rate_ml_min, one.energy.amount, one.energy.basis]
        rows.append([one.name, *times, one.minutes, *collected, *spent])
    return Table(PHASES, rows)


def _marks(_house: House, told: RunTold) -> Table:
    rows = [
        [
            local_time(one.at, told.zone),
            one.kind,
            one.power_kw,
            one.text,
            "; ".join(one.smell),
            one.who,
        ]
        for one in told.review.marks
    ]
    return Table(MARKS, rows)


def _jars(_house: House, told: RunTold) -> Table:
    return Table(JARS, [list(_jar(one, told.zone)) for one in told.review.jars])


def _jar(jar: ReviewJarBody, local: tzinfo) -> Iterator[Cell]:
    renamed: dict[str, Cell] = {
        "began_time": local_time(jar.began_at, local),
        "ended_time": local_time(jar.ended_at, local),
        "duration_min": jar.minutes,
        "smell": "; ".join(jar.smell),
    }
    for column in JARS:
        yield renamed[column] if column in renamed else getattr(jar, column)


def _alarms(_house: House, told: RunTold) -> Table:
    rows = [
        [
            one.rule, one.name, one.where, one.priority, local_time(one.came_at, told.zone),
            local_time(one.went_at, told.zone), local_time(one.acknowledged_at, told.zone),
            one.acknowledged_by, one.value, one.limit, one.unit,
        ]
        for one in told.review.alarms
    ]  # fmt: skip
    return Table(ALARMS, rows)


def _numbers(_house: House, told: RunTold) -> Table:
    named = zip(told.numbers, key_rows(told.numbers), strict=True)
    return Table(NUMBERS, [[name, label, value, unit] for name, (label, unit, value, _) in named])


def _estimates(house: House, told: RunTold) -> Table:
    read = issued(house, told.review.run.id, told.zone)
    rows = ([at, name, UNITS.get(str(name), ""), *rest] for at, name, *rest in read)
    return Table(ESTIMATES, rows)


MADE: Final[Mapping[TableName, Callable[[House, RunTold], Table]]] = {
    "readings": _readings,
    "moments": _moments,
    "phases": _phases,
    "marks": _marks,
    "jars": _jars,
    "alarms": _alarms,
    "numbers": _numbers,
    "estimates": _estimates,
}


def run_json(house: House, told: RunTold) -> bytes:
    """Write all data of a run: its review as the page is sent it, and its tables."""
    made = {"made": made_by(house), "simulated": told.simulated}
    return orjson.dumps(made | run_data(house, told))


def run_data(house: House, told: RunTold) -> dict[str, Any]:
    """Give a run's review and its tables for JSON."""
    tables = {name: of_run(house, told, name).as_data() for name in TABLES}
    return {"review": reviewed(told.review), "tables": tables}


def reviewed(review: RunReviewBody) -> dict[str, Any]:
    """Write a review as its route answers."""
    return review.model_dump(mode="json")


def made_by(house: House) -> dict[str, Any]:
    """Say when data were written, and by which version of every calculation."""
    return {"at": house.now.isoformat(timespec="seconds"), **asdict(versions())}


def local_time(at: datetime | None, local: tzinfo) -> str | None:
    """Write a time where the house stands."""
    return None if at is None else at.astimezone(local).isoformat(timespec="seconds")
