"""A trace in the form of `wormtub export`, judged whole: its moments, its places, its readings."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from hashlib import sha256
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from api.alarms.traces import PLAUSIBLE
from api.imports.sheets import TIME, ImportFileError, Line, Sheet, read_sheet
from calc.arrays import median
from calc.quantities import FloatArray
from logger.store.sealed import PERIOD_LIMIT_S

NAME: Final = "The trace"
MOST_LINES: Final = 200_000  # two days and more, a line a second
LONGEST: Final = timedelta(days=7)
PRESSURE: Final = "pressure_hpa"
ROOM: Final = "room"
OF_STILL: Final = (
    "pot", "head", "column", "coolant_in", "coolant_out", "reflux_out", "spout", "mash",
)  # fmt: skip
HOUSE: Final = (ROOM, PRESSURE)
DIGITS: Final = 12  # of a digest


@dataclass(frozen=True, slots=True)
class Trace:
    """A trace of one still: rising moments, and each column's values, NaN where there is none."""

    times: Sequence[datetime]
    lines: Sequence[int]  # of the file, for sentences
    period_s: int
    values: Mapping[str, FloatArray]  # by plain name: pot, head, room, pressure_hpa
    left_out: Sequence[str]  # columns of other vessels
    digest: str

    @property
    def times_us(self) -> NDArray[np.int64]:
        """The moments in microseconds UTC."""
        return np.array([round(one.timestamp() * 1_000_000) for one in self.times], np.int64)


def read_trace(text: str, still: str, local: tzinfo) -> Trace:
    """Read a trace of a still, or raise ImportFileError with the line."""
    sheet = read_sheet(NAME, text, (TIME,), local, most_lines=MOST_LINES)
    chosen, left_out = _choose(sheet, still)
    _check_order(sheet.lines)
    values = {name: _values(sheet.lines, column, name) for name, column in chosen.items()}
    kept = {name: column for name, column in values.items() if not np.isnan(column).all()}
    if not any(name in OF_STILL for name in kept):
        raise ImportFileError(
            f"{NAME}, line 2: no column of {still} has a reading in it; one of "
            f"{', '.join(OF_STILL[:3])} at least is expected."
        )
    times = [one.at for one in sheet.lines]
    return Trace(
        times,
        [one.number for one in sheet.lines],
        _period_s(times),
        kept,
        left_out,
        _digest(times, kept),
    )


def _choose(sheet: Sheet, still: str) -> tuple[dict[str, str], Sequence[str]]:
    """Find which columns are the still's or the house's, by their plain names."""
    chosen: dict[str, str] = {}
    left_out: list[str] = []
    for column in sheet.columns:
        if column == TIME:
            continue
        vessel, _, place = column.rpartition(".")
        if place not in {*OF_STILL, *HOUSE}:
            raise ImportFileError(
                f'{NAME}, line 1: "{column[:40]}" is no place; name the column {TIME}, '
                f"{', '.join((*OF_STILL, *HOUSE))}, or take it out."
            )
        if vessel and vessel != still:
            left_out.append(column)
        elif place in chosen:
            raise ImportFileError(
                f'{NAME}, line 1: "{chosen[place]}" and "{column}" are one place; take one out.'
            )
        else:
            chosen[place] = column
    return chosen, left_out


def _check_order(lines: Sequence[Line]) -> None:
    """See that time goes on, a second at least from line to line."""
    if len(lines) < 2:
        raise ImportFileError(f"{NAME}, line 2: a trace has two lines at least.")
    for earlier, later in pairwise(lines):
        if later.at <= earlier.at:
            how = "the same as" if later.at == earlier.at else "earlier than"
            raise ImportFileError(
                f"{later.where}: the time is {how} in line {earlier.number}; lines follow one "
                "another in time."
            )
    if lines[-1].at - lines[0].at > LONGEST:
        raise ImportFileError(
            f"{lines[-1].where}: the trace is longer than {LONGEST.days} days; cut it to one run."
        )


def _values(lines: Sequence[Line], column: str, name: str) -> FloatArray:
    low, high = PLAUSIBLE[name]
    read = (line.number_in(column, low, high) for line in lines)
    return np.array([np.nan if one is None else one for one in read])


def _period_s(times: Sequence[datetime]) -> int:
    steps_s = [(later - earlier).total_seconds() for earlier, later in pairwise(times)]
    return int(np.clip(round(float(median(steps_s))), 1, PERIOD_LIMIT_S))


def _digest(times: Sequence[datetime], values: Mapping[str, FloatArray]) -> str:
    """Tell a trace by what it says, however it is written."""
    told = sha256()
    told.update(np.array([one.timestamp() for one in times]).tobytes())
    for name in sorted(values):
        told.update(name.encode())
        told.update(values[name].tobytes())
    return told.hexdigest()[:DIGITS]
