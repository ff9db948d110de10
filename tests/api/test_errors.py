"""Whatever goes wrong: one shape, one sentence, the field it lies in."""

import asyncio
from datetime import datetime
from typing import Annotated, Literal
from uuid import UUID

import httpx
import pytest
from fastapi import FastAPI
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from api import errors
from api.routing import Router
from calc.errors import OutOfRangeError, UnknownCalculationError, WormtubError
from logger.errors import ConflictError, NotFoundError, RangeError, SchemaError, StoreError

BASE = "http://127.0.0.1"
A_TIME = "give a time such as 2026-03-01T08:30:00+01:00."


class Body(BaseModel):
    model_config = ConfigDict(extra="forbid")

    name: Annotated[str, Field(min_length=1, max_length=5)]
    kind: Literal["still", "fermenter"] = "still"
    volume_l: Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)] | None = None
    at: AwareDatetime | None = None
    vessel: UUID | None = None
    count: int = 0
    heated: bool = False


def app_that(action):
    app, router = FastAPI(), Router()
    errors.install(app)

    @router.get("/do")
    def do():
        action()

    @router.post("/thing")
    def thing(body: Body) -> datetime | None:
        return body.at

    app.include_router(router)
    return app


def ask(app, method, path, **options):
    async def asked():
        transport = httpx.ASGITransport(app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url=BASE) as client:
            return await client.request(method, path, **options)

    return asyncio.run(asked())


def raising(error):
    def action():
        raise error

    return action


@pytest.mark.parametrize(
    ("error", "status", "kind", "field"),
    [
        (OutOfRangeError("Hot.", quantity="temperature_c"), 422, "out_of_range", "temperature_c"),
        (UnknownCalculationError("None."), 404, "unknown_calculation", None),
        (NotFoundError("None."), 404, "not_found", None),
        (ConflictError("Two."), 409, "conflict", None),
        (RangeError("Reversed."), 422, "range", None),
        (StoreError("Full."), 503, "store", None),
        (SchemaError("Newer."), 503, "schema", None),
        (errors.AccessError("No."), 403, "access", None),
        (errors.BusyError("Full."), 503, "busy", None),
    ],
)
def test_our_own_errors_keep_their_sentence(error, status, kind, field):
    answer = ask(app_that(raising(error)), "GET", "/do")
    assert answer.status_code == status
    assert answer.json() == {"error": {"kind": kind, "sentence": str(error), "field": field}}


def test_every_leaf_of_ours_has_a_status_below_600():
    leaves = WormtubError.__subclasses__()
    assert len(leaves) > 5
    for leaf in leaves:
        assert 400 <= errors.status_of(leaf.__new__(leaf)) < 600


def test_an_unexpected_error_is_logged_and_told_without_its_insides(caplog):
    answer = ask(app_that(raising(ZeroDivisionError("secret inside"))), "GET", "/do")
    assert answer.status_code == 500
    assert answer.json()["error"]["kind"] == "unexpected"
    assert "secret" not in answer.text
    assert "secret inside" in caplog.text


@pytest.mark.parametrize(
    ("method", "path", "status", "kind", "words"),
    [
        ("GET", "/nowhere", 404, "not_found", "There is nothing at /nowhere"),
        ("DELETE", "/do", 405, "method_not_allowed", "/do does not take DELETE"),
    ],
)
def test_the_frameworks_own_refusals_have_the_same_shape(method, path, status, kind, words):
    answer = ask(app_that(lambda: None), method, path)
    assert (answer.status_code, answer.json()["error"]["kind"]) == (status, kind)
    assert words in answer.json()["error"]["sentence"]


@pytest.mark.parametrize(
    ("body", "field", "sentence"),
    [
        ({}, "name", "name is missing; send it."),
        ({"name": ""}, "name", "name is empty; give a text."),
        ({"name": "a" * 6}, "name", "name is too long; give at most 5 characters."),
        ({"name": 3}, "name", "name is 3; give a text."),
        ({"name": "a", "x": 1}, "x", "x is not known here; leave it out."),
        ({"name": "a", "kind": "pot"}, "kind", "kind is \"pot\"; give 'still' or 'fermenter'."),
        ({"name": "a", "volume_l": 0}, "volume_l", "volume_l is 0; it must be more than 0."),
        ({"name": "a", "volume_l": 1001}, "volume_l", "volume_l is 1001; it must be at most 1000."),
        ({"name": "a", "volume_l": "x"}, "volume_l", 'volume_l is "x"; give a number.'),
        ({"name": "a", "volume_l": [1]}, "volume_l", "volume_l is a list; give a number."),
        ({"name": "a", "count": 1.5}, "count", "count is 1.5; give a whole number."),
        ({"name": "a", "heated": "so"}, "heated", 'heated is "so"; give true or false.'),
        ({"name": "a", "vessel": "7"}, "vessel", 'vessel is "7"; give an id as the lists show it.'),
        (
            {"name": "a", "at": "noon"},
            "at",
            f'at is "noon"; {A_TIME}',
        ),
        (
            {"name": "a", "at": "2026-03-01T08:30:00"},
            "at",
            f'at is "2026-03-01T08:30:00", which has no offset; {A_TIME}',
        ),
        ([], None, "The body must be a JSON object; send one."),
    ],
)
def test_a_body_that_does_not_fit_gets_one_sentence(body, field, sentence):
    answer = ask(app_that(lambda: None), "POST", "/thing", json=body)
    assert answer.status_code == 422
    assert answer.json() == {"error": {"kind": "invalid", "sentence": sentence, "field": field}}


def test_a_body_that_is_no_json_gets_one_sentence():
    answer = ask(
        app_that(lambda: None),
        "POST",
        "/thing",
        content=b"{",
        headers={"content-type": "application/json"},
    )
    assert answer.status_code == 422
    assert answer.json()["error"] == {
        "kind": "invalid",
        "sentence": "The body is not JSON; send a JSON object.",
        "field": None,
    }


def test_what_was_given_is_quoted_briefly():
    answer = ask(app_that(lambda: None), "POST", "/thing", json={"name": "a", "count": "9" * 5000})
    assert len(answer.json()["error"]["sentence"]) < 200
