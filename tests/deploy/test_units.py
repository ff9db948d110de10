"""The services as they are installed: systemd finds nothing to say, and little is exposed."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

DEPLOY = Path(__file__).parents[2] / "deploy"
ALL = sorted(DEPLOY.glob("units/*"))
UNITS = [unit for unit in ALL if unit.suffix == ".service"]
LASTING = [unit for unit in UNITS if "Type=oneshot" not in unit.read_text()]
MOST_EXPOSURE = 2.0  # of 10, as systemd-analyze security counts


@pytest.fixture
def root(tmp_path):
    """A root with the units where install.sh puts them, and a program where they look for it."""
    units, program = (tmp_path / "etc/systemd/system", tmp_path / "opt/wormtub/current/.venv/bin")
    units.mkdir(parents=True)
    program.mkdir(parents=True)
    for unit in ALL:
        shutil.copy(unit, units)
    (program / "wormtub").write_text("#!/bin/sh\n")
    (program / "wormtub").chmod(0o755)
    return tmp_path


def verified(root):
    words = ["systemd-analyze", "verify", "--man=no", "--recursive-errors=no", f"--root={root}"]
    done = subprocess.run(
        [*words, *(unit.name for unit in ALL)], capture_output=True, text=True, check=False
    )
    return done.stdout + done.stderr


def test_systemd_has_nothing_to_say(root):
    assert [unit.name for unit in ALL] == [
        "wormtub-button.service",
        "wormtub-certificate.service",
        "wormtub-certificate.timer",
        "wormtub-log.service",
        "wormtub-serve.service",
    ]
    assert verified(root) == ""


@pytest.mark.parametrize(("wrong", "says"), [("Slumber=1", "Slumber"), ("Nice=9999", "Nice")])
def test_and_it_would_say_what_is_wrong(root, wrong, says):
    unit = root / "etc/systemd/system" / LASTING[0].name
    unit.write_text(unit.read_text().replace("[Install]", f"{wrong}\n[Install]"))
    assert says in verified(root)


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.stem)
def test_little_is_exposed(unit):
    words = ["systemd-analyze", "security", "--offline=yes", "--no-pager", str(unit)]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    [exposure] = re.findall(r"exposure level for \S+: ([0-9.]+)", done.stdout)
    assert float(exposure) <= MOST_EXPOSURE


@pytest.mark.parametrize("unit", LASTING, ids=lambda unit: unit.stem)
def test_what_the_units_promise(unit):
    said = unit.read_text()
    for line in ("Type=notify", "Restart=always", "User=wormtub", "StateDirectory=wormtub"):
        assert f"\n{line}\n" in said
    assert re.search(r"\nMemoryMax=\d+M\n", said)


def test_the_installer_places_what_the_units_name():
    placing = (DEPLOY / "place.sh").read_text()
    home = re.search(r"^HOME_DIR=(\S+)$", placing, re.MULTILINE)[1]
    data = re.search(r"^DATA=(\S+)$", placing, re.MULTILINE)[1]
    for unit in UNITS:
        assert f"ExecStart={home}/current/.venv/bin/wormtub " in unit.read_text()
        assert f"WORMTUB_DATA={data} " in unit.read_text()
    for unit in (*LASTING, *(one for one in ALL if one.suffix == ".timer")):
        assert unit.name in placing


def test_the_two_that_must_not_hang_are_watched():
    found = {unit.stem: re.findall(r"\nWatchdogSec=(\d+)\n", unit.read_text()) for unit in UNITS}
    watched = {name: int(seconds[0]) for name, seconds in found.items() if seconds}
    assert watched == {"wormtub-log": 60, "wormtub-serve": 120}
