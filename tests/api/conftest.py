"""A real store in a folder of its own, the service on it, and a client at the machine itself."""

import json
import re
import shutil
from contextlib import ExitStack
from copy import deepcopy
from dataclasses import dataclass, field
from pathlib import Path
from typing import ClassVar, Self

import httpx
import jsonschema_rs
import pytest
from anyio.from_thread import start_blocking_portal

from api.app import create_app
from logger.clock import MICRO, FakeClock
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.settings import Settings
from logger.store import database
from logger.store.scans import ScanWriter
from logger.store.types import to_datetime
from tests.doors_help import headers_of

HERE = "http://127.0.0.1:8080"
ELSEWHERE = "192.168.7.20"
START = 1_790_000_000  # 2026-09-21T14:13:20Z: the fake clock's first moment, a multiple of 10
POT, HEAD, ROOM = (f"28-00000a1b2c{n:02d}" for n in (1, 2, 3))
BAROMETER = "iio-bme280-pressure"


def series_of(probe_id):
    if probe_id == BAROMETER:
        return SeriesKey(probe_id, "pressure_hpa", 16)
    return SeriesKey(probe_id, "temperature_c", 16)


def reading(probe_id, value):
    series = series_of(probe_id)
    if isinstance(value, Grade):
        return Reading(series, value, None)
    return Reading(series, Grade.OK, round(value * series.counts_per_unit))


def scan_of(slot, period_s=1, **values):
    names = {"pot": POT, "head": HEAD, "room": ROOM, "barometer": BAROMETER}
    return Scan(slot, period_s, tuple(reading(names.get(n, n), v) for n, v in values.items()))


@pytest.fixture
def scan():
    """Make a scan: `scan(slot, period_s, pot=78.5, head=Grade.CRC)`."""
    return scan_of


@dataclass
class Stillhouse:
    """A data folder and the logger's side of it."""

    data: Path
    clock: FakeClock = field(default_factory=lambda: FakeClock(START * MICRO))
    writer: ScanWriter | None = None

    @property
    def settings(self):
        return Settings(data=self.data)

    def time(self):
        return to_datetime(self.clock.utc_us)

    def open(self):
        if self.writer is None:
            database.prepare(self.data)
            self.writer = ScanWriter(database.engine(self.data))

    def log(self, *scans):
        self.open()
        self.writer.append_many(scans)
        self.clock.utc_us = max(self.clock.utc_us, scans[-1].slot * MICRO)

    def close(self):
        if self.writer is not None:
            self.writer.close()
            self.writer._engine.dispose()


class Described:
    """The application's own description, held against every answer it gives."""

    _document = None  # every application has the same routes
    validators: ClassVar[dict] = {}  # and so the same schemas, which take long to compile

    def __init__(self, app) -> None:
        if Described._document is None:
            Described._document = app.openapi()
        self.document = Described._document
        self.paths = [
            (re.compile(re.sub(r"\{[^}]+\}", "[^/]+", path)), operations)
            for path, operations in self.document["paths"].items()
        ]

    def check(self, method, answer):
        path = answer.url.path
        found = next((ops for pattern, ops in self.paths if pattern.fullmatch(path)), {})
        operation = found.get(method.lower())
        if operation is None:
            assert answer.status_code in {401, 403, 404, 405, 429}, path
            self.validate({"$ref": "#/components/schemas/ErrorBody"}, answer)
            return
        described = operation["responses"]
        assert str(answer.status_code) in described, (method, path, answer.status_code)
        content = described[str(answer.status_code)].get("content", {})
        kind = answer.headers.get("content-type", "").partition(";")[0]
        assert kind in content if content else not answer.content, (method, path, kind)
        if content and kind == "application/json":
            self.validate(content[kind]["schema"], answer)

    def validate(self, schema, answer):
        key = json.dumps(schema)
        if key not in self.validators:
            whole = schema | {"components": self.document["components"]}
            self.validators[key] = jsonschema_rs.Draft202012Validator(whole)
        self.validators[key].validate(answer.json())


class Client:
    """Asks an application in this process, whose lifespan runs meanwhile.

    Every answer under /api is held against the application's own description.
    """

    def __init__(self, app, host, headers=(), described=None) -> None:
        self.app = app
        self.headers = dict(headers)
        self._transport = httpx.ASGITransport(
            app, raise_app_exceptions=False, client=(host, 50_000)
        )
        self._held = ExitStack()
        self._described = described or Described(app)

    def elsewhere(self, headers=()):
        """Return a client of the same service on another machine."""
        other = Client(self.app, ELSEWHERE, headers, self._described)
        other._portal = self._portal
        return other

    def __enter__(self) -> Self:
        self._portal = self._held.enter_context(start_blocking_portal("asyncio"))
        lifespan = self.app.router.lifespan_context(self.app)
        self._held.enter_context(self._portal.wrap_async_context_manager(lifespan))
        return self

    def __exit__(self, *problem) -> None:
        self._held.__exit__(*problem)

    def request(self, method, path, **options):
        answer = self._portal.call(self._ask, method, path, options)
        if answer.url.path.startswith("/api/") and method != "HEAD":
            self._described.check(method, answer)
        return answer

    async def _ask(self, method, path, options):
        async with httpx.AsyncClient(
            transport=self._transport, base_url=HERE, headers=self.headers
        ) as asking:
            return await asking.request(method, path, **options)

    def get(self, path, **options):
        return self.request("GET", path, **options)

    def post(self, path, **options):
        return self.request("POST", path, **options)

    def put(self, path, **options):
        return self.request("PUT", path, **options)

    def delete(self, path, **options):
        return self.request("DELETE", path, **options)


@pytest.fixture(scope="session")
def fresh_store(tmp_path_factory):
    """A store nobody has used: copied where one is wanted, for making one takes its time."""
    folder = tmp_path_factory.mktemp("fresh")
    database.prepare(folder)
    return folder / database.FILE_NAME  # whole: its log is gone with its only connection


@pytest.fixture(scope="session")
def placed_store(tmp_path_factory):
    """A store where a still's probes are in place, and what was entered: copied likewise."""
    stillhouse = Stillhouse(tmp_path_factory.mktemp("placed"))
    stillhouse.log(scan_of(START, pot=20, head=20, room=18))
    with Client(create_app(stillhouse.settings, stillhouse.clock), "127.0.0.1") as client:
        entered = place_probes(client)
    stillhouse.close()
    return stillhouse.data / database.FILE_NAME, entered


@pytest.fixture
def stillhouse(tmp_path, request):
    made = Stillhouse(tmp_path / "data")
    made.data.mkdir()
    if "placed" in request.fixturenames:
        store, _ = request.getfixturevalue("placed_store")
    else:
        store = request.getfixturevalue("fresh_store")
    assert not store.with_name(f"{store.name}-wal").exists()
    shutil.copy(store, made.data)
    yield made
    made.close()


@pytest.fixture
def serve(stillhouse):
    """Start the service on the folder: `client = serve()`; more than once to restart it."""
    open_clients = []

    def started():
        for client in open_clients:
            client.__exit__(None, None, None)
        open_clients.clear()
        app = create_app(stillhouse.settings, stillhouse.clock)
        client = Client(app, "127.0.0.1").__enter__()
        open_clients.append(client)
        return client

    yield started
    for client in open_clients:
        client.__exit__(None, None, None)


@pytest.fixture
def client(serve):
    return serve()


@pytest.fixture
def signed_in(client, stillhouse):
    """Come from elsewhere: `signed_in("watch")`, `signed_in("token operate:live")`, "anyone"."""

    def comes(who):
        return client.elsewhere(headers_of(stillhouse.data, who, stillhouse.time))

    return comes


@pytest.fixture(scope="module")
def shared_client(tmp_path_factory):
    """Serve one folder to all tests of a file, which tell their things apart by id."""
    stillhouse = Stillhouse(tmp_path_factory.mktemp("shared") / "data")
    with Client(create_app(stillhouse.settings, stillhouse.clock), "127.0.0.1") as client:
        yield client
    stillhouse.close()


@pytest.fixture
def live_until(until):
    """Wait for the live state to say something: `live_until(client, lambda live: ...)`."""

    def waited(client, condition):
        def asked():
            live = client.get("/api/live").json()
            return live if condition(live) else None

        return until(asked, says="the live state")

    return waited


@pytest.fixture
def placed(stillhouse, placed_store):
    """Copy a still with pot and head, their probes in place since the start."""
    _, entered = placed_store
    stillhouse.open()
    return deepcopy(entered)


def place_probes(client):
    vessel = {"name": "Still", "kind": "still", "volume_l": 60}
    still = entered_by(client, "vessels", vessel)
    made = {}
    for name, probe_id in (("pot", POT), ("head", HEAD)):
        place = entered_by(client, "places", {"name": name, "vessel_id": still["id"]})
        body = {
            "place_id": place["id"],
            "probe_id": probe_id,
            "effective_at": "2026-09-21T14:00:00+00:00",
        }
        made[name] = place | {"placement": entered_by(client, "placements", body)}
    return made


def entered_by(client, what, body):
    answer = client.post(f"/api/{what}", json=body)
    assert answer.status_code == 201, answer.text
    return answer.json()
