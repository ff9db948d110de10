"""Recorded traces: a CSV of readings by place, and one of jars, read row by row.

A row that cannot be read is told by its line and left out; what is around it counts.
"""

import csv
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Final, TextIO

from api.alarms.in_order import out_of_order
from calc.errors import WormtubError

TIME: Final = "time"
EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
JAR_COLUMNS: Final = (TIME, "volume_l", "reading_abv", "temperature_c")
SENSOR_C: Final = (-55.0, 125.0)  # what a one-wire probe measures, by its data sheet
PLACES: Final = (
    "mash", "ferment", "pot", "column", "head", "coolant_in", "coolant_out", "reflux_out", "spout",
    "room", "temperature_c",
)  # fmt: skip
PLAUSIBLE: Final = dict.fromkeys(PLACES, SENSOR_C) | {  # by the end of a column's name
    "pressure_hpa": (300.0, 1200.0),
    "volume_l": (0.0, 1e6),
    "reading_abv": (0.0, 100.0),
}

Tell = Callable[[str], None]
_Range = tuple[str, float, float]  # a column, and the least and most it may hold


class TraceError(WormtubError, ValueError):
    """A file is no trace."""


@dataclass(frozen=True, slots=True)
class TraceRow:
    """One row: its time, as it was written, and the values by column."""

    line: int
    at: datetime
    values: Mapping[str, float | None]


def header_of(file: Path) -> tuple[str, ...]:
    """Read a trace's columns without its time, or raise TraceError with a sentence."""
    with opened(file) as text:
        columns = next(csv.reader(text), [])
    return _checked(file, columns, (TIME,))


def rows(file: Path, tell: Tell, needed: Sequence[str] = (TIME,)) -> Iterator[TraceRow]:
    """Read the good rows in turn; `tell` is given a sentence for every other.

    The file is read twice: only its end tells which of two times that disagree is the wrong one.
    """
    left_out = {} if _all_rise(file) else _left_out(file, needed)
    for row in _read(file, tell, needed):
        how = left_out.get(row.line)
        if how is None:
            yield row
        else:
            tell(
                f"{file.name}, line {row.line}: the time {row.at.isoformat()} {how}; the row is "
                "left out."
            )


def _all_rise(file: Path) -> bool:
    """Say whether the times of all rows rise: then none is out of order, whatever else is wrong."""
    before = None
    with opened(file) as text:
        for cells in islice(csv.reader(text), 1, None):
            if not any(cells):
                continue
            try:
                at = _time("", cells[0])
            except TraceError:
                return False
            if before is not None and at <= before:
                return False
            before = at
    return True


def _left_out(file: Path, needed: Sequence[str]) -> Mapping[int, str]:
    return out_of_order((row.line, _us(row.at)) for row in _read(file, _unsaid, needed))


def _read(file: Path, tell: Tell, needed: Sequence[str]) -> Iterator[TraceRow]:
    """Read the rows as they come, whatever their times."""
    with opened(file) as text:
        reader = csv.reader(text)
        columns = _checked(file, next(reader, []), needed)
        ranges, name = [_range(one) for one in columns], file.name
        for cells in reader:
            if not any(cells):
                continue
            try:
                row = _row(f"{name}, line {reader.line_num}", reader.line_num, ranges, cells)
            except TraceError as error:
                tell(str(error))
            else:
                yield row


def _unsaid(sentence: str) -> None:
    """Say nothing: it is told when the row is read again."""
    del sentence


def _us(at: datetime) -> int:
    return (at - EPOCH) // timedelta(microseconds=1)


def opened(file: Path) -> TextIO:
    """Open a file as text, or raise TraceError with a sentence."""
    try:
        return file.open(encoding="utf-8-sig", newline="", errors="replace")
    except OSError as error:
        raise TraceError(f"The file {file} cannot be read: {error.strerror}.") from None


def _checked(file: Path, columns: Sequence[str], needed: Sequence[str]) -> tuple[str, ...]:
    names = [name.strip() for name in columns]
    missing = [name for name in needed if name not in names]
    if missing:
        raise TraceError(
            f"{file.name} has no column {', '.join(missing)}; its first line must name the "
            f"columns, with {', '.join(needed)} among them."
        )
    doubled = next((name for name in names if names.count(name) > 1), None)
    if doubled is not None:
        raise TraceError(f'{file.name} has two columns "{doubled}"; give each a name of its own.')
    if names[0] != TIME:
        raise TraceError(f"The first column of {file.name} must be {TIME}; it is {names[0]}.")
    return tuple(names[1:])


def _range(column: str) -> _Range | None:
    """Give what a column may hold; None where it is of no place, as of a probe that has none."""
    found = PLAUSIBLE.get(column.rpartition(".")[2])
    return None if found is None else (column, *found)


def _row(where: str, line: int, ranges: Sequence[_Range | None], cells: Sequence[str]) -> TraceRow:
    if len(cells) != len(ranges) + 1:
        raise TraceError(
            f"{where} has {len(cells)} cells, the first line {len(ranges) + 1}; the row is left "
            "out."
        )
    at = _time(where, cells[0])
    values = {
        of[0]: _number(where, of, cell) if cell else None
        for of, cell in zip(ranges, cells[1:], strict=True)
        if of is not None
    }
    return TraceRow(line, at, values)


def _time(where: str, text: str) -> datetime:
    try:
        at = datetime.fromisoformat(text.strip())
    except ValueError:
        at = None
    if at is None or at.utcoffset() is None:
        raise TraceError(
            f'{where}: "{text[:40]}" is no time; write it as 2026-03-01T08:30:00+01:00. The row is '
            "left out."
        )
    return at


def _number(where: str, of: _Range, text: str) -> float | None:
    name, least, most = of
    try:
        value = float(text)
    except ValueError:
        if not text.strip():
            return None
        raise TraceError(
            f'{where}: {name} is "{text[:40]}"; give a number, or nothing where there is no good '
            "reading. The row is left out."
        ) from None
    if not least <= value <= most:  # NaN too
        raise TraceError(
            f"{where}: {name} is {text[:40]}; what measures it reaches from {least:g} to {most:g}. "
            "The row is left out."
        )
    return value
