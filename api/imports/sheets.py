"""CSV that a person wrote or a program recorded, read whole or refused in one sentence.

Unlike a replay, which leaves out what it cannot read, an import takes all or nothing: a past that
lacks the one line in which the cut was made is worse than a sentence that says which line it is.
"""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from math import isfinite
from typing import Final

from calc.errors import WormtubError

TIME: Final = "time"
SHOWN: Final = 40  # characters of what was written
EXAMPLE: Final = "2026-03-01T08:30:00+01:00"


class ImportFileError(WormtubError, ValueError):
    """A file cannot be imported; the sentence names its line."""

    field: str | None = None  # of the order: trace, jars, marks


@contextmanager
def of_field(field: str) -> Iterator[None]:
    """Say of which file an error is."""
    try:
        yield
    except ImportFileError as error:
        error.field = field
        raise


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a sheet: its number, its time, and its cells by column."""

    sheet: str
    number: int
    at: datetime  # UTC
    cells: Mapping[str, str]

    @property
    def where(self) -> str:
        """Name it."""
        return f"{self.sheet}, line {self.number}"

    def text(self, column: str) -> str:
        """Return a cell; nothing where the sheet has no such column."""
        return self.cells.get(column, "").strip()

    def number_in(self, column: str, low: float, high: float) -> float | None:
        """Return a cell as a number within its range; None where it is empty."""
        written = self.text(column)
        if not written:
            return None
        try:
            value = float(written)
        except ValueError:
            value = None
        if value is None or "_" in written:
            raise ImportFileError(
                f'{self.where}: {column} is "{written[:SHOWN]}"; give a number, or leave the cell '
                "empty."
            )
        if not (isfinite(value) and low <= value <= high):
            raise ImportFileError(
                f"{self.where}: {column} is {written[:SHOWN]}; a number from {low:g} to {high:g} "
                "is expected."
            )
        return value

    def one_of(self, column: str, choices: Sequence[str]) -> str | None:
        """Return a cell that is one of some words; None where it is empty."""
        written = self.text(column)
        if written and written not in choices:
            raise ImportFileError(
                f'{self.where}: {column} is "{written[:SHOWN]}"; give {", ".join(choices[:-1])} '
                f"or {choices[-1]}."
            )
        return written or None


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file: its name for sentences, its columns, its lines."""

    name: str
    columns: Sequence[str]
    lines: Sequence[Line]


def read_sheet(
    name: str, text: str, needed: Sequence[str], local: tzinfo, *, most_lines: int
) -> Sheet:
    """Read a file whole; raises ImportFileError at the first line that cannot be."""
    rows = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        columns = _columns(name, next(rows, []), needed)
        lines: list[Line] = []
        for cells in rows:
            if not any(cells):
                continue
            if len(lines) >= most_lines:
                raise ImportFileError(
                    f"{name}, line {rows.line_num}: more than {most_lines} lines are too many for "
                    "one run; import each run by itself."
                )
            lines.append(_line(name, rows.line_num, columns, cells, local))
    except csv.Error as error:
        raise ImportFileError(
            f"{name}, line {max(rows.line_num, 1)}, is no line of CSV ({error}); write cells with "
            "commas between them, and quotes only around a whole cell."
        ) from None
    if not lines:
        raise ImportFileError(f"{name}, line 2: there is nothing under the columns' names.")
    return Sheet(name, columns, lines)


def _columns(name: str, written: Sequence[str], needed: Sequence[str]) -> Sequence[str]:
    columns = [one.strip() for one in written]
    missing = [one for one in needed if one not in columns]
    if missing:
        raise ImportFileError(
            f"{name}, line 1: there is no column {', '.join(missing)}; the first line names the "
            f"columns, {', '.join(needed)} among them."
        )
    doubled = next((one for one in columns if columns.count(one) > 1), None)
    if doubled is not None:
        raise ImportFileError(
            f'{name}, line 1: two columns are named "{doubled[:SHOWN]}"; give each its own name.'
        )
    return columns


def _line(
    name: str, number: int, columns: Sequence[str], cells: Sequence[str], local: tzinfo
) -> Line:
    where = f"{name}, line {number}"
    if len(cells) != len(columns):
        raise ImportFileError(
            f"{where} has {len(cells)} cells, the first line {len(columns)}; give as many."
        )
    held = dict(zip(columns, cells, strict=True))
    return Line(name, number, moment(where, held[TIME], local), held)


def moment(where: str, written: str, local: tzinfo) -> datetime:
    """Read a time; one without an offset is the house's own, unless its clock read it twice."""
    try:
        at = datetime.fromisoformat(written.strip())
    except ValueError:
        at = None
    if at is None:
        raise ImportFileError(f'{where}: "{written[:SHOWN]}" is no time; write it as {EXAMPLE}.')
    try:
        return (at if at.tzinfo else _at_home(where, at, local)).astimezone(UTC)
    except OverflowError:
        raise ImportFileError(
            f'{where}: "{written[:SHOWN]}" lies beyond the calendar; write a time as {EXAMPLE}.'
        ) from None


def _at_home(where: str, at: datetime, local: tzinfo) -> datetime:
    first, second = (at.replace(tzinfo=local, fold=fold) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return first
    came = first.astimezone(UTC).astimezone(local).replace(tzinfo=None) == at
    why = "came twice that night" if came else "never came that night"
    raise ImportFileError(
        f"{where}: {at:%Y-%m-%d %H:%M} {why}, as the clocks were changed; write the time with its "
        f"offset, as {EXAMPLE}."
    )
