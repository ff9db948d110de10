"""The layers, the types and the style are checked, not hoped for."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BIN = Path(sys.executable).parent


@pytest.mark.timeout(900)  # the types are worked out from nothing
@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "check", "--no-cache"],
        ["ruff", "format", "--check", "--no-cache"],
        ["mypy"],
        ["lint-imports", "--no-cache"],
    ],
    ids=["ruff check", "ruff format", "mypy", "lint-imports"],
)
def test_python_check_passes(command: list[str]) -> None:
    done = subprocess.run(
        [str(BIN / command[0]), *command[1:]], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_front_end_types_check() -> None:
    tsc = ROOT / "tests/web/node_modules/.bin/tsc"
    assert shutil.which("node"), "node is missing; run sh deploy/test.sh, which installs it"
    done = subprocess.run(
        [str(tsc), "--project", "tests/web/tsconfig.json"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_shell_scripts_are_plain_posix() -> None:
    scripts = [*(ROOT / "deploy").glob("*.sh"), *(ROOT / "tests").rglob("*.sh")]
    for script in scripts:
        if "node_modules" in script.parts:
            continue
        done = subprocess.run(
            ["sh", "-n", str(script)], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, f"{script.name}: {done.stderr}"
