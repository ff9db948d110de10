"""An older store with data in it is brought up, and keeps everything it held."""

import sqlite3
from datetime import UTC, datetime
from uuid import UUID

import pytest
from uuid_utils.compat import uuid7

from logger.errors import SchemaError
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database, facts, migrating
from logger.store.scans import ScanReader, ScanWriter
from logger.store.tables import Condenser, Occupancy

SITE, STILL, HEAD = (uuid7() for _ in range(3))
NOON_US = 1_772_452_800_000_000
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
KEY = SeriesKey("28-a", "temperature_c", 16)
SCANS = [Scan(slot, 1, (Reading(KEY, Grade.OK, slot % 100),)) for slot in range(1, 1300)]


def fact(about):
    return {
        "id": about.hex,
        "about": about.hex,
        "site": SITE.hex,
        "who": "Anna",
        "effective_at": NOON_US,
        "recorded_at": NOON_US,
        "supersedes": None,
        "version": 1,
        "withdrawn": 0,
    }


ROWS = {
    "vessels": {
        **fact(STILL), "name": "still", "kind": "still", "volume_l": None,
        "material": "riveted copper", "heat_loss_w_per_k": 4.5,
    },
    "places": {**fact(HEAD), "name": "head", "vessel": STILL.hex},
    "placements": {
        **fact(uuid7()), "place": HEAD.hex, "probe_id": "28-a", "quantity": "temperature_c",
        "ended_at": None,
    },
    "calibrations": {
        **fact(uuid7()), "probe_id": "28-a", "quantity": "temperature_c", "slope": 1.01,
        "offset": -0.2, "method": "ice",
    },
    "probe_cards": {**fact(uuid7()), "probe_id": "28-a", "name": "blue tape", "retired": 0},
    "settings": {**fact(uuid7()), "key": "site", "value": "{}"},
}  # fmt: skip
SEEN = ("probes_seen", "series", "clock_epochs", "blocks", "chunks", "recent_scans")


def run(folder, statement, values=()):
    connection = sqlite3.connect(folder / database.FILE_NAME)
    connection.row_factory = sqlite3.Row
    try:
        with connection:
            return [dict(row) for row in connection.execute(statement, values).fetchall()]
    finally:
        connection.close()


@pytest.fixture
def old(tmp_path):
    """Make a store as the first version left it: facts, scans, and some of them sealed."""
    (tmp_path / database.FILE_NAME).touch()
    maker = database._maker(tmp_path)
    with maker.begin() as connection:
        migrating.upgrade(connection, tmp_path / database.FILE_NAME, "0001")
        connection.exec_driver_sql(
            "INSERT INTO store_identity VALUES (1, ?, ?, ?, ?)",
            (SITE.hex, uuid7().hex, NOON_US, NOON_US),
        )
    for name, row in ROWS.items():
        columns, places = ", ".join(f'"{key}"' for key in row), ", ".join("?" * len(row))
        run(tmp_path, f"INSERT INTO {name} ({columns}) VALUES ({places})", tuple(row.values()))  # noqa: S608
    writer = ScanWriter(maker)
    writer.append_many(SCANS)
    assert writer.seal_due(1300) == 2
    writer.close()
    maker.dispose()
    return tmp_path


def test_it_is_refused_until_it_is_migrated(old):
    with pytest.raises(SchemaError, match=r"has schema 0001, .* run wormtub migrate"):
        database.prepare(old)


def test_every_row_and_every_scan_is_kept(old):
    before = {name: run(old, f"SELECT * FROM {name}") for name in (*ROWS, *SEEN)}  # noqa: S608
    database.migrate(old)
    database.prepare(old)
    for name, rows in before.items():
        after = run(old, f"SELECT * FROM {name}")  # noqa: S608
        assert [{key: row[key] for key in rows[0]} for row in after] == rows, name
    engine = database.engine(old, read_only=True)
    assert ScanReader(engine).after(-1, 2000) == SCANS
    engine.dispose()


def test_what_was_there_reads_as_facts_of_today_and_can_be_corrected(old):
    database.migrate(old)
    engine = database.engine(old)
    [still] = facts.vessels(engine)
    assert (still.about, still.volume_l, still.material) == (STILL, None, "riveted copper")
    assert (still.heat_source, still.power_kw) == ("none", None)
    [place] = facts.places(engine)
    assert (place.vessel, place.condenser, place.head_probe) == (STILL, None, None)
    [calibration] = facts.calibrations(engine)
    assert (calibration.slope, calibration.points, calibration.residual_c) == (1.01, "[]", None)
    facts.record(engine, still.correction(who="Bo", volume_l=60.0, heat_source="flame"))
    base = {"site": SITE, "who": "Bo", "effective_at": NOON, "vessel": STILL}
    facts.record(engine, Condenser.first(kind="worm_tub", name="worm", **base))
    facts.record(engine, Occupancy.first(batch="rye 1", stage="strip", **base))
    assert [one.volume_l for one in facts.vessels(engine)] == [60.0]
    assert isinstance(facts.occupancies(engine)[0].vessel, UUID)
    engine.dispose()


def test_it_can_be_brought_back_without_loss_of_what_it_had(old):
    before = {name: run(old, f"SELECT * FROM {name}") for name in ROWS}  # noqa: S608
    database.migrate(old)
    maker = database._maker(old)
    with maker.begin() as connection:
        migrating.command.downgrade(migrating.config(connection), "0001")
    maker.dispose()
    assert {name: run(old, f"SELECT * FROM {name}") for name in ROWS} == before  # noqa: S608
