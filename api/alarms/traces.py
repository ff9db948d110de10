"""Recorded traces: a CSV of readings by place, and one of jars, read row by row.

A row that cannot be read is told by its line and left out; what is around it counts.
"""

import csv
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final, TextIO

from calc.errors import WormtubError

TIME: Final = "time"
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
    """Read the good rows in turn; `tell` is given a sentence for every other."""
    order = _InOrder(file, tell)
    with opened(file) as text:
        reader = csv.reader(text)
        columns = [TIME, *_checked(file, next(reader, []), needed)]
        for cells in reader:
            if not any(cells):
                continue
            try:
                row = _row(file, reader.line_num, columns, cells)
            except TraceError as error:
                tell(str(error))
                continue
            yield from order.take(row)
    yield from order.end()


class _InOrder:
    """Lets rows through in their order of time, and tells of those that are out of it.

    A row is held back until the next is seen: where two come after it that lie before it and
    follow one another, it is the one that ran ahead, and they are good.
    """

    def __init__(self, file: Path, tell: Tell) -> None:
        self._file, self._tell = file, tell
        self._passed: TraceRow | None = None
        self._held: TraceRow | None = None
        self._behind: TraceRow | None = None  # before the one held, after the one that passed

    def take(self, row: TraceRow) -> Iterator[TraceRow]:
        """Take a row; gives those that are known to be good by now."""
        held, behind, passed = self._held, self._behind, self._passed
        if held is None or row.at > held.at:
            yield from self.end()
            self._held = row
        elif row.at == held.at or (passed is not None and row.at <= passed.at):
            self._out_of_order(row, held if row.at >= held.at else passed)
        elif behind is None:
            self._behind = row
        elif row.at <= behind.at:
            self._out_of_order(row, behind)
        else:
            self._say(held, "lies after the rows that follow it")
            self._passed, self._held, self._behind = behind, row, None
            yield behind

    def end(self) -> Iterator[TraceRow]:
        """Give the row that is held back."""
        held, behind = self._held, self._behind
        if behind is not None:
            self._out_of_order(behind, held)
        self._passed, self._held, self._behind = held, None, None
        if held is not None:
            yield held

    def _out_of_order(self, row: TraceRow, before: TraceRow | None) -> None:
        same = before is not None and row.at == before.at
        how = "is the same as the row before" if same else "lies before the row before it"
        self._say(row, how)

    def _say(self, row: TraceRow, how: str) -> None:
        at = row.at.isoformat()
        self._tell(f"{self._file.name}, line {row.line}: the time {at} {how}; the row is left out.")


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


def _row(file: Path, line: int, columns: Sequence[str], cells: Sequence[str]) -> TraceRow:
    where = f"{file.name}, line {line}"
    if len(cells) != len(columns):
        raise TraceError(
            f"{where} has {len(cells)} cells, the first line {len(columns)}; the row is left out."
        )
    at = _time(where, cells[0])
    values = {
        name: _number(where, name, cell) for name, cell in zip(columns[1:], cells[1:], strict=True)
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


def _number(where: str, name: str, text: str) -> float | None:
    if not text.strip():
        return None
    try:
        value = float(text)
    except ValueError:
        raise TraceError(
            f'{where}: {name} is "{text[:40]}"; give a number, or nothing where there is no good '
            "reading. The row is left out."
        ) from None
    least, most = PLAUSIBLE[name.rpartition(".")[2]]
    if not least <= value <= most:  # NaN too
        raise TraceError(
            f"{where}: {name} is {text[:40]}; what measures it reaches from {least:g} to {most:g}. "
            "The row is left out."
        )
    return value
