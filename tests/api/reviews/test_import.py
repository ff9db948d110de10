"""Past runs from files: read by everything that reads a logged one, or refused whole."""

from datetime import timedelta

import numpy as np
import pytest

from api.site import KEY, SiteValue
from calc.blending import blend
from calc.errors import WormtubError
from logger.errors import ConflictError
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import carried_scans, database, facts
from logger.store.record_tables import Jar, JarVessel, StockLock
from logger.store.scans import ScanReader, ScanWriter
from logger.store.tables import Occupancy, Place, Placement, Setting, Vessel
from logger.store.timeline import EpochTable
from logger.store.tracks import tracks
from tests.api.reviews.shed import BEGAN, COURSE_S, GOOD, JARS, MARKS, a_trace, lines


def test_an_imported_run_is_reviewed_as_a_logged_one(past, shop, still_course, reviewed):
    past.furnish("pot", "head")
    pot, head = still_course(COURSE_S)
    body = {
        "vessel_id": str(past.still.about), "purpose": "spirit", "batch": "old rye",
        "charge_volume_l": 84.0, "charge_abv": 28.0,
        "trace": a_trace(COURSE_S, pot, head, more=",pressure_hpa", cell=",1009.5"),
        "jars": JARS, "marks": MARKS,
    }  # fmt: skip
    before = shop[1].get("/api/history", params=_span()).json()["traces"]
    answer = shop[1].post("/api/reviews/imports", json=body)
    assert answer.status_code == 201, answer.text
    made = answer.json()
    assert (made["lines"], made["period_s"], made["jars"], made["marks"]) == (2880, 10, 4, 6)
    review = reviewed(f"runs/{made['run_id']}")
    whole = blend((0.5, 2.0, 9.0, 4.0), (81.0, 78.0, 70.0, 35.0))
    assert review["totals"]["pure_alcohol_l"] == pytest.approx(whole.pure_alcohol_l, abs=1e-9)
    assert review["totals"]["share_of_charge"] == pytest.approx(whole.pure_alcohol_l / 23.52)
    assert [one["minutes"] for one in review["phases"]] == [50, 10, 50, 180, 60, 120]
    assert review["silences"] == []
    assert review["marks"][3]["smell"] == ["pear drops", "bread"]
    found = shop[1].get("/api/history", params=_span()).json()["traces"]
    assert before == []
    assert {one["quantity"] for one in found} == {"temperature_c", "pressure_hpa"}
    [line] = [one for one in found if one["place"] == "pot"]
    [segment] = line["segments"]
    assert segment["breaks"] == []
    assert max(filter(None, segment["hi"])) / segment["counts_per_unit"] == pytest.approx(
        pot.max(), abs=0.01
    )
    again = shop[1].post("/api/reviews/imports", json=body)
    assert again.status_code == 409
    assert "imported before: it is the spirit run of old rye" in again.json()["error"]["sentence"]


def _span():
    from_ms = int(BEGAN.timestamp() * 1000)
    return {"from_ms": from_ms, "to_ms": from_ms + 28_800_000, "buckets": 600}


def test_a_trace_beside_a_logger_that_was_scanning_touches_nothing_of_its_own(shed, tmp_path):
    """Every second another probe was logged, and sealed; the trace has a line a minute."""
    tun = Vessel.first(name="tun", kind="mash_tun", volume_l=50.0, **shed.base)
    spot = Place.first(name="mash", vessel=tun.about, **shed.base)
    placed = Placement.first(
        place=spot.about,
        probe_id="28-0000000000aa",
        **shed.base | {"effective_at": BEGAN - timedelta(days=1)},
    )
    facts.record(shed.engine, tun, spot, placed)
    series = SeriesKey("28-0000000000aa", "temperature_c", 16)
    first = int(BEGAN.timestamp())
    writer = ScanWriter(shed.engine)
    writer.append_many(
        Scan(first + s, 1, (Reading(series, Grade.OK, 1000 + s % 50),))
        for s in range(7200)
        if s not in {3005, 3006}
    )
    writer.seal_due(first + 8000)
    seconds = np.arange(0, 5400, 60)
    _not_yet(shed, writer, Scan(first + 3005, 1, (Reading(series, Grade.OK, 1000),)))
    writer.seal_due(first + 8000)
    before = ScanReader(shed.house.reader.engine)
    logged, latest = list(before.scans(first, first + 9000)), before.latest()
    shed.take(a_trace(seconds, 20 + seconds / 100, 20 + seconds / 200))
    reader = ScanReader(shed.house.reader.engine)
    assert list(reader.scans(first, first + 9000)) == logged
    assert reader.latest() == latest
    found = shed.read(BEGAN, BEGAN + timedelta(seconds=5400))
    pots = {one.slot - first: one.values["pot still.pot"] for one in found
            if one.values["pot still.pot"] is not None}  # fmt: skip
    assert list(pots) == seconds.tolist()
    assert pots[600] == pytest.approx(26.0)
    with_both = list(reader.scans(first, first + 9000, imported=True))
    assert [len(one.readings) for one in with_both[:61]] == [3, *[1] * 59, 3]
    # a late scan has its block sealed anew: the trace's lines keep unbroken, by its own cadence
    writer.append(Scan(first + 3006, 1, (Reading(series, Grade.OK, 1000),)))
    writer.seal_due(first + 8000)
    writer.close()
    _unbroken(shed, seconds)
    _carried(shed, tmp_path, list(reader.scans(first, first + 9000, imported=True)))


def _not_yet(shed, writer, late):
    """While a scan waits for its sealing, its slot's block takes nothing else."""
    writer.append(late)
    before = shed.counts()
    with pytest.raises(ConflictError, match="has not put away yet"):
        shed.take(a_trace(range(0, 5400, 60), [20.0] * 90, [20.0] * 90))
    assert shed.counts() == before


def _carried(shed, folder, scans):
    """A store carried elsewhere takes its imports along, and knows them as such."""
    carried_scans.write(shed.engine, folder / "scans.csv.gz")
    database.prepare(folder / "other")
    other = database.engine(folder / "other")
    carried_scans.read(other, folder / "scans.csv.gz")
    reader = ScanReader(other)
    assert list(reader.scans(0, 1 << 40, imported=True)) == scans
    assert {len(one.readings) for one in reader.scans(0, 1 << 40)} == {1}
    reader.close()
    other.dispose()


def _unbroken(shed, seconds):
    from logger.store.history import history  # noqa: PLC0415 - for this alone

    span = (int(BEGAN.timestamp()) * 1_000_000, (int(BEGAN.timestamp()) + 5400) * 1_000_000)
    wanted = [one for one in tracks(shed.engine, *span) if one.place_name == "pot"]
    for buckets in (9000, 500, 50):  # readings themselves, and their summaries
        [line] = history(
            ScanReader(shed.house.reader.engine), wanted, EpochTable.load(shed.engine), *span,
            buckets,
        )  # fmt: skip
        [segment] = line.segments
        assert segment.breaks == ()
        assert segment.filled.sum() >= min(seconds.size, 45)


def test_a_store_that_never_logged_takes_a_past_and_shows_it_to_no_watcher(shed):
    seconds = np.arange(0, 1800, 10)
    shed.take(a_trace(seconds, 20 + seconds / 50, 20 + seconds / 60))
    reader = ScanReader(shed.house.reader.engine)
    assert reader.latest() is None
    assert reader.after(-1, 10) == []
    assert len(shed.read(BEGAN, BEGAN + timedelta(hours=1))) == 180


def test_a_gap_in_a_trace_is_a_gap(shed, still_course):
    seconds = np.concatenate([np.arange(0, 3600, 10), np.arange(14_400, 18_000, 10)])
    pot, head = still_course(seconds)
    made = shed.take(a_trace(seconds, pot, head))
    from api.reviews.runs import review  # noqa: PLC0415 - the route, asked directly

    [silence] = review(shed.house, made.run_id).silences
    assert silence.minutes == pytest.approx(180, abs=1)


def test_a_run_taken_back_can_be_imported_anew_with_its_readings_stored_once(shed):
    seconds = np.arange(0, 1800, 10)
    trace = a_trace(seconds, 20 + seconds / 50, 20 + seconds / 60)
    made = shed.take(trace)
    with pytest.raises(ConflictError, match="was imported before: it is the spirit run of old"):
        shed.take(trace.replace("+00:00", "Z"))  # the same, written otherwise
    before = shed.counts()
    old = facts.get(shed.engine, Occupancy, made.run_id)
    facts.record(shed.engine, old.correction(who="Mara", withdrawn=True))
    assert shed.take(trace, purpose="strip").run_id != made.run_id
    after = shed.counts()
    assert [after[name] for name in ("chunks", "pages_10_s", "series", "blocks")] == [
        before[name] for name in ("chunks", "pages_10_s", "series", "blocks")
    ]
    assert len(shed.read(BEGAN, BEGAN + timedelta(hours=1))) == 180


def test_the_hour_that_comes_twice_needs_its_offset(shed):
    site = SiteValue(time_zone="Europe/Berlin").model_dump_json()
    zone = Setting.first(key=KEY, value=site, **shed.base)
    facts.record(shed.engine, zone)
    told = [f"2019-10-27T{at},{50 + n},40" for n, at in enumerate(
        ("01:40:00", "01:50:00", "02:00:00+02:00", "02:30:00+02:00", "02:10:00+01:00", "03:00:00")
    )]  # fmt: skip
    made = shed.take(lines(*told))
    assert made.to_at - made.from_at == timedelta(minutes=140) + timedelta(
        seconds=made.period_s
    )  # 80 minutes by the clock on the wall, and the hour that came again
    for wall, says in (("02:30:00", "came twice"), ("2019-03-31T02:30:00", "never came")):
        at = wall if "T" in wall else f"2019-10-27T{wall}"
        with pytest.raises(WormtubError, match=f"line 2: .* {says} that night"):
            shed.take(lines(f"{at},50,40", "2020-01-01T00:00:00,50,40"))


def test_jars_keep_clear_of_the_houses_own(shed):
    own = JarVessel.first(number=1, tare_kg=0.4, volume_l=0.5, **shed.base)
    facts.record(shed.engine, own)
    jars = "time,volume_l,from_time{}\n2019-03-04T08:01:00Z,1,2019-03-04T08:00:00Z{}\n"
    with pytest.raises(WormtubError, match="jars, line 2: 1 L do not fit in jar 1"):
        shed.take(lines(*GOOD), jars=jars.format(",number", ",1"))
    made = shed.take(lines(*GOOD), jars=jars.format("", ""))
    [jar] = facts.all_current(shed.engine, Jar)
    assert (jar.number, jar.run) == (2, made.run_id)


def test_a_place_that_had_a_probe_then_has_no_second_truth(shed):
    placed = Placement.first(
        place=shed.spots["pot"].about, probe_id="28-0000000000bb",
        **shed.base | {"effective_at": BEGAN - timedelta(days=1)},
    )  # fmt: skip
    facts.record(shed.engine, placed)
    before = shed.counts()
    with pytest.raises(WormtubError, match="line 1: pot had the probe 28-0000000000bb"):
        shed.take(lines(*GOOD))
    assert shed.counts() == before


def test_a_run_of_a_locked_period_goes_in_without_what_would_change_its_stock(shed):
    """What moved stock is named, and left out the run goes in; what came after the lock stays."""
    lock = StockLock.first(**shed.base | {"effective_at": BEGAN + timedelta(hours=2)})
    facts.record(shed.engine, lock)
    trace = a_trace(COURSE_S, 20 + COURSE_S / 500, 20 + COURSE_S / 600)
    charge, before = {"charge_volume_l": 84.0, "charge_abv": 28.0}, shed.counts()
    for more, what, field in (
        (charge, "the charge", "charge_volume_l"),
        ({"jars": JARS}, "the jars", "jars"),
        ({"jars": JARS} | charge, "the charge and the jars", "charge_volume_l"),
    ):
        with pytest.raises(ConflictError) as refused:
            shed.take(trace, marks=MARKS, **more)
        assert str(refused.value) == (
            f"The stock book is locked up to 2019-03-04T10:00+00:00, and {what} of this run would "
            f"change it. Import it without {what}: its temperatures and marks go in."
        )
        assert refused.value.field == field
    assert shed.counts() == before
    head, *_, last = JARS.splitlines()
    later = f"{head},from_time\n{last},2019-03-04T13:00:00+00:00\n"
    assert shed.take(trace, marks=MARKS, jars=later).jars == 1
