"""One shape for everything that goes wrong: a kind for programs, a sentence for people."""

import logging
import re
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from itertools import dropwhile
from math import ceil
from typing import Annotated, Any, Final

import orjson
from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from api.wording import sentence_of
from calc.errors import OutOfRangeError, QuantityError, UnknownCalculationError, WormtubError
from logger.errors import ConflictError, NotFoundError, RangeError, SettingsError, StoreError

log = logging.getLogger(__name__)


class AccessError(WormtubError, PermissionError):
    """The visitor may not do this, or does not come by one of our own addresses."""


class SignInError(WormtubError, PermissionError):
    """Nobody is signed in here, or not by what was sent."""


class TooManyError(WormtubError, RuntimeError):
    """More was asked at once, or more was tried, than is taken from one address."""

    def __init__(self, sentence: str, wait_s: float) -> None:
        super().__init__(sentence)
        self.wait_s = wait_s


class StaleError(ConflictError):
    """A change was made from an older version than what stands."""

    def __init__(self, sentence: str, *, now: Mapping[str, Any]) -> None:
        super().__init__(sentence)
        self.now = now


class BusyError(WormtubError, RuntimeError):
    """The service serves as many watchers as it can."""


class Problem(BaseModel):
    """What went wrong: its kind, one sentence, and the field it lies in where there is one."""

    kind: str
    sentence: str
    field: str | None = None
    now: Annotated[
        dict[str, Any] | None,
        Field(description="What stands, where a change was made from an older version."),
    ] = None


class ErrorBody(BaseModel):
    """The body of every answer that is not a success."""

    error: Problem


# An answer's content, as OpenAPI describes it.
DESCRIBED: Final[dict[str, Any]] = {
    "content": {"application/json": {"schema": {"$ref": "#/components/schemas/ErrorBody"}}}
}

# The first class that fits decides; anything else of ours is unprocessable.
STATUS: tuple[tuple[type[WormtubError], int], ...] = (
    (SignInError, HTTPStatus.UNAUTHORIZED),
    (AccessError, HTTPStatus.FORBIDDEN),
    (TooManyError, HTTPStatus.TOO_MANY_REQUESTS),
    (NotFoundError, HTTPStatus.NOT_FOUND),
    (UnknownCalculationError, HTTPStatus.NOT_FOUND),
    (ConflictError, HTTPStatus.CONFLICT),
    (RangeError, HTTPStatus.UNPROCESSABLE_ENTITY),
    (OutOfRangeError, HTTPStatus.UNPROCESSABLE_ENTITY),
    (QuantityError, HTTPStatus.UNPROCESSABLE_ENTITY),
    (SettingsError, HTTPStatus.UNPROCESSABLE_ENTITY),
    (StoreError, HTTPStatus.SERVICE_UNAVAILABLE),
    (BusyError, HTTPStatus.SERVICE_UNAVAILABLE),
)
# What the framework itself refuses, by status: the kind and the sentence.
PLAIN: dict[int, tuple[str, str]] = {
    400: ("invalid", "The body is not JSON; send a JSON object."),  # bytes that are no text
    404: ("not_found", "There is nothing at {path}; /api/openapi.json lists what there is."),
    405: (
        "method_not_allowed",
        "{path} does not take {method}; /api/openapi.json lists what it takes.",
    ),
    408: ("too_slow", "What was sent took too long to arrive; send it again."),
    413: ("too_large", "What was sent is larger than is taken here; send less at once."),
}
OTHER = ("refused", "The request cannot be answered as it was sent: {detail}.")


def status_of(error: WormtubError) -> int:
    """Return the HTTP status an error of ours is answered with."""
    found = (status for kind, status in STATUS if isinstance(error, kind))
    return next(found, HTTPStatus.UNPROCESSABLE_ENTITY)


def kind_of(error: type[WormtubError]) -> str:
    """Return the kind programs read, from the class: OutOfRangeError is "out_of_range"."""
    words = re.findall(r"[A-Z][a-z]*", error.__name__.removesuffix("Error"))
    return "_".join(words).lower()


def problem_of(error: WormtubError) -> Problem:
    """Return what is said of an error of ours."""
    field = getattr(error, "field", None) or getattr(error, "quantity", None)
    now = dict(error.now) if isinstance(error, StaleError) else None
    return Problem(kind=kind_of(type(error)), sentence=str(error), field=field, now=now)


def refusal(error: WormtubError) -> Response:
    """Answer an error of ours."""
    return _answer(status_of(error), problem_of(error), headers_of(error))


def headers_of(error: WormtubError) -> dict[str, str]:
    """Return what RFC 9110 (11.6.1) and RFC 6585 want beside a refusal."""
    if isinstance(error, SignInError):
        return {"www-authenticate": 'Bearer realm="Wormtub"'}
    if isinstance(error, TooManyError):
        return {"retry-after": str(ceil(error.wait_s))}
    return {}


def declared(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Return the error answers of a route, for its description.

    They name their shape, which api.openapi describes once: given the class, the framework would
    build a serialiser of it for every answer of every route, which none of them uses.
    """
    return {
        int(status): {"description": HTTPStatus(status).phrase, **DESCRIBED} for status in statuses
    }


def install(app: FastAPI) -> None:
    """Answer every error of the app in the one shape."""
    app.add_exception_handler(WormtubError, _on_our_own)
    app.add_exception_handler(RequestValidationError, _on_invalid)
    app.add_exception_handler(HTTPException, _on_http)
    app.add_exception_handler(Exception, _on_unexpected)


def _on_our_own(request: Request, error: Exception) -> Response:
    assert isinstance(error, WormtubError)  # noqa: S101 - registered for this class
    if status_of(error) >= HTTPStatus.INTERNAL_SERVER_ERROR:
        log.error("%s %s: %s", request.method, request.url.path, error)
    return refusal(error)


def _on_invalid(_request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)  # noqa: S101 - registered for this class
    first: Mapping[str, Any] = error.errors()[0]
    field = field_of(first["loc"])
    problem = Problem(kind="invalid", sentence=sentence_of(first, field), field=field)
    return _answer(HTTPStatus.UNPROCESSABLE_ENTITY, problem)


def _on_http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101 - registered for this class
    kind, text = PLAIN.get(error.status_code, OTHER)
    path = request.url.path[:200]
    sentence = text.format(path=path, method=request.method, detail=error.detail)
    status = 422 if error.status_code == HTTPStatus.BAD_REQUEST else error.status_code
    return _answer(status, Problem(kind=kind, sentence=sentence), error.headers)


def _on_unexpected(request: Request, error: Exception) -> Response:
    log.error("%s %s failed: %r", request.method, request.url.path, error)  # the server traces it
    return _answer(
        HTTPStatus.INTERNAL_SERVER_ERROR,
        Problem(
            kind="unexpected",
            sentence="Something went wrong inside the service; try again, and look in its log "
            "for what happened if it does not pass.",
        ),
    )


def field_of(location: Sequence[object]) -> str | None:
    """Return the field's name from where the validation found it; None is the body itself."""
    inside = dropwhile(lambda part: isinstance(part, int), location[1:])  # a place in broken JSON
    return ".".join(map(str, inside)) or None


def _answer(status: int, problem: Problem, headers: Mapping[str, str] | None = None) -> Response:
    left_out = {"now"} if problem.now is None else None
    body = orjson.dumps({"error": problem.model_dump(exclude=left_out)})
    return Response(body, status_code=status, media_type="application/json", headers=headers)
