"""The streams' queues: nothing is lost, nothing grows, and a slow page is asked to load again."""

import asyncio

import pytest

from api.errors import BusyError
from api.stream import MOST_WAITING, MOST_WATCHERS, EventId, Hub, event, load_again

AT = EventId(1_780_000_000, 3)


async def next_of(stream):
    return await asyncio.wait_for(anext(stream), 5)


def test_event_is_written_as_the_html_standard_says():
    assert event("scan", b'{"slot":1}', AT) == (
        b'event: scan\nid: 1780000000.3\ndata: {"slot":1}\n\n'
    )


def test_event_id_reads_back():
    assert EventId.read(str(AT)) == AT


@pytest.mark.parametrize(
    "text", ["", "x", "1", ".", "1.", ".1", "-1.2", "1.2.3", "1.٢", "9" * 30 + "." + "9" * 30]
)
def test_event_id_of_another_kind_is_none(text):
    assert EventId.read(text) is None


async def _takes_in_order():
    hub = Hub()
    with hub.watching() as watcher:
        stream = watcher.take()
        hub.broadcast(b"one", AT)
        hub.broadcast(b"two", AT)
        together = await next_of(stream)
        waiting = asyncio.ensure_future(anext(stream))
        await asyncio.sleep(0)
        hub.broadcast(b"three", AT)
        return together, await asyncio.wait_for(waiting, 5)


def test_watcher_takes_events_in_order_and_all_that_wait_at_once():
    assert asyncio.run(_takes_in_order()) == (b"onetwo", b"three")


async def _falls_behind():
    hub = Hub()
    with hub.watching() as slow, hub.watching() as quick:
        slow_stream, quick_stream = slow.take(), quick.take()
        taken = []
        for number in range(10 * MOST_WAITING):
            hub.broadcast(b"%d;" % number, AT)
            taken.append(await next_of(quick_stream))
        behind = await next_of(slow_stream)
        hub.broadcast(b"fresh", AT)
        return taken, behind, await next_of(slow_stream)


def test_slow_watcher_is_asked_to_load_again_and_then_goes_on_and_others_notice_nothing():
    taken, behind, after = asyncio.run(_falls_behind())
    assert b"".join(taken) == b"".join(b"%d;" % n for n in range(10 * MOST_WAITING))
    assert behind == load_again(AT)
    assert after == b"fresh"


async def _closes():
    hub = Hub()
    with hub.watching() as watcher:
        stream = watcher.take()
        hub.broadcast(b"last", AT)
        hub.close()
        rest = [data async for data in stream]
    with hub.watching() as late:
        return rest, [data async for data in late.take()], len(hub)


def test_closing_ends_every_stream_after_what_is_queued_and_admits_no_other():
    assert asyncio.run(_closes()) == ([b"last"], [], 1)


async def _fills():
    hub = Hub()
    contexts = [hub.watching() for _ in range(MOST_WATCHERS)]
    for context in contexts:
        context.__enter__()
    with pytest.raises(BusyError, match="256 pages are watching already"):
        hub.check_room()
    contexts[0].__exit__(None, None, None)
    hub.check_room()


def test_a_watcher_too_many_is_refused_in_a_sentence():
    asyncio.run(_fills())
