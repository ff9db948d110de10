"""Every route against every kind of visitor, read off the application: none can be forgotten."""

import asyncio
import json
import re
from uuid import uuid4

import pytest
from fastapi.routing import iter_route_contexts

from api.access import Role, RoleCheck, Scope
from api.assets import WEB
from api.doors import sessions, tokens
from api.doors.book import Doer
from api.doors.doors import PLAIN_COOKIE
from logger.store.door_tables import Person

VISITORS = {
    "anyone": None,
    "watch": Role.WATCH,
    "operate": Role.OPERATE,
    "own": Role.OWN,
    "token watch": (Scope(Role.WATCH),),
    "token operate": (Scope(Role.OPERATE),),
    "token own": (Scope(Role.OWN),),
    "token watch:live": (Scope(Role.WATCH, "live"),),
    "token operate:vessels": (Scope(Role.OPERATE, "vessels"), Scope(Role.WATCH, "site")),
}
TESTER = Doer("a test")


class Visit:
    """One kind of visitor before the service; comes in anew for each request."""

    def __init__(self, app, what, address) -> None:
        self.app, self.what, self.address = app, what, address
        self.doors = app.state.doors
        if isinstance(what, Role):
            self.person = Person(name=f"may {what.word}", role=what.word, passphrase="")
            with self.doors.book.changing() as session:
                session.add(self.person)
        elif what is not None:
            self.token = tokens.make(self.doors.book, TESTER, "a program", what)[1]

    def role_in(self, areas):
        if self.what is None or isinstance(self.what, Role):
            return self.what or Role.ANYONE
        held = [one.role for one in self.what if one.area is None or one.area in areas]
        return max(held, default=Role.ANYONE)

    def headers(self):
        if self.what is None:
            return []
        if isinstance(self.what, Role):
            number = sessions.begin(self.doors.book, TESTER, self.person, "a browser")
            cookie = f"{PLAIN_COOKIE}={self.doors.seal.sign('session', number)}"
            return [(b"cookie", cookie.encode())]
        return [(b"authorization", f"Bearer {self.token}".encode())]

    async def ask(self, method, path):
        """Return the status and, of a refusal, its kind; hears nothing of a stream beyond that."""
        answer, told = {}, asyncio.Event()

        async def send(message):
            answer.setdefault("status", message.get("status"))
            answer["body"] = answer.get("body", b"") + message.get("body", b"")
            if message["type"] == "http.response.body" or answer["status"] < 400:
                told.set()

        async def receive():
            if not told.is_set() and not answer.get("sent"):
                answer["sent"] = True
                return {"type": "http.request", "body": b"{}", "more_body": False}
            await told.wait()
            return {"type": "http.disconnect"}

        await asyncio.wait_for(self.app(self.scope(method, path), receive, send), 30)
        refused = answer["status"] in {401, 403}
        return answer["status"], json.loads(answer["body"])["error"]["kind"] if refused else None

    def scope(self, method, path):
        headers = [(b"host", b"127.0.0.1:8080"), (b"content-type", b"application/json")]
        return {
            "type": "http", "asgi": {"version": "3.0", "spec_version": "2.3"},
            "http_version": "1.1", "method": method, "scheme": "http", "path": path,
            "raw_path": path.encode(), "query_string": b"", "root_path": "",
            "headers": [*headers, *self.headers()], "server": ("127.0.0.1", 8080),
            "client": (self.address, 50_000),
        }  # fmt: skip


def routes_of(app):
    for route in iter_route_contexts(app.routes):
        checks = [one.call for one in route.dependant.dependencies]
        role = max(one.role for one in checks if isinstance(one, RoleCheck))
        for method in sorted(route.methods):
            yield method, route.path, role, route.tags


@pytest.fixture
def visits(client):
    return {
        name: Visit(client.app, what, f"192.168.7.{number}")
        for number, (name, what) in enumerate(VISITORS.items(), 20)
    }


def test_every_route_lets_in_who_may_and_nobody_else(client, visits):
    routes = [one for one in routes_of(client.app) if one[1] != "/{path:page}"]
    assert len(routes) > 50
    wrong = []
    for method, path, needed, tags in routes:
        asked = re.sub(r"\{[^}]+\}", str(uuid4()), path)
        for name, visit in visits.items():
            status, kind = client._portal.call(visit.ask, method, asked)
            allowed = visit.role_in(tags) >= needed
            expected = {"sign_in"} if visit.what is None else {"access"}
            in_order = status not in {401, 403, 429} if allowed else kind in expected
            # a sign-in that fails is answered as one, whoever tries it
            if not in_order and path not in {"/api/doors/sign-in", "/api/doors/enter"}:
                wrong.append((name, method, path, status, kind))
    assert wrong == []


def test_of_the_pages_anyone_is_shown_the_sign_in_and_what_it_is_made_of(client, signed_in):
    anyone, watcher = signed_in("anyone"), signed_in("watch")
    named = set(re.findall(r'(?:href|src)="([^"#?:]+)"', (WEB / "doors.html").read_text()))
    shown = {"doors.html", *named}
    files = [
        one for one in sorted(WEB.rglob("*")) if one.suffix in {".html", ".js", ".css", ".svg"}
    ]
    assert len(files) > 50
    for file in files:
        name = file.relative_to(WEB).as_posix()
        answer = anyone.get(f"/{name}")
        if name in shown:
            assert answer.status_code == 200, name
        elif file.suffix == ".html":
            assert answer.status_code == 303, name
            assert answer.headers["location"].endswith(f"doors.html?to={name}")
        else:
            assert answer.status_code == 401, name
    assert watcher.get("/").status_code == watcher.get("/bench.html").status_code == 200
    assert not [name for name in shown if "doors" not in name and "/" in name and
                not name.startswith(("shared/", "texts.js"))]  # fmt: skip


def test_a_page_leads_to_the_sign_in_which_knows_the_way_back(signed_in):
    ways = {
        "/": "./doors.html?to=",
        "/nowhere": "./doors.html?to=nowhere",
        "/bench.html?calc=x&y=1": "./doors.html?to=bench.html%3Fcalc%3Dx%26y%3D1",
        "/a/b": "../doors.html?to=a/b",
    }
    stranger = signed_in("anyone")
    for asked, leads_to in ways.items():
        answer = stranger.get(asked)
        assert answer.status_code == 303
        assert answer.headers["location"] == leads_to
