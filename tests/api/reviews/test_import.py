"""Past runs from files: read by everything that reads a logged one, or refused whole."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.access import Role, Visitor
from api.house import House
from api.imports.bodies import NewImport
from api.imports.storing import import_run
from api.site import KEY, SiteValue
from calc.blending import blend
from calc.errors import WormtubError
from logger.clock import FakeClock
from logger.errors import ConflictError
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.settings import Settings
from logger.store import carried_scans, database, facts
from logger.store.export import rows
from logger.store.record_tables import Jar, JarVessel
from logger.store.scans import ScanReader, ScanWriter
from logger.store.tables import Occupancy, Place, Placement, Setting, Vessel, table
from logger.store.timeline import EpochTable
from logger.store.tracks import tracks

COUNT, DELETE = 'SELECT count(*) FROM "{}"', "DELETE FROM {}"
NOW = 1_790_000_000  # 2026-09-21
BEGAN = datetime(2019, 3, 4, 8, 0, tzinfo=UTC)
MARA = Visitor("Mara", Role.OPERATE)
COURSE_S = np.arange(0, 28_800, 10)


class Shed:
    """A house with one still, in this process."""

    def __init__(self, data) -> None:
        database.prepare(data)
        self.house = House(Settings(data=data), FakeClock(NOW * 1_000_000))
        self.engine = self.house.engine
        self.base = {
            "site": self.house.identity.site,
            "who": "Mara",
            "effective_at": datetime.fromtimestamp(NOW - 86_400, UTC),
        }
        self.still = Vessel.first(name="pot still", kind="still", volume_l=120.0, **self.base)
        self.spots = {
            name: Place.first(name=name, vessel=self.still.about, **self.base)
            for name in ("pot", "head")
        }
        facts.record(self.engine, self.still, *self.spots.values())
        self.fresh = self.counts()

    def take(self, trace, **more):
        said = {"vessel_id": self.still.about, "purpose": "spirit", "batch": "old rye"} | more
        return import_run(self.house, MARA, NewImport(trace=trace, **said))

    def counts(self):
        """Count the rows of every table, and sum up the readings."""
        with self.engine.connect() as connection:
            names = [
                name
                for (name,) in connection.exec_driver_sql(
                    "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
                )
            ]
            return {
                name: connection.exec_driver_sql(COUNT.format(name)).scalar_one() for name in names
            }

    def read(self, from_at, to_at):
        """Read what an export would write."""
        span = (int(from_at.timestamp() * 1e6), int(to_at.timestamp() * 1e6))
        wanted = tracks(self.engine, *span)
        reader = ScanReader(self.house.reader.engine)
        return list(rows(reader, wanted, EpochTable.load(self.engine), *span))


@pytest.fixture
def shed(tmp_path):
    made = Shed(tmp_path / "data")
    yield made
    made.house.close()


@pytest.fixture(scope="module")
def common_shed(tmp_path_factory):
    made = Shed(tmp_path_factory.mktemp("shed") / "data")
    yield made
    made.house.close()


def lines(*told, head="time,pot,head"):
    return "\n".join([head, *told]) + "\n"


def a_trace(seconds, pot, head, began=BEGAN, more="", cell=""):
    return lines(
        *(
            f"{(began + timedelta(seconds=int(s))).isoformat()},{p:.4f},{h:.4f}{cell}"
            for s, p, h in zip(seconds, pot, head, strict=True)
        ),
        head=f"time,pot,head{more}",
    )


MARKS = """time,mark,power_kw,text,smell
2019-03-04T08:10:00+00:00,power,6,,
2019-03-04T09:00:00+00:00,first_drop,,,
2019-03-04T09:10:00+00:00,foreshots_end,,,nail varnish
2019-03-04T10:00:00+00:00,hearts,,"pears, at last",pear drops; bread
2019-03-04T13:00:00+00:00,tails,,,
2019-03-04T14:00:00+00:00,end,,,
"""
JARS = """time,volume_l,reading_abv,temperature_c,instrument,cut
2019-03-04T09:10:00+00:00,0.5,81,20,density_meter,foreshots
2019-03-04T10:00:00+00:00,2,78,20,density_meter,heads
2019-03-04T13:00:00+00:00,9,70,20,density_meter,hearts
2019-03-04T14:00:00+00:00,4,35,20,density_meter,tails
"""


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


GOOD = ("2019-03-04T08:00:00Z,20,20", "2019-03-04T08:01:00Z,21,20", "2019-03-04T08:02:00Z,22,20")


@pytest.mark.parametrize(
    ("trace", "says"),
    [
        ("", "line 1: there is no column time"),
        ("time,pot\n", "line 2: there is nothing under"),
        (lines(*GOOD, head="at,pot,head"), "line 1: there is no column time"),
        (lines(*GOOD, head="time,pot,pot"), "line 1: two columns"),
        (lines(*GOOD, head="time,pot,haed"), 'line 1: "haed" is no place'),
        (lines(*GOOD, head="time,pot,column"), "line 1: pot still has no place column"),
        (lines(*GOOD, head="time,tun.pot,tun.head"), "line 2: no column of pot still"),
        (lines(*GOOD, head="time,pot,pot still.pot"), "line 1: .* are one place"),
        (lines(GOOD[0], GOOD[0]), "line 3: the time is the same as in line 2"),
        (lines(GOOD[1], GOOD[0]), "line 3: the time is earlier than in line 2"),
        (lines(GOOD[0], "2019-03-04T08:00:00.4Z,1,1"), "line 3: two lines fall into one second"),
        (lines(GOOD[0], "yesterday,20,20"), 'line 3: "yesterday" is no time'),
        (lines(GOOD[0], "2019-03-04T08:01:00Z,warm,20"), 'line 3: pot is "warm"; give a number'),
        (lines(GOOD[0], "2019-03-04T08:01:00Z,nan,20"), "line 3: pot is nan; a number from -55"),
        (lines(GOOD[0], "2019-03-04T08:01:00Z,999,20"), "line 3: pot is 999; a number from -55"),
        (lines(GOOD[0], "2019-03-04T08:01:00Z,20"), "line 3 has 2 cells, the first line 3"),
        (lines(GOOD[0], '2019-03-04T08:01:00Z,"20,20'), "line 3.* is no line of CSV"),
        (lines(GOOD[0]), "line 2: a trace has two lines"),
        (lines(GOOD[0], "2019-04-04T08:01:00Z,20,20"), "line 3: the trace is longer than 7 days"),
        (lines(GOOD[0], "2039-04-04T08:01:00Z,20,20"), "line 3: the trace is longer"),
        (lines("2039-03-04T08:00:00Z,1,1", "2039-03-04T08:01:00Z,1,1"), "line 3: .* the future"),
        (lines("0001-01-01T00:00:00+14:00,1,1", GOOD[0]), "line 2: .* beyond the calendar"),
    ],
)
def test_a_malformed_trace_is_refused_with_its_line(common_shed, trace, says):
    before = common_shed.counts()
    with pytest.raises(WormtubError, match=says) as refused:
        common_shed.take(trace)
    assert str(refused.value).endswith(".")
    assert common_shed.counts() == before


@pytest.mark.parametrize(
    ("files", "says"),
    [
        ({"jars": "time,volume_l\n2019-03-04T08:01:00Z,1\n"}, "jars, line 2: when the first jar"),
        ({"jars": "time\n2019-03-04T08:01:00Z\n"}, "jars, line 1: there is no column volume_l"),
        ({"jars": "time,volume_l,from_time\n2019-03-04T08:01:00Z,-1,2019-03-04T08:00:00Z\n"},
         "jars, line 2: volume_l is -1"),
        ({"jars": "time,volume_l,from_time,reading_abv\n"
                  "2019-03-04T08:01:00Z,1,2019-03-04T08:00:00Z,70\n"}, "jars, line 2: .*temperat"),
        ({"jars": "time,volume_l,from_time\n2019-03-04T09:01:00Z,1,2019-03-04T08:00:00Z\n"},
         "jars, line 2: .* outside the trace"),
        ({"marks": "time,mark\n2019-03-04T08:01:00Z,heads\n"}, 'marks, line 2: mark is "heads"'),
        ({"marks": "time,mark\n2019-03-04T07:01:00Z,hearts\n"}, "marks, line 2: .* outside the tr"),
        ({"marks": "time,mark\n2019-03-04T08:01:00Z,power\n"}, "marks, line 2: a mark of power"),
        ({"marks": "time,mark,who\n2019-03-04T08:01:00Z,note,me\n"}, 'marks, line 1: "who" is no'),
        ({"charge_abv": 10.0}, "a strength and no volume"),
        ({"charge_volume_l": 500.0}, "120"),
    ],
)  # fmt: skip
def test_malformed_notes_are_refused_and_nothing_is_half_imported(common_shed, files, says):
    before = common_shed.counts()
    with pytest.raises(WormtubError, match=says):
        common_shed.take(lines(*GOOD), **files)
    assert common_shed.counts() == before


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


def _whole(seconds=range(0, 600, 60)):
    return a_trace(list(seconds), [20.0] * 10, [19.0] * 10)


@settings(
    max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_two_hundred_broken_files_leave_nothing_behind(common_shed, data):
    """Break one of three good files somewhere: cut, doubled, swapped, or with signs put in."""
    shed = common_shed
    marks = MARKS.replace("T09", "T08").replace("T10", "T08").replace("T13", "T08")
    files = {
        "trace": _whole(),
        "marks": marks.splitlines()[0] + "\n2019-03-04T08:02:00Z,first_drop,,,\n",
        "jars": JARS.splitlines()[0] + "\n2019-03-04T08:05:00Z,1,70,20,density_meter,hearts\n",
    }
    which = data.draw(st.sampled_from(sorted(files)))
    files[which] = _broken(files[which], data)
    before = shed.fresh
    try:
        made = shed.take(**files)
    except WormtubError as error:
        said = str(error)
        assert said.endswith(".")
        assert "\n" not in said
        assert ", line " in said
        assert shed.counts() == before
    else:  # what was broken can still be read: it is stored whole, and taken back again
        run = facts.get(shed.engine, Occupancy, made.run_id)
        assert len(shed.read(made.from_at, made.to_at)) == made.lines
        _forget(shed, run)


def _forget(shed, run):
    """Leave the store as it was, so that every example begins from the same."""
    with shed.engine.begin() as connection:
        for name in ("series", "chunks", "blocks", "pages_10_s", "pages_60_s", "pages_600_s",
                     "placements", "jars", "marks", "occupancies", "batches"):  # fmt: skip
            connection.exec_driver_sql(DELETE.format(name))
        assert run is not None
        connection.execute(table(Place).delete().where(table(Place).c.name == "room"))


def _broken(text, data):
    rows = text.splitlines()
    at = data.draw(st.integers(0, len(rows) - 1))
    cells = rows[at].split(",")
    how = data.draw(st.sampled_from(["cell", "drop", "double", "swap", "cut", "noise", "column"]))
    if how == "cell":
        cells[data.draw(st.integers(0, len(cells) - 1))] = data.draw(
            st.one_of(st.text(max_size=12), st.floats().map(str), st.just('"'))
        )
        rows[at] = ",".join(cells)
    elif how == "drop":
        rows[at] = ",".join(cells[:-1])
    elif how == "double":
        rows.insert(at, rows[at])
    elif how == "swap":
        other = data.draw(st.integers(0, len(rows) - 1))
        rows[at], rows[other] = rows[other], rows[at]
    elif how == "cut":
        return text[: data.draw(st.integers(0, len(text)))]
    elif how == "noise":
        place = data.draw(st.integers(0, len(text)))
        return text[:place] + data.draw(st.text(min_size=1, max_size=6)) + text[place:]
    else:
        rows = [f"{row},{data.draw(st.sampled_from(['x', '', '1']))}" for row in rows]
    return "\n".join(rows)
