"""Clock epochs: recorded, corrected by superseding, and applied to slots and times."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uuid_utils.compat import uuid7

from logger.errors import ConflictError, NotFoundError
from logger.store.timeline import (
    END_SLOT,
    EpochTable,
    SlotPiece,
    begin_epoch,
    correct_boot,
    correct_epoch,
)

HALF_HOUR_US = 1_800_000_000


def begin(store, from_slot, offset_us=0, *, boot="one", synchronised=True, boottime_us=0):
    return begin_epoch(
        store.engine,
        from_slot=from_slot,
        offset_us=offset_us,
        boot_id=boot,
        boottime_us=boottime_us,
        synchronised=synchronised,
    )


def load(store):
    return EpochTable.load(store.reader.engine)


def test_without_an_epoch_slots_are_utc(store):
    assert load(store).utc_us(1_700_000_000) == 1_700_000_000_000_000
    assert load(store).slots(10_000_000, 20_000_001) == [SlotPiece(10, 21, 0)]


def test_an_epoch_holds_until_the_next(store):
    begin(store, 1000, 250_000)
    begin(store, 2000, HALF_HOUR_US)
    table = load(store)
    assert [table.utc_us(slot) - slot * 10**6 for slot in (999, 1000, 1999, 2000)] == [
        0, 250_000, 250_000, HALF_HOUR_US,
    ]  # fmt: skip


def test_a_correction_supersedes_and_moves_times_not_slots(store):
    wrong = begin(store, 1000, 0, synchronised=False)
    right = correct_epoch(store.engine, wrong, offset_us=HALF_HOUR_US, synchronised=True)
    assert load(store).utc_us(1000) == 1_000_000_000 + HALF_HOUR_US
    assert load(store).utc_us(999) == 999_000_000
    with pytest.raises(ConflictError, match="corrected before"):
        correct_epoch(store.engine, wrong, offset_us=0, synchronised=True)
    with pytest.raises(NotFoundError, match="No clock epoch"):
        correct_epoch(store.engine, uuid7(), offset_us=0, synchronised=True)
    correct_epoch(store.engine, right, offset_us=5, synchronised=True)
    assert load(store).utc_us(1000) == 1_000_000_005
    with store.engine.connect() as connection:
        kept = connection.exec_driver_sql("SELECT count(*) FROM clock_epochs").scalar_one()
    assert kept == 3


def test_only_unsynchronised_epochs_of_the_same_boot_are_corrected(store):
    begin(store, 1000, 0, boot="one", synchronised=False, boottime_us=-7)
    begin(store, 2000, 0, boot="two", synchronised=True)
    begin(store, 3000, 0, boot="two", synchronised=False, boottime_us=-9)
    assert correct_boot(store.engine, "two", utc_of_boot_us=109, synchronised=True) == 1
    offsets = [piece.offset_us for piece in load(store).pieces]
    assert offsets == [0, 0, 0, 100]


def test_a_time_that_was_logged_twice_finds_both_stretches(store):
    """The clock was ahead and is put back: times between are those of two stretches of slots."""
    begin(store, 1000, 0)
    begin(store, 2000, -500_000_000)
    assert load(store).slots(1_600_000_000, 1_700_000_000) == [
        SlotPiece(1600, 1700, 0),
        SlotPiece(2100, 2200, -500_000_000),
    ]


@given(
    st.lists(st.tuples(st.integers(1, 10_000), st.integers(-(10**9), 10**9)), max_size=5),
    st.integers(0, 10**10),
    st.integers(1, 10**10),
)
def test_slots_of_a_range_are_those_whose_time_is_in_it(epochs, from_us, length_us):
    starts = sorted(dict(epochs).items())
    ends = [*(start for start, _ in starts), END_SLOT]
    bounds = [(0, 0), *starts]
    table = EpochTable(
        tuple(
            SlotPiece(start, end, offset)
            for (start, offset), end in zip(bounds, ends, strict=True)
            if start < end
        )
    )
    pieces = table.slots(from_us, from_us + length_us)
    found = {slot for piece in pieces for slot in range(piece.from_slot, piece.to_slot)}
    near = range(12_500)
    wanted = {slot for slot in near if from_us <= table.utc_us(slot) < from_us + length_us}
    assert {slot for slot in found if slot < 12_500} == wanted
    assert all(table.utc_us(piece.from_slot) >= from_us for piece in pieces)
