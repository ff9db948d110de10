"""The description: complete, and true of every answer (see `Described` in conftest.py)."""

import re

import pytest
from fastapi.routing import iter_route_contexts
from jsonschema_rs import meta

ERROR = {"$ref": "#/components/schemas/ErrorBody"}


@pytest.fixture
def document(client):
    return client.get("/api/openapi.json").json()


def operations(document):
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            yield f"{method.upper()} {path}", operation


def test_every_route_under_api_is_described(client, document):
    described = {
        (method.upper(), path) for path, ops in document["paths"].items() for method in ops
    }
    routes = {
        (method, route.path)
        for route in iter_route_contexts(client.app.routes)
        for method in route.methods
        if route.path.startswith("/api/")
    }
    assert described == routes


def test_every_error_is_described_in_the_one_shape(document):
    for name, operation in operations(document):
        errors = {s: a for s, a in operation["responses"].items() if int(s) >= 400}
        assert {"403", "500", "503"} <= errors.keys(), name
        for status, answer in errors.items():
            assert answer["content"]["application/json"]["schema"] == ERROR, (name, status)
        if operation.get("parameters") or "requestBody" in operation:
            assert "422" in errors, name
    assert "HTTPValidationError" not in document["components"]["schemas"]


def test_every_success_says_what_it_sends(document):
    for name, operation in operations(document):
        successes = {s: a for s, a in operation["responses"].items() if int(s) < 400}
        assert len(successes) == 1, name
        ((status, answer),) = successes.items()
        assert status == "204" or answer["content"], name
        schemas = [c["schema"] for c in answer.get("content", {}).values()]
        assert all(schemas) or name == "GET /api/openapi.json", name


def test_every_operation_has_a_name_and_a_sentence(document):
    names = [operation["operationId"] for _, operation in operations(document)]
    assert len(set(names)) == len(names)
    for name, operation in operations(document):
        assert re.fullmatch(r"[a-z]+_[a-z_]+", operation["operationId"])
        assert operation["description"].endswith("."), name


def test_every_schema_is_one_by_json_schemas_own_rules(document):
    for schema in document["components"]["schemas"].values():
        assert meta.is_valid(schema)
