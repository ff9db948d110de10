"""What goes in comes out, for any numbers that fit."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from logger.store import codec
from logger.store.codec import PLACES, Extremes, Totals

ROWS = st.integers(1, 3)
INT16 = st.integers(-32768, 32767)


def rows_of(dtype, elements):
    return ROWS.flatmap(
        lambda rows: hnp.arrays(dtype, (rows, PLACES), elements=elements, fill=elements)
    )


@given(data=st.data(), counts=rows_of(np.int16, INT16))
def test_chunks_keep_grades_and_good_counts(data, counts):
    grades = data.draw(
        hnp.arrays(np.uint8, counts.shape, elements=st.sampled_from([0, 0, 0, 4, 7, 255]))
    )
    blobs = codec.encode_chunks(counts, grades)
    read, read_grades = codec.decode_chunks(blobs)
    assert len(blobs) == len(counts)
    np.testing.assert_array_equal(read_grades, grades)
    np.testing.assert_array_equal(read[grades == 0], counts[grades == 0])


@given(data=st.data(), one=rows_of(np.int16, INT16))
def test_pages_keep_extremes_gaps_and_totals(data, one):
    other = data.draw(hnp.arrays(np.int16, one.shape, elements=INT16))
    filled = data.draw(hnp.arrays(np.bool_, one.shape))
    number = np.where(filled, data.draw(hnp.arrays(np.int64, one.shape, elements=st.just(600))), 0)
    low = np.where(filled, np.minimum(one, other), codec.NOTHING_LOW)
    high = np.where(filled, np.maximum(one, other), codec.NOTHING_HIGH)
    extremes = Extremes(low, high, filled & (one % 2 == 0))
    totals = Totals(number, np.where(filled, number * high, 0))
    read = codec.decode_extremes(codec.encode_extremes(extremes))
    read_totals = codec.decode_totals(codec.encode_totals(totals, low), read.low)
    for wanted, found in (
        (low, read.low),
        (high, read.high),
        (extremes.gap, read.gap),
        (number, read_totals.number),
        (totals.sum, read_totals.sum),
    ):
        np.testing.assert_array_equal(found, wanted)


@given(hnp.arrays(np.uint16, (2, PLACES)))
def test_periods_come_back(periods):
    blobs = codec.encode_periods(periods)
    np.testing.assert_array_equal(codec.decode_periods(blobs), periods)


@given(st.lists(st.tuples(st.integers(0, 65535), st.integers(0, 9), INT16), max_size=40))
def test_a_row_of_readings_comes_back(readings):
    packed = codec.pack_readings(readings)
    assert len(packed) == 5 * len(readings)
    assert codec.unpack_readings([packed]).tolist() == readings


def test_a_count_that_does_not_fit_is_refused():
    with pytest.raises(OverflowError):
        codec.pack_readings([(1, 0, 40_000)])


@pytest.mark.parametrize("at", [0, 5, -1])
def test_a_damaged_blob_is_noticed(at):
    counts = np.arange(PLACES, dtype=np.int16)[None] % 7
    [blob] = codec.encode_chunks(counts, np.zeros((1, PLACES), np.uint8))
    damaged = bytearray(blob)
    damaged[at] ^= 0x40
    with pytest.raises(codec.DamagedError):
        codec.decode_chunks([bytes(damaged)])
    with pytest.raises(codec.DamagedError):
        codec.decode_periods([blob])
