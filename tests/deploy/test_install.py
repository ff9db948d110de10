"""The installer's own steps, each by itself; the whole way is tests/bench/install_root.sh."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PARTS = "".join(f". deploy/{name}.sh; " for name in ("setup", "place", "releases", "one_wire"))


def shell(words, **environment):
    """Run a step as install.sh would, as whoever runs the tests."""
    script = f'set -eu; {PARTS} as_wormtub() {{ "$@"; }}; {words}'
    done = subprocess.run(
        ["sh", "-c", script], cwd=ROOT, env={"PATH": "/usr/bin:/bin", **environment},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout + done.stderr


def program(folder, name, says):
    """Put a program where a release has it."""
    file = folder / ".venv" / "bin" / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(f"#!/bin/sh\n{says}\n")
    file.chmod(0o755)


@pytest.mark.parametrize(
    ("settings", "host", "address"),
    [
        ('host = "0.0.0.0"\nport = 9443\ntls_cert = "a"', "localhost", "https://localhost:9443"),
        ('host = "127.0.0.1"\nport = 8081', "localhost", "http://127.0.0.1:8081"),
        ('host = "192.168.7.1"', "", "http://192.168.7.1:8080"),
    ],
)
def test_the_service_is_asked_where_the_settings_put_it(tmp_path, settings, host, address):
    (tmp_path / "wormtub.toml").write_text(settings)
    program(tmp_path, "python", f'exec {sys.executable} "$@"')
    said = shell(f"CURRENT={tmp_path}; address {host}", WORMTUB_DATA=str(tmp_path))
    assert said.strip() == address


def test_the_way_back_leaves_the_schema_to_the_older_program(tmp_path):
    program(tmp_path, "wormtub", "echo $@")
    (tmp_path / "backup-before").write_text("/data/backups/before.db\n")
    said = shell(f"release={tmp_path}; bring_data_back")
    assert said == "restore /data/backups/before.db --yes --keep-schema\n"


@pytest.mark.parametrize("pin", ["", "x", "4x", "111"])
def test_what_is_no_pin_is_told(pin):
    assert "takes the number of a GPIO pin" in shell(f"(check_pin '{pin}') || true")


def test_the_bus_is_offered_and_never_switched_on_unasked(tmp_path):
    boot = tmp_path / "config.txt"
    boot.write_text("[cm5]\ndtoverlay=dwc2\n")
    for answer in ("no", "ask"):  # nobody sits there to be asked
        assert "is left off" in shell(f"BOOT={boot}; offer_one_wire {answer} </dev/null")
    assert boot.read_text() == "[cm5]\ndtoverlay=dwc2\n"
    assert "after a restart" in shell(f"BOOT={boot}; offer_one_wire 17")
    added = boot.read_text().partition("[all]\n")[2]  # whatever section the file ends in
    assert "\ndtoverlay=w1-gpio,gpiopin=17\n" in added
    assert shell(f"BOOT={boot}; offer_one_wire 17") == ""  # once
