"""The tree holds what it says and nothing of the machine it was made on."""

import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TOP = {
    "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml",
    "logger", "api", "web", "calc", "deploy", "tests",
}  # fmt: skip


def tracked() -> list[str]:
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    return done.stdout.splitlines()


def test_the_top_level_is_the_house() -> None:
    top = {name.split("/")[0] for name in tracked()}
    assert {name for name in top if not name.startswith(".")} == TOP


def test_locks_carry_names_versions_and_hashes_only() -> None:
    for name in tracked():
        if not name.endswith((".lock", "package-lock.json")):
            continue
        text = (ROOT / name).read_text()
        assert not re.search(r"https?://", text.replace("https://opencollective.com", "")), name
        if name.endswith(".lock"):
            pins = re.findall(r"^[a-z0-9][^\s=]*==\S+", text, flags=re.MULTILINE)
            assert len(pins) > 20, name
            assert text.count("--hash=sha256:") >= len(pins), name


def test_every_dependency_is_locked() -> None:
    declared = set(
        re.findall(r'^ {4}"([a-z0-9-]+)>=', (ROOT / "pyproject.toml").read_text(), re.MULTILINE)
    )
    locked = set(
        re.findall(
            r"^([a-z0-9-]+)==", (ROOT / "deploy/requirements-test.lock").read_text(), re.MULTILINE
        )
    )
    assert declared <= locked
