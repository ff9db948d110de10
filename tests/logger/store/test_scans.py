"""Scans go in once, are sealed without loss, and come out as they went in."""

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import sealing
from logger.store.scans import LastGood

KEYS = [SeriesKey(f"28-{number:012x}", "temperature_c", 16) for number in range(3)]
BAROMETER = SeriesKey("iio-bme280-pressure", "pressure_hpa", 16)
BEGIN = 1_767_225_600  # a block's first slot


def scan(slot, *readings, period_s=1):
    return Scan(slot, period_s, tuple(Reading(key, *rest) for key, *rest in readings))


def good(slot, count=320, period_s=1):
    return scan(slot, *((key, Grade.OK, count) for key in KEYS), period_s=period_s)


def invented(slots, seed=1, period_s=1):
    """Make scans with every grade, a probe that comes late and one that goes."""
    rng = random.Random(seed)
    middle = slots[len(slots) // 2]
    for slot in slots:
        keys = [*KEYS[: 2 if slot < middle else 3], *([BAROMETER] if slot % 3 == 0 else [])]
        grades = [rng.choice([Grade.OK] * 9 + list(Grade)) for _ in keys]
        yield Scan(
            slot,
            period_s,
            tuple(
                Reading(key, grade, rng.randint(-32768, 32767) if grade == Grade.OK else None)
                for key, grade in zip(keys, grades, strict=True)
            ),
        )


def test_a_fresh_store_holds_nothing(store):
    writer, reader = store.writer, store.reader
    assert (writer.last_slot(), reader.latest(), reader.latest_good()) == (None, None, {})
    assert reader.after(0, 10) == []
    assert writer.seal_due(BEGIN) == 0


@pytest.mark.parametrize("sealed_at", [0, BEGIN + 600, BEGIN + 5000])
def test_scans_come_out_as_they_went_in(store, sealed_at):
    writer, reader = store.writer, store.reader
    scans = list(invented(range(BEGIN + 100, BEGIN + 1900)))
    writer.append_many(scans)
    writer.seal_due(sealed_at)
    assert reader.after(BEGIN, 5000) == scans
    assert reader.after(scans[700].slot, 100) == scans[701:801]
    assert list(reader.scans(BEGIN + 550, BEGIN + 1250)) == scans[450:1150]
    assert reader.latest() == scans[-1]
    assert writer.last_slot() == scans[-1].slot


def test_each_scan_is_one_commit(store):
    writer, reader = store.writer, store.reader
    tokens = [reader.change_token()]
    for slot in range(BEGIN, BEGIN + 5):
        writer.append(good(slot))
        tokens.append(reader.change_token())
        assert reader.change_token() == tokens[-1]
    assert len(set(tokens)) == 6


@pytest.mark.parametrize("sealed", [False, True])
def test_what_was_written_first_stays(store, sealed):
    writer, reader = store.writer, store.reader
    writer.append(good(BEGIN, 100))
    if sealed:
        assert writer.seal_due(BEGIN + 600) == 1
    writer.append(good(BEGIN, 200))
    assert reader.after(0, 9) == [good(BEGIN, 100)]
    writer.seal_due(BEGIN + 600)
    assert reader.after(0, 9) == [good(BEGIN, 100)]


def test_late_scans_join_their_sealed_block(store):
    writer, reader = store.writer, store.reader
    scans = list(invented(range(BEGIN, BEGIN + 1800)))
    late = scans[200:260] + scans[700:710]
    writer.append_many(one for one in scans if one not in late)
    assert writer.seal_due(BEGIN + 1800) == 3
    writer.append_many(late)
    assert reader.after(0, 5000) == scans
    assert writer.seal_due(BEGIN + 1800) == 2
    assert reader.after(0, 5000) == scans


def test_a_late_scan_closes_the_gap_that_ended_in_a_later_block(tmp_path, opening):
    scans = [good(slot) for slot in range(BEGIN, BEGIN + 2400)]
    late = scans[300:1200]
    histories = []
    for order in ([scans], [scans[:300] + scans[1200:], late]):
        folder = tmp_path / str(len(order))
        folder.mkdir()
        with opening(folder) as store:
            for some in order:
                store.keep(some, sealed_at=BEGIN + 2400)
            histories.append(contents(store.engine))
    assert histories[0] == histories[1]


def test_a_scan_that_comes_while_its_block_is_encoded_is_not_lost(store, monkeypatch):
    scans = [good(slot) for slot in range(BEGIN, BEGIN + 600)]
    encode, late = sealing._encode, scans[7]

    def interrupted(*arguments):
        made = encode(*arguments)
        store.writer.append(late)
        return made

    monkeypatch.setattr(sealing, "_encode", interrupted)
    store.keep([one for one in scans if one != late], sealed_at=BEGIN + 600)
    assert store.reader.after(0, 5000) == scans
    assert store.writer.seal_due(BEGIN + 600) == 0


def test_a_block_is_sealed_when_its_last_slot_is_over(store):
    writer = store.writer
    writer.append_many(good(slot) for slot in range(BEGIN, BEGIN + 600))
    assert writer.seal_due(BEGIN + 599) == 0
    assert writer.seal_due(BEGIN + 600) == 1
    assert writer.seal_due(BEGIN + 600) == 0


def test_the_newest_good_reading_is_known_however_long_ago(store):
    writer, reader = store.writer, store.reader
    writer.append(scan(BEGIN, (KEYS[0], Grade.OK, 111), (KEYS[1], Grade.OK, 222)))
    writer.append(scan(BEGIN + 1, (KEYS[0], Grade.CRC, None), (KEYS[1], Grade.OK, 223)))
    writer.append(scan(BEGIN + 700, (KEYS[0], Grade.EMPTY, None), (KEYS[1], Grade.OK, 224)))
    wanted = {KEYS[0]: LastGood(BEGIN, 111), KEYS[1]: LastGood(BEGIN + 700, 224)}
    for sealed_at in (0, BEGIN + 600, BEGIN + 1800):
        writer.seal_due(sealed_at)
        assert reader.latest_good() == wanted


@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.data())
def test_any_order_of_writing_and_sealing_ends_in_the_same_history(tmp_path_factory, opening, data):
    """Whatever is sealed when, readings and summaries are those of a store sealed once."""
    scans = list(invented(range(BEGIN, BEGIN + 2400, 7), period_s=7))
    shuffled = data.draw(st.permutations(scans))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(scans)), max_size=4)))
    histories = []
    for order, stops in ((scans, []), (shuffled, cuts)):
        with opening(tmp_path_factory.mktemp("store")) as store:
            store.writer.append_many([scans[0], scans[-1]])  # series are numbered alike
            for begin, end in zip([0, *stops], [*stops, len(order)], strict=True):
                store.keep(order[begin:end], sealed_at=BEGIN + 2400)
            histories.append(contents(store.engine))
    assert histories[0] == histories[1]


def contents(engine):
    tables = ("blocks", "chunks", "pages_10_s", "pages_60_s", "pages_600_s", "recent_scans")
    with engine.connect() as connection:
        return {
            name: connection.exec_driver_sql(f"SELECT * FROM {name}").all()  # noqa: S608
            for name in tables
        }


def test_a_period_the_history_cannot_keep_is_refused(store):
    with pytest.raises(ValueError, match="period is 1 to 600 s, not 601"):
        store.writer.append(good(BEGIN, period_s=601))
    assert store.reader.latest() is None


def test_scans_without_any_reading_are_kept(store):
    """Every probe is unplugged: the logger scans on."""
    scans = [Scan(slot, 1, ()) for slot in range(BEGIN, BEGIN + 700)]
    assert store.keep(scans).reader.after(0, 5000) == scans
