"""Placements, calibrations and clock epochs, joined into pieces of slots."""

from datetime import UTC, datetime

import pytest
from uuid_utils.compat import uuid7

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import facts
from logger.store.tables import Calibration, Place, Placement, Vessel
from logger.store.timeline import END_SLOT, begin_epoch
from logger.store.tracks import Piece, tracks

SITE = uuid7()
PROBES = [SeriesKey(f"28-{name}", "temperature_c", 16) for name in "abc"]
BAROMETER = SeriesKey("iio-bme280-pressure", "pressure_hpa", 16)


def at(second):
    return datetime.fromtimestamp(second, UTC)


def first(model, second=0, /, **fields):
    return model.first(site=SITE, who="Anna", effective_at=at(second), **fields)


@pytest.fixture
def still(store):
    """Record a still with two places; series are numbered 1 to 4."""
    keys = [*PROBES, BAROMETER]
    store.keep([Scan(1, 1, tuple(Reading(key, Grade.OK, 320) for key in keys))])
    vessel = first(Vessel, name="still", kind="still")
    head, pot = (first(Place, name=name, vessel=vessel.about) for name in ("head", "pot"))
    facts.record(store.engine, vessel, head, pot)
    return head.about, pot.about


def made(store, from_s=0, to_s=10_000):
    return {t.column: t for t in tracks(store.reader.engine, from_s * 10**6, to_s * 10**6)}


def place(store, where, probe, begin, end=None):
    ended_at = None if end is None else at(end)
    placement = first(Placement, begin, place=where, probe_id=f"28-{probe}", ended_at=ended_at)
    facts.record(store.engine, placement)
    return placement


def test_a_probe_without_a_place_has_a_track_of_its_own(store, still):
    found = made(store)
    assert set(found) == {"28-a", "28-b", "28-c", "pressure_hpa"}
    assert found["28-a"].pieces == (Piece(1, 16, 0, END_SLOT),)
    assert found["28-a"].place is None
    assert found["28-a"].probe_id == "28-a"


def test_a_place_has_its_probes_one_after_the_other(store, still):
    head, pot = still
    place(store, head, "a", 100, 500)
    place(store, head, "b", 500)
    place(store, pot, "a", 700)
    found = made(store)
    assert found["head"].pieces == (Piece(1, 16, 100, 500), Piece(2, 16, 500, END_SLOT))
    assert found["pot"].pieces == (Piece(1, 16, 700, END_SLOT),)
    assert found["28-a"].pieces == (Piece(1, 16, 0, 100), Piece(1, 16, 500, 700))
    assert found["28-b"].pieces == (Piece(2, 16, 0, 500),)
    assert (found["head"].vessel_name, found["head"].place_name) == ("still", "head")


def test_only_what_is_in_the_range_has_a_track(store, still):
    head, pot = still
    place(store, head, "a", 100, 500)
    place(store, pot, "b", 600)
    assert set(made(store, 200, 300)) == {"head", "28-b", "28-c", "pressure_hpa"}
    assert made(store, 200, 300)["head"].pieces == (Piece(1, 16, 100, 500),)  # not cut
    assert set(made(store, 500, 600)) == {"28-a", "28-b", "28-c", "pressure_hpa"}
    assert set(made(store, 600, 700)) == {"28-a", "pot", "28-c", "pressure_hpa"}


def test_calibrations_cut_pieces(store, still):
    head, _ = still
    place(store, head, "a", 100)
    facts.record(
        store.engine,
        first(Calibration, 50, probe_id="28-a", slope=1.01, offset=-0.2),
        first(Calibration, 300, probe_id="28-a", slope=1.0, offset=0.1),
    )
    found = made(store)
    assert found["head"].pieces == (
        Piece(1, 16, 100, 300, 1.01, -0.2),
        Piece(1, 16, 300, END_SLOT, 1.0, 0.1),
    )
    assert found["28-a"].pieces == (Piece(1, 16, 0, 50), Piece(1, 16, 50, 100, 1.01, -0.2))


def test_a_clock_that_was_wrong_moves_the_slots_of_a_placement(store, still):
    """From slot 1000 on the clock was half an hour behind."""
    begin_epoch(
        store.engine,
        from_slot=1000,
        offset_us=1_800_000_000,
        boot_id="boot",
        boottime_us=0,
        synchronised=True,
    )
    place(store, still[0], "a", 500, 3300)
    found = made(store)
    assert found["head"].pieces == (Piece(1, 16, 500, 1500),)  # joined over the epoch's begin
    assert found["28-a"].pieces == (Piece(1, 16, 0, 500), Piece(1, 16, 1500, END_SLOT))


def test_half_seconds_count_to_the_slot_they_precede(store, still):
    place(store, still[0], "a", 100.5, 200.5)
    assert made(store)["head"].pieces == (Piece(1, 16, 101, 201),)


def test_with_several_vessels_columns_say_which(store, still):
    other = first(Vessel, name="fermenter 1", kind="fermenter")
    ferment = first(Place, name="ferment", vessel=other.about)
    room = first(Place, name="room")
    facts.record(store.engine, other, ferment, room)
    place(store, still[0], "a", 0)
    assert set(made(store)) == {"head", "28-b", "28-c", "pressure_hpa"}
    place(store, ferment.about, "b", 0)
    place(store, room.about, "c", 0)
    assert set(made(store)) == {"still.head", "fermenter 1.ferment", "room", "pressure_hpa"}


def test_columns_that_would_share_a_name_say_more(store, still):
    store.keep([Scan(9, 1, (Reading(SeriesKey("iio-2", "pressure_hpa", 16), Grade.OK, 16_000),))])
    assert {"iio-bme280-pressure.pressure_hpa", "iio-2.pressure_hpa"} <= set(made(store))


def test_a_probe_that_changed_its_scale_keeps_both(store, still):
    store.keep([Scan(9, 1, (Reading(SeriesKey("28-a", "temperature_c", 128), Grade.OK, 2560),))])
    assert made(store)["28-a"].pieces == (Piece(1, 16, 0, END_SLOT), Piece(5, 128, 0, END_SLOT))
