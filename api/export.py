"""The record as a table: CSV of any range, written as it is read, an hour at a time."""

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta, tzinfo
from itertools import islice
from typing import Annotated, Final

from fastapi import Query
from pydantic import AwareDatetime
from starlette.responses import StreamingResponse

from api.access import Role, needs
from api.house import Housed
from api.ranges import check_range, clipped
from api.routing import Router
from api.site import stored, zone
from logger.store.export import Row, columns, rows
from logger.store.scans import ScanReader
from logger.store.timeline import SECOND_US, EpochTable
from logger.store.tracks import Track, tracks
from logger.store.types import to_datetime, to_us

ROWS_AT_ONCE: Final = 1000

router = Router(tags=["history"], dependencies=[needs(Role.WATCH)])


@dataclass(frozen=True, slots=True)
class Export:
    """What is written: the columns over a range of true time, and the zone of its times."""

    reader: ScanReader
    zone: tzinfo
    tracks: tuple[Track, ...]
    from_us: int
    to_us: int

    @classmethod
    def of(cls, reader: ScanReader, zone: tzinfo, from_us: int, to_us: int) -> "Export":
        """Find the columns of a range."""
        found = tuple(tracks(reader.engine, from_us, to_us))
        return cls(reader, zone, found, clipped(from_us), clipped(to_us))

    def parts(self) -> Iterator[str]:
        """Write the table, in parts: the header, then many rows at a time."""
        yield _lines([("time", *columns(self.tracks))])
        epochs = EpochTable.load(self.reader.engine)
        read = rows(self.reader, self.tracks, epochs, self.from_us, self.to_us)
        while some := list(islice(read, ROWS_AT_ONCE)):
            yield _lines((self._time(row), *row.values.values()) for row in some)

    def _time(self, row: Row) -> str:
        local = to_datetime(row.utc_us).astimezone(self.zone)
        return local.isoformat(timespec="milliseconds" if row.utc_us % SECOND_US else "seconds")


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
    until = to or max(house.now, from_) + timedelta(seconds=1)
    check_range(to_us(from_), to_us(until), to_us(house.now))
    found = Export.of(house.reader, zone(house.reader.engine), to_us(from_), to_us(until))
    kind = "wormtub-simulated" if stored(house.reader.engine)[0].simulated else "wormtub"
    name = f"{kind}-{from_.date()}-to-{until.date()}.csv"
    return StreamingResponse(
        found.parts(),
        media_type="text/csv; charset=utf-8",
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )


def _lines(table: Iterable[Iterable[object]]) -> str:
    text = io.StringIO()
    csv.writer(text).writerows(table)  # None is an empty cell
    return text.getvalue()
