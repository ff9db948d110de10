"""The change feed: every scan once and in order, whatever the store does meanwhile."""

import logging
from time import monotonic

from api.changes import BATCH, OFTEN_S, SELDOM_S, ChangeFeed
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


def feed_of(source, *, after_slot=0, changed=lambda: None):
    seen = []

    def deliver(scans):
        seen.extend(scan.slot for scan in scans)

    return ChangeFeed(source, deliver, changed, after_slot=after_slot), seen


def test_hands_on_each_scan_once_and_in_order():
    source = Source()
    feed, seen = feed_of(source, after_slot=10)
    source.commit(9, 10, 11)
    feed.poll()
    source.commit(12)
    feed.poll()
    feed.poll()
    assert seen == [11, 12]


def test_says_that_something_changed_though_no_scan_came():
    source, changes = Source(), []
    feed, _ = feed_of(source, changed=lambda: changes.append(source.token))
    for _ in range(3):
        feed.poll()
    source.commit()
    feed.poll()
    assert changes == [0, 1]


def test_looks_often_only_while_a_scan_is_due():
    source = Source()
    feed, _ = feed_of(source)
    assert feed._pause_s(monotonic()) == SELDOM_S
    source.commit(1)
    feed.poll()
    now_s = monotonic()
    assert feed._pause_s(now_s) == SELDOM_S
    assert feed._pause_s(now_s + 0.94) < SELDOM_S  # not past the moment it is due
    assert feed._pause_s(now_s + 1.0) == OFTEN_S
    assert feed._pause_s(now_s + 1.5) == SELDOM_S  # the logger has fallen silent


def test_expects_a_scan_as_early_as_the_quickest_of_the_last_few():
    feed, _ = feed_of(Source())
    for slot, seen_s in ((100, 0.5), (101, 1.9), (102, 2.6)):  # 1.4 and 0.6 s: one came late
        feed._expect(Scan(slot, 1, ()), seen_s)
    assert feed._pause_s(3.45) < SELDOM_S
    assert feed._pause_s(3.5) == feed._pause_s(3.7) == OFTEN_S
    assert feed._pause_s(3.8) == SELDOM_S


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
