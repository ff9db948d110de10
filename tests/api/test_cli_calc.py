"""The command line around the calculations: in process, and once as a real process."""

import json
import subprocess
import sys

from typer.testing import CliRunner

from api.cli import app
from calc.catalogue import CATALOGUE

runner = CliRunner()


def calc(*words: str):
    return runner.invoke(app, ["calc", *words])


def test_alone_lists_every_calculation_once_under_its_subject():
    lines = calc().stdout.splitlines()
    names = [line.split()[0] for line in lines if line.startswith("  ")]
    assert sorted(names) == sorted(CATALOGUE)


def test_unknown_name_is_one_sentence_on_stderr_and_exit_code_2():
    result = calc("platoo")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.count("\n") == 1
    assert "platoo" in result.stderr


def test_real_process_ends_with_exit_code_2_and_no_traceback():
    done = subprocess.run(
        [sys.executable, "-m", "api.cli", "calc", "no-such-thing", "x=1"],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert done.stderr.count("\n") == 1


def test_list_for_machines_is_json():
    names = [entry["name"] for entry in json.loads(calc("--json").stdout)]
    assert names == list(CATALOGUE)


def test_building_the_command_loads_neither_numpy_nor_the_service():
    heavy = ("numpy", "fastapi", "pydantic", "rich")
    code = f"import sys, api.cli; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == "[]"
