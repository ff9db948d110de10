"""What the two processes load: nothing heavy that they do not need."""

import json
import time

import pytest

pytestmark = pytest.mark.system

HEAVY = ("scipy", "pandas", "plotly")
WEB = ("fastapi", "starlette", "uvicorn", "alembic")
# Runs a word for real, in this process's place; at its end says which modules it has loaded.
PROGRAM = """
import atexit, json, sys
from pathlib import Path
out = sys.argv.pop(1)
atexit.register(lambda: Path(out).write_text(json.dumps(sorted(sys.modules))))
from api.cli import main
main()
"""


@pytest.fixture
def loaded(start, tmp_path):
    """Run a word until it says that it runs, stop it, and list the modules it has loaded."""

    def ask(*words, until, **more):
        out = tmp_path / f"{words[0]}.json"
        process = start(out, *words, program=("-c", PROGRAM), **more)
        process.until(until)
        assert process.stop() == 0, process.text
        return json.loads(out.read_text())

    return ask


def packages(modules):
    return {name.partition(".")[0] for name in modules}


def test_the_logger_loads_nothing_heavy_and_no_web(loaded, demo_bus, tmp_path, acknowledged):
    modules = packages(
        loaded(
            *("log", "--data", tmp_path / "data", "--bus", demo_bus.folder),
            until=lambda: len(acknowledged.slots) >= 2,
            env={"NOTIFY_SOCKET": str(acknowledged.path)},
        )
    )
    assert {"logger", "sqlalchemy"} <= modules
    assert modules.isdisjoint(HEAVY)
    assert modules.isdisjoint(WEB)


def test_the_service_loads_nothing_heavy(loaded, free_port, tmp_path, answers):
    url = f"http://127.0.0.1:{free_port}"
    now_ms = time.time_ns() // 1_000_000
    history = f"api/history?from_ms={now_ms - 1000_000}&to_ms={now_ms - 1000}"
    asked = ("", "api/live", "api/health", "api/calculations", "api/openapi.json", history)
    modules = packages(
        loaded(
            *("serve", "--data", tmp_path / "data", "--port", free_port),
            until=lambda: all(answers(f"{url}/{path}") for path in asked),
        )
    )
    assert {"api", "fastapi"} <= modules
    assert modules.isdisjoint(HEAVY)
