"""The change feed: every scan once and in order, whatever the store does meanwhile."""

import logging

from api.changes import BATCH, ChangeFeed
from logger.errors import StoreError
from logger.reading import Scan


class Source:
    """A store whose commits and failures are told by the test."""

    def __init__(self) -> None:
        self.token = 0
        self.slots = []
        self.failures = 0
        self.reads = 0

    def commit(self, *slots):
        self.slots += slots
        self.token += 1

    def change_token(self):
        return self.token

    def after(self, slot, limit):
        self.reads += 1
        if self.failures:
            self.failures -= 1
            raise StoreError("The disk is gone; put it back.")
        return [Scan(s, 1, ()) for s in self.slots if s > slot][:limit]


def feed_of(source, *, after_slot=0):
    seen = []
    feed = ChangeFeed(
        source, lambda scans: seen.extend(s.slot for s in scans), after_slot=after_slot
    )
    return feed, seen


def test_hands_on_each_scan_once_and_in_order():
    source = Source()
    feed, seen = feed_of(source, after_slot=10)
    source.commit(9, 10, 11)
    feed.poll()
    source.commit(12)
    feed.poll()
    feed.poll()
    assert seen == [11, 12]


def test_reads_nothing_while_nothing_was_committed():
    source = Source()
    feed, _ = feed_of(source)
    feed.poll()
    before = source.reads
    for _ in range(100):
        feed.poll()
    assert source.reads == before


def test_hands_on_a_long_backlog_in_full():
    source = Source()
    feed, seen = feed_of(source)
    slots = list(range(1, 2 * BATCH + 7))
    source.commit(*slots)
    feed.poll()
    assert seen == slots


def test_goes_on_after_a_failure_loses_nothing_and_says_so_once(caplog, until):
    source = Source()
    source.failures = 1
    source.commit(1, 2)
    feed, seen = feed_of(source)
    with caplog.at_level(logging.INFO, logger="api.changes"):
        feed.start()
        until(lambda: seen == [1, 2], says="the scans after the failure")
        until(lambda: "can be read again" in caplog.text)
        feed.stop()
    assert caplog.text.count("The disk is gone") == 1
