"""The keeper against a store that refuses: scans wait, keep their order, and are never lost."""

from threading import Event, Lock

import pytest

from logger.errors import StoreError
from logger.keeper import Keeper
from logger.reading import Scan

START = 1_790_000_400


class RefusingStore:
    """Takes what it is given unless told to refuse; notes everything in order."""

    def __init__(self) -> None:
        self.entries, self.sealed, self.refuses = [], [], Event()
        self.seal_fails, self.held = False, Lock()

    def append(self, scan):
        with self.held:
            if self.refuses.is_set():
                raise StoreError("The disk is full.")
            self.entries.append(scan.slot)

    def seal_due(self, now_slot):
        if self.seal_fails:
            raise StoreError("The disk is full.")
        self.sealed.append(now_slot)
        return 1


@pytest.fixture
def store():
    return RefusingStore()


@pytest.fixture
def keeping(store):
    stored, keepers = [], []

    def make(**more):
        keepers.append(Keeper(store, lambda scan: stored.append(scan.slot), retry_s=0.01, **more))
        return keepers[0], stored

    yield make
    store.refuses.clear()
    for keeper in keepers:
        keeper.close(5)


def scan(index):
    return Scan(START + index, 1, ())


def slots(*indexes):
    return [START + index for index in indexes]


def test_scans_are_stored_and_acknowledged_in_order(keeping, store):
    keeper, stored = keeping()
    for index in range(50):
        keeper.put(scan(index))
    assert keeper.close(5) == 0
    assert store.entries == stored == slots(*range(50))


def test_a_refusing_store_delays_scans_and_loses_none(keeping, store, until, caplog):
    keeper, stored = keeping()
    store.refuses.set()
    for index in range(10):
        keeper.put(scan(index))
    until(lambda: "Scans wait in memory" in caplog.text)
    assert keeper.waiting == 10
    assert stored == []
    store.refuses.clear()
    until(lambda: len(stored) == 10)
    assert stored == slots(*range(10))
    assert caplog.text.count("The disk is full.") == 1
    assert "takes scans again; 9 wait" in caplog.text


def test_a_busy_store_does_not_hold_up_who_puts(keeping, store, until):
    keeper, stored = keeping()
    with store.held:  # the writer is inside append all this while
        for index in range(100):
            keeper.put(scan(index))
        assert keeper.waiting == 100
    until(lambda: len(stored) == 100)


def test_a_full_queue_drops_its_oldest_and_counts(keeping, store, until, caplog):
    keeper, stored = keeping(capacity=3)
    store.refuses.set()
    keeper.put(scan(0))
    until(lambda: "Scans wait in memory" in caplog.text)
    for index in range(1, 6):
        keeper.put(scan(index))
    assert (keeper.waiting, keeper.dropped) == (3, 3)
    store.refuses.clear()
    until(lambda: len(stored) == 3)
    assert stored == slots(0, 4, 5)  # the first was on its way to the file
    assert "1 scans were lost" in caplog.text


def test_notes_keep_their_turn_and_are_never_dropped(keeping, store, until):
    keeper, stored = keeping(capacity=3)
    store.refuses.set()
    keeper.put(scan(0))
    keeper.put(lambda: store.entries.append("clock"))
    keeper.put(scan(1))
    keeper.put(scan(2))
    store.refuses.clear()
    until(lambda: len(stored) == 2)
    assert store.entries == [START, "clock", START + 2]


def test_a_note_that_the_store_refuses_is_written_later(keeping, store, until):
    keeper, stored = keeping()
    fails = iter([True, True, False])

    def note():
        if next(fails):
            raise StoreError("The disk is full.")
        store.entries.append("clock")

    keeper.put(note)
    keeper.put(scan(0))
    until(lambda: stored)
    assert store.entries == ["clock", START]


def test_sealing_follows_each_stretch_once_nothing_waits(keeping, store, until):
    keeper, stored = keeping()
    for slot in slots(0, 1, 599, 600, 601):
        keeper.put(scan(slot - START))
        until(lambda slot=slot: stored[-1:] == [slot] and not keeper.waiting)
        until(lambda slot=slot: slot % 600 or slot in store.sealed)
    keeper.close(5)
    assert store.sealed == slots(0, 600)


def test_sealing_that_fails_is_due_again_with_the_next_scan(keeping, store, until, caplog):
    keeper, stored = keeping()
    store.seal_fails = True
    keeper.put(scan(0))
    until(lambda: "Sealing waits" in caplog.text)
    store.seal_fails = False
    keeper.put(scan(1))
    until(lambda: store.sealed == slots(1))
    assert stored == slots(0, 1)


def test_closing_gives_up_in_time_and_says_how_many_are_left(keeping, store):
    keeper, _ = keeping()
    store.refuses.set()
    for index in range(4):
        keeper.put(scan(index))
    assert keeper.close(0.05) == 4


def test_a_fault_of_the_program_reaches_the_loop(store, until, caplog):
    def broken(scan):
        raise ZeroDivisionError

    keeper = Keeper(store, broken)
    keeper.put(scan(0))
    until(lambda: keeper._failure)
    with pytest.raises(ZeroDivisionError):
        keeper.put(scan(1))
    with pytest.raises(ZeroDivisionError):
        keeper.close(1)
    assert "The keeper stopped." in caplog.text
