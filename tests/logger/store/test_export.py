"""Every scan is a row, with each place's calibrated value or none."""

from itertools import islice
from uuid import UUID

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store.export import columns, rows
from logger.store.timeline import END_SLOT, EpochTable, SlotPiece
from logger.store.tracks import Piece, Track

BEGIN = 1_767_225_600
KEYS = [SeriesKey(f"28-{name}", "temperature_c", 16) for name in "ab"]
UTC = EpochTable()


def track(column, *pieces):
    return Track(column, "temperature_c", UUID(int=1), column, None, None, pieces)


HEAD = track("head", Piece(1, 16, 0, BEGIN + 700), Piece(2, 16, BEGIN + 700, END_SLOT, 1.01, -0.25))
POT = track("pot", Piece(2, 16, 0, BEGIN + 700))


def scan(slot):
    counts = (slot % 100, None if slot % 7 == 0 else 1600)
    readings = (
        Reading(key, Grade.CRC if count is None else Grade.OK, count)
        for key, count in zip(KEYS, counts, strict=True)
    )
    return Scan(slot, 1, tuple(readings))


def true_row(slot):
    second = None if slot % 7 == 0 else 100.0
    if slot < BEGIN + 700:
        return slot, {"head": (slot % 100) / 16, "pot": second}
    return slot, {"head": None if second is None else 100.75, "pot": None}


def test_rows_are_the_scans_as_people_name_things(store):
    slots = [*range(BEGIN + 5, BEGIN + 1300), *range(BEGIN + 90_000, BEGIN + 90_010)]
    store.keep([scan(slot) for slot in slots], sealed_at=BEGIN + 1200)
    span = (BEGIN * 10**6, (BEGIN + 90_005) * 10**6)
    found = list(rows(store.reader, [HEAD, POT], UTC, *span))
    assert [(row.slot, row.values) for row in found] == [true_row(slot) for slot in slots[:-5]]
    assert all(row.utc_us == row.slot * 10**6 for row in found)
    assert columns([HEAD, POT]) == ("head", "pot")


def test_true_times_follow_the_clock_epochs(store):
    store.keep([scan(BEGIN + second) for second in range(20)])
    epochs = EpochTable(
        (SlotPiece(0, BEGIN + 10, 7_500_000), SlotPiece(BEGIN + 10, END_SLOT, 8_000_000))
    )
    span = ((BEGIN + 15) * 10**6, (BEGIN + 20) * 10**6)
    found = [(row.slot, row.utc_us) for row in rows(store.reader, [HEAD], epochs, *span)]
    late = [(BEGIN + at, (BEGIN + at) * 10**6 + 7_500_000) for at in (8, 9)]
    assert found == [*late, *((BEGIN + at, (BEGIN + at + 8) * 10**6) for at in (10, 11))]


def test_a_long_download_holds_no_transaction_open(store):
    """While rows are taken, the log can be written back into the file, and sealing goes on."""
    store.keep([scan(BEGIN + second) for second in range(8000)], sealed_at=0)
    span = (BEGIN * 10**6, (BEGIN + 9000) * 10**6)
    download = rows(store.reader, [HEAD], UTC, *span)
    list(islice(download, 100))
    store.writer.seal_due(BEGIN + 8000)
    raw = store.engine.raw_connection()
    busy, *_ = raw.driver_connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    raw.close()
    assert busy == 0
    assert sum(1 for _ in download) == 7900


def test_nothing_stored_is_no_rows(store):
    assert list(rows(store.reader, [HEAD], UTC, 0, 10**15)) == []
