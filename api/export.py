"""The record as a table: CSV of any range, written as it is read, an hour at a time."""

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta, tzinfo
from typing import Annotated, Any, Final

import numpy as np
from fastapi import APIRouter, Query
from numpy.typing import NDArray
from pydantic import AwareDatetime
from sqlalchemy import Engine
from starlette.responses import StreamingResponse

from api.access import Role, needs
from api.house import Housed
from api.layout import DECIMALS
from api.ranges import check_range, clipped
from api.site import zone
from logger.store.failures import file_of, told
from logger.store.sealed import BLOCK_S, Readings, load_readings
from logger.store.timeline import EpochTable, SlotPiece
from logger.store.tracks import Piece, Track, tracks
from logger.store.types import to_datetime, to_us

BLOCKS_AT_ONCE: Final = 6  # an hour of scans: what memory is bounded by
Cells = NDArray[Any]  # of texts

router = APIRouter(tags=["history"], dependencies=[needs(Role.WATCH)])


@dataclass(frozen=True, slots=True)
class Table:
    """What is exported: the columns' tracks over a range of true time."""

    engine: Engine
    zone: tzinfo
    columns: tuple[Track, ...]
    epochs: EpochTable
    from_us: int
    to_us: int

    @classmethod
    def of(cls, engine: Engine, zone: tzinfo, from_us: int, to_us: int) -> "Table":
        """Find the columns of a range."""
        columns = tuple(tracks(engine, from_us, to_us))
        return cls(engine, zone, columns, EpochTable.load(engine), from_us, to_us)

    def text(self) -> Iterator[str]:
        """Write the table, in parts: the header, then an hour of rows at a time."""
        yield _line(["time", *(track.column for track in self.columns)])
        for part in self.epochs.slots(self.from_us, self.to_us):
            for cut in _hours(part):
                yield from self._rows(cut)

    def _rows(self, cut: SlotPiece) -> Iterator[str]:
        series = sorted({piece.series for track in self.columns for piece in track.pieces})
        blocks = (cut.from_slot // BLOCK_S, -(-cut.to_slot // BLOCK_S))
        with told(file_of(self.engine)), self.engine.connect() as connection:
            read = load_readings(connection, *blocks, series)
        scanned = np.flatnonzero(read.periods) + read.first_slot
        slots = scanned[(scanned >= cut.from_slot) & (scanned < cut.to_slot)]
        if slots.size:
            times = (self._time(slot * 1_000_000 + cut.offset_us) for slot in slots.tolist())
            columns = (_cells(track, read, slots) for track in self.columns)
            yield "".join(f"{','.join(row)}\r\n" for row in zip(times, *columns, strict=True))

    def _time(self, utc_us: int) -> str:
        local = to_datetime(utc_us).astimezone(self.zone)
        return local.isoformat(timespec="milliseconds" if utc_us % 1_000_000 else "seconds")


@router.get(
    "/export.csv",
    response_class=StreamingResponse,
    responses={
        200: {
            "description": "A header, then one row a scan: `time` in ISO 8601 with offset, then "
            "one column a place by its plain name, `vessel.place` where there are several "
            "vessels, and one a probe without a place, by its id. Temperatures are in °C, "
            "calibrated; an empty cell means no good reading.",
            "content": {"text/csv": {"schema": {"type": "string"}}},
        }
    },
)
def export(
    house: Housed,
    from_: Annotated[AwareDatetime, Query(alias="from")],
    to: Annotated[AwareDatetime | None, Query(description="Now, unless given.")] = None,
) -> StreamingResponse:
    """Download the readings of a range as CSV."""
    until = to or house.now + timedelta(seconds=1)
    check_range(to_us(from_), to_us(until), to_us(house.now))
    table = Table.of(house.reader.engine, zone(house), clipped(to_us(from_)), clipped(to_us(until)))
    name = f"wormtub-{from_.date()}-to-{until.date()}.csv"
    return StreamingResponse(
        table.text(),
        media_type="text/csv; charset=utf-8",
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )


def _hours(part: SlotPiece) -> Iterator[SlotPiece]:
    step = BLOCKS_AT_ONCE * BLOCK_S
    for begin in range(part.from_slot // step * step, part.to_slot, step):
        cut = (max(begin, part.from_slot), min(begin + step, part.to_slot))
        yield SlotPiece(*cut, part.offset_us)


def _cells(track: Track, read: Readings, slots: NDArray[np.int64]) -> Cells:
    """Write one column: texts where there is a good reading, else nothing."""
    cells: Cells = np.full(slots.size, "", dtype=object)
    for piece in track.pieces:
        row = read.series.index(piece.series)
        places = slots - read.first_slot
        good = read.good[row, places] & (slots >= piece.from_slot) & (slots < piece.to_slot)
        if good.any():
            cells[good] = _texts(piece, read.counts[row, places[good]])
    return cells


def _texts(piece: Piece, counts: NDArray[np.int16]) -> Cells:
    """Write counts as calibrated values; each different count once."""
    different, back = np.unique(counts, return_inverse=True)
    values = different / piece.counts_per_unit * piece.slope + piece.offset
    texts: Cells = np.array([repr(value) for value in values.round(DECIMALS).tolist()], object)
    return texts[back]


def _line(cells: Sequence[str]) -> str:
    text = io.StringIO()
    csv.writer(text).writerow(cells)
    return text.getvalue()
