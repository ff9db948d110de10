"""History for a chart: every trace's true extremes, bucket by bucket, as integers with a scale."""

import gzip
from collections.abc import Iterable, Sequence
from typing import Annotated, Final
from uuid import UUID

import orjson
from fastapi import Header, Query
from pydantic import BaseModel, Field
from starlette.responses import Response

from api.access import Role, needs
from api.house import House, Housed
from api.layout import UNITS, key_of
from api.ranges import check_range, clipped
from api.routing import Router
from logger.store.history import Segment, Trace, history
from logger.store.tracks import Track, tracks

# Measured on 8 traces of 1,000 buckets, 61 kB: level 1 gives 14.6 kB in 0.3 ms, level 4 11.2 kB
# in 0.5 ms, level 6 10.0 kB in 1.3 ms.
LEVEL: Final = 4
SMALL: Final = 1000  # bytes; below this, compressing gains nothing

router = Router(prefix="/history", tags=["history"], dependencies=[needs(Role.WATCH)])

Moment = Annotated[int, Query(ge=-(2**53), le=2**53, description="Milliseconds since 1970, UTC.")]


class SegmentBody(BaseModel):
    """Buckets side by side; bucket i begins at t0_ms + i * dt_ms, values are counts."""

    t0_ms: int
    dt_ms: int
    counts_per_unit: Annotated[int, Field(description="value = count / counts_per_unit")]
    lo: Annotated[list[int | None], Field(description="Lowest in each bucket; null: no reading.")]
    hi: list[int | None]
    breaks: Annotated[
        list[int],
        Field(
            description="Buckets before which there was a gap, so that a line is to be broken; "
            "buckets without a reading elsewhere only mean a slow cadence."
        ),
    ]


class TraceBody(BaseModel):
    """One line of the chart: a place, or a probe without one."""

    key: str
    place_id: UUID | None
    probe_id: str | None
    vessel: str | None
    place: str | None
    quantity: str
    unit: str
    segments: list[SegmentBody]


class HistoryBody(BaseModel):
    """All traces that have a reading in the range."""

    from_ms: int
    to_ms: int
    traces: list[TraceBody]


@router.get("", response_class=Response, responses={200: {"model": HistoryBody}})
def read(
    house: Housed,
    from_ms: Moment,
    to_ms: Moment,
    buckets: Annotated[int, Query(ge=2, le=4000)] = 600,
    places: Annotated[list[UUID] | None, Query(max_length=100)] = None,
    accept_encoding: Annotated[str, Header()] = "",
) -> Response:
    """Return the envelope of each trace over a range, in at most so many buckets."""
    from_us, to_us = clipped(from_ms * 1000), clipped(to_ms * 1000)
    check_range(from_ms * 1000, to_ms * 1000, house.clock.now().utc_us)
    wanted = [
        track
        for track in tracks(house.reader.engine, from_us, to_us)
        if places is None or track.place in places
    ]
    return envelope(house, wanted, (from_us, to_us), buckets, accept_encoding)


def envelope(
    house: House,
    wanted: Sequence[Track],
    range_us: tuple[int, int],
    buckets: int,
    accept_encoding: str,
) -> Response:
    """Answer with the envelope of tracks over a range."""
    from_us, to_us = range_us
    reached = (
        from_us < to_us
    )  # not where the whole range lies before the first reading there can be
    found = history(house.reader, wanted, house.epochs, from_us, to_us, buckets) if reached else ()
    body = {"from_ms": from_us // 1000, "to_ms": to_us // 1000, "traces": _traces(found)}
    return _packed(orjson.dumps(body), zipped="gzip" in accept_encoding)


def _traces(found: Iterable[Trace]) -> list[dict[str, object]]:
    return [_trace(one) for one in found if one.segments]


def _trace(one: Trace) -> dict[str, object]:
    track = one.track
    return {
        "key": key_of(track.place or track.probe_id, track.quantity),
        "place_id": track.place,
        "probe_id": track.probe_id,
        "vessel": track.vessel_name,
        "place": track.place_name,
        "quantity": track.quantity,
        "unit": UNITS.get(track.quantity, ""),
        "segments": [_segment(segment) for segment in one.segments],
    }


def _segment(one: Segment) -> dict[str, object]:
    low, high = one.lists()
    return {
        "t0_ms": one.first_us // 1000,
        "dt_ms": one.bucket_s * 1000,
        "counts_per_unit": one.counts_per_unit,
        "lo": low,
        "hi": high,
        "breaks": one.breaks,
    }


def _packed(body: bytes, *, zipped: bool) -> Response:
    """Compress here, in the route's own thread: the event loop has watchers to serve."""
    headers: dict[str, str] = {}
    if zipped and len(body) >= SMALL:
        body = gzip.compress(body, compresslevel=LEVEL, mtime=0)
        headers |= {"content-encoding": "gzip", "vary": "Accept-Encoding"}
    return Response(body, media_type="application/json", headers=headers)
