"""How the house does: what is wrong is said, with what to do."""

import shutil
from types import SimpleNamespace

import pytest

from logger.locks import hold
from logger.reading import Grade

START = 1_790_000_000


def checks(client):
    health = client.get("/api/health").json()
    return {one["name"]: one for one in health["checks"]} | {"all": health}


def test_a_house_without_a_logger_says_what_to_do(client):
    found = checks(client)
    assert (found["logger"]["state"], found["all"]["state"]) == ("bad", "bad")
    assert "wormtub log" in found["logger"]["do"]


def test_a_house_that_runs_is_well(client, stillhouse, scan, live_until):
    with hold(stillhouse.data, "logger"):
        stillhouse.log(scan(START, pot=20))
        live_until(client, lambda live: live["slot"] == START)
        found = checks(client)
    assert [found[n]["state"] for n in ("logger", "probes", "clock", "store")] == ["ok"] * 4
    assert found["logger"]["do"] is None


def test_a_logger_that_hangs_is_told_from_one_that_is_gone(client, stillhouse, scan, live_until):
    with hold(stillhouse.data, "logger"):
        stillhouse.log(scan(START, pot=20))
        live_until(client, lambda live: live["slot"] == START)
        stillhouse.clock.pass_time(60 * 1_000_000)
        assert "60 s old; the logger hangs" in checks(client)["logger"]["says"]
    assert "is not running" in checks(client)["logger"]["says"]
    assert checks(client)["logger"]["state"] == "bad"


def test_a_probe_that_is_refused_is_named(client, placed, stillhouse, scan, live_until):
    stillhouse.log(scan(START + 1, pot=Grade.CRC, head=20, room=18))
    live_until(client, lambda live: live["slot"] == START + 1)
    found = checks(client)["probes"]
    assert found["state"] == "bad"
    assert "pot (crc)" in found["says"]
    assert "cable" in found["do"]


def test_a_clock_without_a_source_is_told(client, stillhouse):
    stillhouse.clock.is_synchronised = False
    assert checks(client)["clock"]["state"] == "warn"


@pytest.mark.parametrize(("free", "state"), [(10**7, "bad"), (10**8, "warn"), (10**10, "ok")])
def test_a_disk_nearly_full_is_told(client, monkeypatch, free, state):
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=free))
    assert checks(client)["disk"]["state"] == state


def test_versions_are_told(client):
    found = checks(client)["all"]
    assert found["program_version"]
    assert found["schema_version"]
    assert found["watchers"] == 0
