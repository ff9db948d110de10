"""What the two processes load and build: nothing heavy that they do not need."""

import json
import time

import pytest

pytestmark = pytest.mark.system

HEAVY = ("scipy", "pandas", "plotly")
WEB = ("fastapi", "starlette", "uvicorn", "alembic")
# What only a rarer act needs: a code drawn, a sign-in, a heartbeat, a vessel that holds a stage.
LATER = (
    *("segno", "argon2", "urllib.request", "alembic", "apprise", "pydantic.v1"),
    *("numpy.ma", "numpy.random", "statistics"),
    *("api.estimates.still", "api.estimates.ferment", "api.estimates.mash", "api.reports.maker"),
)
# Runs a word for real, in this process's place; at its end says which modules it has loaded.
PROGRAM = """
import atexit, json, sys
from pathlib import Path
out = sys.argv.pop(1)
def every(kind):
    return [kind, *(one for below in kind.__subclasses__() for one in every(below))]
def told():
    modules = sorted(name for name, module in sys.modules.items() if module is not None)
    pydantic = sys.modules.get("pydantic")
    models = [one for one in every(pydantic.BaseModel)[1:]] if pydantic else []
    built = [one.__name__ for one in models if one.__pydantic_complete__]
    return json.dumps({"modules": modules, "models": len(models), "built": built})
atexit.register(lambda: Path(out).write_text(told()))
from api.cli import main
main()
"""


@pytest.fixture
def loaded(start, tmp_path):
    """Run a word until it says that it runs, stop it; tell the modules and the models it has."""

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
    found = loaded(
        *("log", "--data", tmp_path / "data", "--bus", demo_bus.folder),
        until=lambda: len(acknowledged.slots) >= 2,
        env={"NOTIFY_SOCKET": str(acknowledged.path)},
    )
    modules = packages(found["modules"])
    assert {"logger", "sqlalchemy"} <= modules
    assert modules.isdisjoint(HEAVY)
    assert modules.isdisjoint(WEB)


def test_the_service_loads_and_builds_only_what_is_asked_for(loaded, free_port, tmp_path, answers):
    url = f"http://127.0.0.1:{free_port}"
    now_ms = time.time_ns() // 1_000_000
    history = f"api/history?from_ms={now_ms - 1000_000}&to_ms={now_ms - 1000}"
    asked = ("", "api/live", "api/health", "api/calculations", history, "api/reviews/runs")
    found = loaded(
        *("serve", "--data", tmp_path / "data", "--port", free_port),
        until=lambda: all(answers(f"{url}/{path}") for path in asked),
    )
    modules = packages(found["modules"])
    assert {"api", "fastapi"} <= modules
    assert modules.isdisjoint(HEAVY)
    assert set(found["modules"]).isdisjoint(LATER)
    assert len(found["built"]) < found["models"] / 4
