"""`wormtub log` as a real process: what it cannot start with is one sentence, and harms nothing."""

import os
import signal
import sqlite3
import subprocess

import pytest

from logger.plant.distillery import hearts_run
from logger.plant.driver import PlantDriver
from logger.store import database
from logger.store.scans import ScanReader

pytestmark = pytest.mark.system

# root reads and writes whatever it likes, until it gives these rights away
WITHOUT_PRIVILEGE = (
    ("setpriv", "--bounding-set", "-dac_override,-dac_read_search") if os.geteuid() == 0 else ()
)


def in_a_full_disk(size):
    """Mount a disk of this size over $0, for one process only."""
    script = f'mount -t tmpfs -o size={size} none "$0" && exec "$@"'
    return ("unshare", "--user", "--map-root-user", "--mount", "sh", "-c", script)


def may_mount(folder):
    return subprocess.run([*in_a_full_disk("64k"), folder, "true"], check=False).returncode == 0


def slots_in(data):
    engine = database.engine(data, read_only=True)
    found = [scan.slot for scan in ScanReader(engine).scans(0, 1 << 40)]
    engine.dispose()
    return found


@pytest.fixture
def data(tmp_path):
    return tmp_path / "data"


@pytest.fixture
def refused(start, data):
    """Run `wormtub log` to its end and give the one sentence it ends with."""

    def ask(*words, **more):
        process = start("log", "--data", data, *words, **more)
        assert process.ends() == 2, process.text
        assert "Traceback" not in process.text
        return process.text.splitlines()[-1]

    return ask


def kept(start, data, demo_bus, scans=2):
    """Log a few scans, and stop."""
    logger = start("log", "--data", data, "--bus", demo_bus.folder)
    logger.says("Logging to")
    logger.until(lambda: len(slots_in(data)) >= scans)
    assert logger.stop() == 0
    return slots_in(data)


def test_an_unknown_bus_folder(refused, tmp_path):
    said = refused("--bus", tmp_path / "none")
    assert str(tmp_path / "none") in said
    assert "No such file" in said
    assert "--bus" in said


def test_unreadable_probe_files(refused, tmp_path):
    PlantDriver(tmp_path / "w1", hearts_run())
    for file in tmp_path.glob("w1/*/*/w1_slave"):
        file.chmod(0)
    said = refused("--bus", tmp_path / "w1", under=WITHOUT_PRIVILEGE)
    assert "may not read" in said
    assert str(tmp_path / "w1") in said


def test_an_unreadable_bus_folder(refused, tmp_path):
    (tmp_path / "w1").mkdir(mode=0)
    said = refused("--bus", tmp_path / "w1", under=WITHOUT_PRIVILEGE)
    assert "may not read" in said
    assert str(tmp_path / "w1") in said


def test_an_unknown_iio_channel(refused, demo_bus):
    said = refused("--bus", demo_bus.folder, "--iio", f"bmp999/pressure@{demo_bus.folder}")
    assert "bmp999" in said


def test_a_bad_setting_in_the_file(refused, data, demo_bus):
    data.mkdir()
    (data / "wormtub.toml").write_text("period_hot_s = 0\n")
    said = refused("--bus", demo_bus.folder)
    assert said == (
        f"period_hot_s = 0 in {data}/wormtub.toml cannot be used: "
        "expected a whole number of seconds from 1 to 600."
    )


def test_a_read_only_data_folder(refused, start, data, demo_bus):
    before = kept(start, data, demo_bus)
    data.chmod(0o555)
    for file in data.iterdir():
        file.chmod(0o444)
    said = refused("--bus", demo_bus.folder, under=WITHOUT_PRIVILEGE)
    data.chmod(0o755)
    assert "cannot be written" in said
    assert str(data) in said
    for file in data.iterdir():
        file.chmod(0o644)
    assert slots_in(data) == before


def test_a_data_folder_that_cannot_be_made(refused, data, demo_bus):
    data.write_text("a file, not a folder")
    said = refused("--bus", demo_bus.folder)
    assert str(data) in said
    assert "cannot be written" in said


def test_a_full_data_folder(refused, data, demo_bus):
    data.mkdir()
    if not may_mount(data):
        pytest.skip("this machine lets an ordinary process mount nothing")
    said = refused("--bus", demo_bus.folder, under=(*in_a_full_disk("64k"), data))
    assert "The disk of" in said
    assert "is full" in said
    assert str(data) in said


def test_a_newer_schema(refused, start, data, demo_bus):
    before = kept(start, data, demo_bus)
    with sqlite3.connect(data / "wormtub.db") as store:
        store.execute("UPDATE alembic_version SET version_num = '9999'")
    store.close()
    said = refused("--bus", demo_bus.folder)
    assert "9999" in said
    assert "newer than this program's" in said
    assert slots_in(data) == before


def test_migrating_a_newer_schema(start, data, demo_bus):
    before = kept(start, data, demo_bus)
    with sqlite3.connect(data / "wormtub.db") as store:
        store.execute("UPDATE alembic_version SET version_num = '9999'")
    store.close()
    migrating = start("migrate", "--data", data)
    assert migrating.ends() == 2
    assert "newer than this program's" in migrating.text
    assert slots_in(data) == before


def test_migrating_what_needs_no_migration(start, data, demo_bus):
    before = kept(start, data, demo_bus)
    migrating = start("migrate", "--data", data)
    assert migrating.ends() == 0
    assert str(data) in migrating.text
    assert slots_in(data) == before


def test_migrating_where_there_is_no_store(start, data):
    migrating = start("migrate", "--data", data)
    assert migrating.ends() == 2
    assert migrating.text == f"There is no store in {data}; choose its folder with --data.\n"
    assert not data.exists()


def test_two_loggers_on_one_data_folder(refused, start, data, demo_bus):
    first = start("log", "--data", data, "--bus", demo_bus.folder)
    first.says("Logging to")
    said = refused("--bus", demo_bus.folder)
    assert f"Another logger (process {first.process.pid})" in said
    assert str(data) in said
    migrating = start("migrate", "--data", data)
    assert migrating.ends() == 2
    assert "Another logger" in migrating.text
    before = len(slots_in(data))
    first.until(lambda: len(slots_in(data)) > before, says="the first logger going on")
    assert first.stop() == 0


def test_the_manager_hears_of_readiness_stored_scans_and_the_end(
    start, data, demo_bus, acknowledged
):
    env = {"NOTIFY_SOCKET": str(acknowledged.path)}
    logger = start("log", "--data", data, "--bus", demo_bus.folder, env=env)
    logger.until(lambda: len(acknowledged.slots) >= 2)
    assert logger.stop() == 0
    acknowledged.close()
    assert acknowledged.messages[0] == "READY=1"
    assert "STOPPING=1" in acknowledged.messages
    assert slots_in(data) == acknowledged.slots
    assert all("WATCHDOG=1" in m for m in acknowledged.messages if "STATUS=Slot" in m)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_clean_stop_keeps_the_last_scan(start, data, demo_bus, number):
    logger = start("log", "--data", data, "--bus", demo_bus.folder)
    logger.says("Logging to")
    logger.until(lambda: len(slots_in(data)) >= 2)
    assert logger.stop(number) == 0
    found = slots_in(data)
    assert found == list(range(found[0], found[-1] + 1))  # hot: one a second, none missed


def test_a_bus_without_probes_is_said_and_logged_on(start, data, tmp_path):
    (tmp_path / "w1").mkdir()
    logger = start("log", "--data", data, "--bus", tmp_path / "w1")
    logger.says(f"No probe hangs on {tmp_path / 'w1'} yet")
    assert logger.stop() == 0
