"""The whole store goes out in open formats and comes in again, row for row; nothing half done."""

import gzip
import json
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest

from logger.errors import ConflictError, StoreError
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import carrying, database, facts
from logger.store.scans import ScanReader, ScanWriter
from logger.store.tables import Occupancy, Row, Vessel

NOON = datetime(2026, 6, 1, 12, 0, 0, 123456, tzinfo=UTC)
POT, HEAD = SeriesKey("28-a", "temperature_c", 16), SeriesKey("28-b", "temperature_c", 128)
GRADES = list(Grade)


def scans():
    for slot in range(1, 2000):
        grade = GRADES[slot % len(GRADES)]
        pot = Reading(POT, grade, None if grade else slot % 900 - 200)
        head = (Reading(HEAD, Grade.OK, -slot),) if slot % 3 else ()
        yield Scan(slot, 10 if slot % 7 else 1, (pot, *head))


@pytest.fixture
def data(tmp_path):
    folder = tmp_path / "data"
    folder.mkdir()
    database.prepare(folder)
    engine = database.engine(folder)
    common = {"site": database.identity(engine).site, "who": "Änne", "effective_at": NOON}
    still = Vessel.first(name='still ½ \n "x"', kind="still", volume_l=200.0, **common)
    held = Occupancy.first(vessel=still.about, batch="rye", stage="strip", **common)
    facts.record(engine, still, held)
    facts.record(engine, held.correction(who="Änne", ended_at=NOON + timedelta(hours=6)))
    writer = ScanWriter(engine)
    writer.append_many(scans())
    writer.seal_due(1800)
    writer.close()
    engine.dispose()
    return folder


@pytest.fixture
def carried(data, tmp_path):
    with closing(Opened(data)) as store:
        assert carrying.write_out(store.engine, tmp_path / "carried") == 1999
    return tmp_path / "carried"


class Opened:
    def __init__(self, data) -> None:
        self.engine = database.engine(data, read_only=True)

    def everything(self):
        reader = ScanReader(self.engine)
        found = [facts.with_withdrawn(self.engine, kind) for kind in (Vessel, Occupancy)]
        try:
            return [[one.model_dump() for one in some] for some in found], list(
                reader.scans(0, 9999)
            )
        finally:
            reader.close()

    def close(self):
        self.engine.dispose()


def lines_of(file):
    return gzip.decompress(file.read_bytes()).decode().splitlines()


def test_what_comes_in_is_what_went_out(data, carried, tmp_path):
    into = tmp_path / "into"
    assert carrying.read_in(carried, into) == 1999
    with closing(Opened(data)) as old, closing(Opened(into)) as new:
        assert new.everything() == old.everything()
        old_life, new_life = database.identity(old.engine), database.identity(new.engine)
    assert new_life.site == old_life.site
    assert new_life.epoch != old_life.epoch


def test_the_formats_are_open(carried):
    [still] = [json.loads(line) for line in (carried / "vessels.jsonl").read_text().splitlines()]
    assert still["who"] == "Änne"
    assert still["effective_at"] == "2026-06-01T12:00:00.123456+00:00"
    header, first, second = lines_of(carried / "scans.csv.gz")[:3]
    assert header == "slot,time,period_s,28-a/temperature_c/16,28-b/temperature_c/128"
    assert first == "1,1970-01-01T00:00:01+00:00,10,power_on,-1"
    assert second == "2,1970-01-01T00:00:02+00:00,10,low_supply,-2"


def test_a_store_that_is_there_is_not_mixed_into(data, carried):
    with pytest.raises(ConflictError, match="has a store already"):
        carrying.read_in(carried, data)


def test_a_folder_with_something_in_it_is_not_written_into(data, carried):
    with closing(Opened(data)) as store, pytest.raises(StoreError, match="is not empty"):
        carrying.write_out(store.engine, carried)


def with_line(carried, name, number, text):
    opener = gzip.open if name.endswith(".gz") else open
    with opener(carried / name, "rt", encoding="utf-8") as old:
        lines = old.read().splitlines()
    lines[number - 1] = text
    with opener(carried / name, "wt", encoding="utf-8") as new:
        new.write("\n".join(lines) + "\n")


@pytest.mark.parametrize(
    ("name", "line", "text", "says"),
    [
        ("vessels.jsonl", 1, "{", r"vessels.jsonl, line 1, is no row of vessels"),
        ("vessels.jsonl", 1, '{"colour": 1}', r"vessels.jsonl, line 1, is no row of vessels"),
        ("vessels.jsonl", 1, '{"version": "x"}', r"line 1, is no row of vessels: version is 'x'"),
        ("vessels.jsonl", 1, "{}", r"vessels.jsonl holds what cannot be stored in vessels: "),
        ("store_identity.jsonl", 1, "{}", r"store_identity.jsonl is missing or damaged"),
        ("occupancies.jsonl", 2, '{"vessel": "still"}', r"occupancies.jsonl, line 2, is no row"),
        ("scans.csv.gz", 1, "a,b,c", r"scans.csv.gz, line 1: the columns are slot, time"),
        ("scans.csv.gz", 5, "4,x,1,warm,1", r"scans.csv.gz, line 5, is no scan"),
        ("scans.csv.gz", 5, "4,x,1,1", r"scans.csv.gz, line 5, is no scan"),
        ("scans.csv.gz", 5, "4,x,1,99999,1", r"scans.csv.gz, line 5, is no scan"),
        ("scans.csv.gz", 5, "4,x,0,1,1", r"scans.csv.gz, line 5, is no scan"),
        ("carried.json", 1, "{}", r"its carried.json is missing or damaged"),
        ("carried.json", 1, '{"format": 1, "schema": "9999", "scans": 3}', r"a newer program"),
    ],
)  # fmt: skip
def test_a_bad_line_is_named_and_nothing_is_left(carried, tmp_path, name, line, text, says):
    with_line(carried, name, line, text)
    into = tmp_path / "into"
    with pytest.raises(StoreError, match=says):
        carrying.read_in(carried, into)
    assert {file.suffix for file in into.iterdir()} <= {".lock"}


def test_a_file_cut_short_is_found_out(carried, tmp_path):
    file = carried / "scans.csv.gz"
    whole = lines_of(file)
    with gzip.open(file, "wt") as out:
        out.write("\n".join(whole[:-100]) + "\n")
    with pytest.raises(StoreError, match="ends after 1899 of 1999 scans"):
        carrying.read_in(carried, tmp_path / "into")


def test_a_file_that_is_missing_or_cannot_be_is_named(data, carried, tmp_path):
    (carried / "store_identity.jsonl").unlink()
    with pytest.raises(StoreError, match=r"store_identity.jsonl is missing or damaged"):
        carrying.read_in(carried, tmp_path / "into")
    nowhere = tmp_path / "a file" / "carried"
    nowhere.parent.touch()
    with closing(Opened(data)) as store, pytest.raises(StoreError, match=r"cannot be written"):
        carrying.write_out(store.engine, nowhere)


def test_a_damaged_archive_is_said(carried, tmp_path):
    file = carried / "scans.csv.gz"
    file.write_bytes(file.read_bytes()[:-200])
    with pytest.raises(StoreError, match="cannot be read"):
        carrying.read_in(carried, tmp_path / "into")


def test_every_table_is_carried_but_those_that_open_doors_or_say_where_notices_go(carried):
    written = {file.stem for file in carried.glob("*.jsonl")}
    there = {
        one for one in Row.metadata.tables if not one.startswith(("chunks", "pages", "blocks"))
    }
    assert there - written == {
        "recent_scans", "series", "people", "door_sessions", "door_tokens", "door_links",
        "notice_targets", "notices",
    }  # fmt: skip
    assert {"vessels", "occupancies", "clock_epochs", "store_identity"} <= written
