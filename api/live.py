"""The live page's routes: the state of everything once, then an event for every scan."""

from collections.abc import AsyncIterator, Sequence
from typing import Annotated, Final

from fastapi import Header, Query
from starlette.concurrency import run_in_threadpool
from starlette.responses import StreamingResponse

from api.access import Role, needs
from api.board import Board
from api.house import House, Housed
from api.layout import Layout
from api.messages import LiveState, live_state, scan_data
from api.routing import Router
from api.stream import RETRY, EventId, event, load_again
from logger.reading import Scan
from logger.store.timeline import EpochTable

MOST_MISSED: Final = 900  # scans sent to catch up; beyond, the page loads again

router = Router(prefix="/live", tags=["live"], dependencies=[needs(Role.WATCH)])

EVENTS: Final = (
    "Server-sent events. `scan`: {slot, scan_ms, period_s, readings: [[key, value or null, grade, "
    "trend_per_min or null], ...]}; `layout`: lines came, went or changed, so ask for the state "
    "again; `record`: {version, run_ids}, as something of the record changed; "
    "`alarms`: something changed of the alarms, and the data are what /api/alarms gives; "
    "`estimates`: {vessel_ids, vessels}, the vessels of which something is estimated and, as "
    "/api/estimates gives them, those of which something is restated, without what it rests on; "
    "`load-again`: too much was missed, so load everything again. A comment is sent every "
    "15 s. Each event's id says where the stream stands; send it back as Last-Event-ID, or as "
    "`after` on the first connection, to receive what was missed."
)


@router.get("")
async def state(house: Housed) -> LiveState:
    """Return every place's value, trend, age and health, and the probes without a place."""
    return live_state(
        house.board,
        house.epochs,
        now_ms=house.now_ms,
        age_s=house.age_s,
        event_id=house.event_id,
    )


@router.get(
    "/events",
    response_class=StreamingResponse,
    responses={
        200: {
            "description": EVENTS,
            "content": {"text/event-stream": {"schema": {"type": "string"}}},
        }
    },
)
async def events(
    house: Housed,
    after: Annotated[str | None, Query(max_length=60, description="An event's id.")] = None,
    last_event_id: Annotated[str | None, Header(max_length=60)] = None,
) -> StreamingResponse:
    """Follow the scans as they are committed."""
    house.hub.check_room()
    since = EventId.read(last_event_id or after or "")
    return StreamingResponse(
        follow(house, since, asked=bool(last_event_id or after)),
        media_type="text/event-stream",
        headers={"x-accel-buffering": "no"},  # a proxy is to pass events on at once
    )


async def follow(house: House, since: EventId | None, *, asked: bool) -> AsyncIterator[bytes]:
    """Write what was missed since an id, then everything that happens."""
    with house.hub.watching() as watcher:
        yield RETRY + await _missed(house, since, asked=asked)
        async for data in watcher.take():
            yield data


async def _missed(house: House, since: EventId | None, *, asked: bool) -> bytes:
    """Write what happened between an id and now; what comes later waits in the queue already."""
    now = house.event_id
    if since is None or since.slot > now.slot:
        return load_again(now) if asked else b""
    scans = await run_in_threadpool(house.reader.after, since.slot, MOST_MISSED + 1)
    missed = [scan for scan in scans if scan.slot <= now.slot]
    if len(missed) > MOST_MISSED:
        return load_again(now)
    relaid = event("layout", b"{}", now) if since.sequence != now.sequence else b""
    alarmed = b""
    if house.alarms.changed_slot >= since.slot:
        alarmed = event("alarms", await run_in_threadpool(house.alarms_data), now)
    replayed = await run_in_threadpool(_replayed, missed, house.board.layout, house.epochs, now)
    return relaid + replayed + alarmed


def _replayed(scans: Sequence[Scan], layout: Layout, epochs: EpochTable, now: EventId) -> bytes:
    """Write missed scans as they are read now, without trends: those were of their moment."""
    board = Board(layout, tells_trends=False)
    written = []
    for scan in scans:
        board.apply(scan)
        data = scan_data(board, epochs, board.standings())
        written.append(event("scan", data, EventId(scan.slot, now.sequence)))
    return b"".join(written)
