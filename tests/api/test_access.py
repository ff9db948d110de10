"""The door: declared roles, our own addresses, our own pages, and the headers on every answer."""

import pytest
from fastapi.routing import iter_route_contexts
from starlette.datastructures import Headers

from api.access import Role, RoleCheck
from api.doors.addresses import is_loopback, is_own_name, known_hosts
from api.doors.door import SAFE_METHODS, same_origin
from api.doors.headers import HEADERS, OF_PARTS

# what leads to a sign-in, or out again; and what only works out what it was sent
OPEN = {"/{path:page}", "/api/alive", "/api/doors/me", "/api/doors/authority.crt",
        "/api/doors/sign-in", "/api/doors/enter"}  # fmt: skip
CHANGES_NOTHING = ("/calculations", "/backtest", "/api/doors/")


def routes_of(app):
    return list(iter_route_contexts(app.routes))


def roles_of(route):
    calls = [dependency.call for dependency in route.dependant.dependencies]
    return [call.role for call in calls if isinstance(call, RoleCheck)]


def test_every_route_declares_the_role_it_needs(client):
    routes = routes_of(client.app)
    assert len(routes) > 20
    assert [route.path for route in routes if not roles_of(route)] == []


def test_every_route_that_changes_something_needs_more_than_watching(client):
    for route in routes_of(client.app):
        if route.methods - SAFE_METHODS and not any(one in route.path for one in CHANGES_NOTHING):
            assert max(roles_of(route)) >= Role.OPERATE, route.path


def test_only_the_sign_in_and_a_sign_of_life_are_for_anyone(client):
    open_to_all = {r.path for r in routes_of(client.app) if max(roles_of(r)) == Role.ANYONE}
    assert open_to_all == OPEN


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/api/live", 200),
        ("GET", "/api/nowhere", 404),
        ("GET", "/nowhere", 404),
        ("DELETE", "/api/live", 405),
        ("POST", "/api/vessels", 422),
        ("GET", "/api/openapi.json", 200),
    ],
)
def test_every_answer_carries_the_headers(client, method, path, status):
    answer = client.request(method, path)
    assert answer.status_code == status
    assert {name: answer.headers.get(name) for name in HEADERS} == HEADERS


@pytest.mark.parametrize(
    ("path", "whole"),
    [("/", True), ("/mark.svg", True), ("/worker.js", True), ("/texts.js", False),
     ("/shared/base.css", False)],
)  # fmt: skip
def test_a_part_of_a_page_carries_what_binds_a_part(client, path, whole):
    answer = client.get(path)
    assert answer.status_code == 200
    expected = HEADERS if whole else OF_PARTS
    assert {name: answer.headers[name] for name in HEADERS if name in answer.headers} == expected


def test_what_the_api_says_is_never_kept_by_a_browser(client):
    for path in ("/api/live", "/api/nowhere", "/api/openapi.json"):
        assert client.get(path).headers["cache-control"] == "no-store"


def test_an_answer_to_a_failure_carries_the_headers_too(client, monkeypatch):
    monkeypatch.setattr("api.live.live_state", lambda *_, **__: 1 / 0)
    answer = client.get("/api/live")
    assert answer.status_code == 500
    assert answer.json()["error"]["kind"] == "unexpected"
    assert {name: answer.headers.get(name) for name in HEADERS} == HEADERS


def test_the_policy_allows_no_inline_script_and_no_eval():
    policy = HEADERS["content-security-policy"]
    assert "unsafe" not in policy
    assert "script-src 'self';" in policy
    assert "frame-ancestors 'none'" in policy


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:8080", "127.0.0.1.evil.example", "", "192.168.7.20", "[::1"],
)
def test_a_name_that_is_not_ours_is_refused_on_loopback(client, host):
    answer = client.get("/api/live", headers={"host": host})
    assert answer.status_code == 403
    assert "not an address of this service" in answer.json()["error"]["sentence"]
    assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("host", ["localhost", "localhost:8080", "127.0.0.1:8080", "[::1]:8080"])
def test_our_own_names_are_taken_on_loopback(client, host):
    assert client.get("/api/live", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    ("name", "ours"),
    [
        ("192.168.7.20", True),
        ("fe80::1", True),
        ("stillhouse.local", True),
        ("pi.lan", True),
        ("pi.home.arpa", True),
        ("local", False),
        ("evil.example", False),
        ("notlocal", False),
    ],
)
def test_where_told_to_listen_elsewhere_only_names_no_public_dns_answers_for(name, ours):
    assert is_own_name(name) is ours
    assert known_hosts("0.0.0.0")(name) is ours


@pytest.mark.parametrize(
    ("name", "loopback"),
    [("127.0.0.1", True), ("127.8.9.1", True), ("::1", True), ("localhost", True),
     ("a.localhost", True), ("10.0.0.1", False), ("localhost.example", False), ("", False)],
)  # fmt: skip
def test_loopback_is_told_from_everything_else(name, loopback):
    assert is_loopback(name) is loopback


@pytest.mark.parametrize(
    ("headers", "ours"),
    [
        ({}, True),  # a program
        ({"origin": "http://127.0.0.1:8080"}, True),
        ({"origin": "http://127.0.0.1:9999"}, False),
        ({"origin": "https://evil.example"}, False),
        ({"origin": "null"}, False),
        ({"origin": "http://[::1"}, False),
        ({"sec-fetch-site": "same-origin"}, True),
        ({"sec-fetch-site": "cross-site"}, False),
        ({"sec-fetch-site": "same-site"}, False),
    ],
)
def test_pages_of_other_sites_are_told_from_our_own(headers, ours):
    assert same_origin(Headers({"host": "127.0.0.1:8080"} | headers)) is ours


def test_a_change_sent_by_another_sites_page_is_refused_and_changes_nothing(client):
    answer = client.post(
        "/api/vessels",
        json={"name": "Still", "kind": "still"},
        headers={"origin": "https://evil.example"},
    )
    assert answer.status_code == 403
    assert client.get("/api/vessels").json() == []


def test_a_form_of_another_kind_than_json_is_refused(client):
    answer = client.post(
        "/api/vessels",
        content=b'{"name": "Still", "kind": "still"}',
        headers={"content-type": "text/plain"},
    )
    assert answer.status_code == 422


def test_a_body_too_large_is_refused_in_a_sentence(client):
    answer = client.post("/api/vessels", json={"name": "x" * 300_000, "kind": "still"})
    assert answer.status_code == 413
    assert answer.json()["error"]["kind"] == "too_large"
