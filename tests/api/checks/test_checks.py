"""Each check says what is wrong and what to do; none of them stops the others."""

import os
import shutil
from datetime import timedelta
from types import SimpleNamespace

import pytest
from sqlmodel import Session
from uuid_utils.compat import uuid7

from api.checks import keeping, machine, reading
from api.checks.all import CHECKS, go_round, worst
from api.checks.check import Ground, State, age
from api.doors import certificate
from logger.clock import SystemClock
from logger.errors import StoreError
from logger.locks import hold
from logger.service_state import ServiceState
from logger.settings import Settings
from logger.store import backup, database
from logger.store.alarm_tables import Notice

SLOT = 1_790_000_000


@pytest.fixture
def ground(tmp_path):
    """A ground with data, bus and machine in folders of their own: `ground(period_s=1, ...)`."""
    data, bus, system = (tmp_path / name for name in ("data", "w1", "sys"))
    for folder in (data, bus, system):
        folder.mkdir()
    database.prepare(data)
    engines = []

    def made(*, standings=(), slot=None, age_s=None, period_s=None, **settings):
        engines.append(database.engine(data, read_only=True))
        return Ground(
            settings=Settings(data=data, bus=bus, **settings),
            engine=engines[-1],
            clock=SystemClock(),
            standings=standings,
            slot=slot,
            age_s=age_s,
            period_s=period_s,
            system=system,
        )

    yield made
    for engine in engines:
        engine.dispose()


def test_every_problem_comes_with_what_to_do(ground):
    found = go_round(ground())
    assert [one.name for one in found] == [
        "logger", "service", "bus", "probes", "clock", "disk", "store", "backups", "notices",
        "certificate", "machine", "supply", "versions",
    ]  # fmt: skip
    for one in found:
        assert one.says.endswith(".")
        assert (one.do is None) == (one.state is State.OK)
    assert worst(found) is State.BAD


def test_a_check_that_fails_says_why_and_the_others_go_on(ground, monkeypatch):
    def fail(_):
        raise StoreError("The store is locked.")

    fail.__name__ = "store"
    monkeypatch.setattr("api.checks.all.CHECKS", (fail, machine.versions))
    found = go_round(ground())
    assert [one.state for one in found] == [State.BAD, State.OK]
    assert "The store is locked." in found[0].says
    assert len(CHECKS) == 13


def test_a_bus_that_is_off_tells_how_to_switch_it_on(ground, tmp_path):
    (tmp_path / "w1").rmdir()
    found = reading.bus(ground())
    assert found.state is State.BAD
    assert "dtoverlay=w1-gpio" in found.do


def test_a_card_that_takes_nothing_more_is_bad(ground, monkeypatch):
    monkeypatch.setattr(os, "access", lambda *_: False)
    found = keeping.disk(ground())
    assert found.state is State.BAD
    assert "nothing more is kept" in found.says


def test_an_empty_bus_is_a_warning(ground):
    assert reading.bus(ground()).state is State.WARN


def test_a_service_that_does_not_run_or_lags_is_bad(ground, tmp_path):
    data = tmp_path / "data"
    assert "no alarm would come" in reading.service(ground()).says
    with hold(data, "service"):
        assert reading.service(ground(slot=SLOT)).state is State.OK
        ServiceState(1, SLOT - 31).write(data)
        assert "31 s behind" in reading.service(ground(slot=SLOT)).says
        ServiceState(1, SLOT).write(data)
        assert reading.service(ground(slot=SLOT)).state is State.OK


@pytest.mark.parametrize(
    ("age_s", "period_s", "state"), [(4, 1, State.OK), (40, 10, State.BAD), (31, 10, State.OK)]
)
def test_a_scan_is_old_by_its_own_cadence(ground, age_s, period_s, state):
    assert reading.logger(ground(age_s=age_s, period_s=period_s)).state is state


def test_backups_are_missed_old_and_fresh(ground, tmp_path):
    data, now = tmp_path / "data", ground().now
    assert "the first is due within an hour" in keeping.backups(ground()).says
    backup.make(data, data / "backups", label="scheduled", at=now + timedelta(days=9))
    assert "the clock was wrong" in keeping.backups(ground()).says
    backup.make(data, data / "backups", label="scheduled", at=now - timedelta(days=3))
    assert "3 days old" in keeping.backups(ground()).says
    assert keeping.backups(ground()).state is State.WARN
    assert keeping.backups(ground(backup_every_h=0)).state is State.OK
    backup.make(data, data / "backups", label="scheduled", at=now)
    assert keeping.backups(ground()).state is State.OK
    gone = keeping.backups(ground(backup_to=tmp_path / "stick"))
    assert gone.state is State.BAD
    assert "Mount the stick" in gone.do


def test_no_backups_at_all_is_a_warning(ground):
    assert keeping.backups(ground(backup_every_h=0)).state is State.WARN


def test_notices_that_wait_are_counted_with_the_reason(ground, tmp_path):
    engine, now = database.engine(tmp_path / "data"), ground().now
    common = {
        "target_id": uuid7(),
        "priority": "high",
        "text": "x",
        "problem": "It did not answer.",
    }
    with Session(engine) as session:
        session.add(Notice(created_at=now - timedelta(minutes=6), **common))
        session.add(Notice(created_at=now - timedelta(minutes=6), sent_at=now, **common))
        session.add(Notice(created_at=now, **common))
        session.commit()
    engine.dispose()
    found = keeping.notices(ground())
    assert found.state is State.BAD
    assert found.says.startswith("1 unsent")
    assert "It did not answer." in found.says


def test_the_certificate_is_watched_to_its_end(ground, tmp_path):
    data, now = tmp_path / "data", ground().now
    assert keeping.certificate(ground()).state is State.OK
    plain = keeping.certificate(ground(host="0.0.0.0"))
    assert plain.state is State.WARN
    assert "a passphrase can be read" in plain.says
    made = certificate.see_to(data, ["stillhouse"], now)
    settings = {"tls_cert": made.files.service, "tls_key": made.files.service_key}
    assert keeping.certificate(ground(**settings)).state is State.OK
    made.files.service.write_text("no certificate")
    assert keeping.certificate(ground(**settings)).state is State.BAD
    certificate.see_to(tmp_path / "old", ["stillhouse"], now - timedelta(days=390))
    shutil.copy(tmp_path / "old/tls/service.pem", made.files.service)
    assert keeping.certificate(ground(**settings)).state is State.WARN


@pytest.mark.parametrize(("free", "state"), [(10**7, "bad"), (10**8, "warn"), (10**10, "ok")])
def test_room_that_ends_is_told(ground, monkeypatch, free, state):
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=free))
    assert keeping.disk(ground()).state == state


@pytest.mark.parametrize(
    ("temp", "state"), [("51234", State.OK), ("72000", State.WARN), ("84000", State.BAD)]
)
def test_a_hot_machine_is_told(ground, tmp_path, temp, state):
    zone = tmp_path / "sys/class/thermal/thermal_zone0"
    zone.mkdir(parents=True)
    (zone / "temp").write_text(f"{temp}\n")
    assert machine.temperature(ground()).state is state


@pytest.mark.parametrize(("alarm", "state"), [("0", State.OK), ("1", State.BAD)])
def test_a_supply_that_sags_is_told(ground, tmp_path, alarm, state):
    monitor = tmp_path / "sys/class/hwmon/hwmon1"
    monitor.mkdir(parents=True)
    (monitor / "name").write_text("rpi_volt\n")
    (monitor / "in0_lcrit_alarm").write_text(f"{alarm}\n")
    assert machine.supply(ground()).state is state


@pytest.mark.parametrize(
    ("age_s", "says"), [(5, "5 s"), (300, "5 min"), (10_000, "3 h"), (900_000, "10 days")]
)
def test_ages_are_said_in_a_fitting_unit(age_s, says):
    assert age(age_s) == says
