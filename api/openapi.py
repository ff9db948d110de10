"""The API's own description, true by construction: it is read off the routes."""

from http import HTTPStatus
from typing import Any, Final

from fastapi import Request
from fastapi.routing import APIRoute
from starlette.responses import JSONResponse

from api.access import Role, needs
from api.errors import DESCRIBED, ErrorBody
from api.routing import Router

Document = dict[str, Any]

REFUSED: Final = {"description": "What was sent does not fit.", **DESCRIBED}
TOO_SLOW: Final = {"description": "What was sent took too long to arrive.", **DESCRIBED}
TOO_LARGE: Final = {"description": "What was sent is too large.", **DESCRIBED}
FRAMEWORKS_OWN: Final = ("HTTPValidationError", "ValidationError")  # never sent: see api.errors

router = Router(tags=["about"], dependencies=[needs(Role.WATCH)])


# Given the class, the framework describes the shape of errors here, which all others name.
@router.get(
    "/openapi.json",
    response_class=JSONResponse,
    responses={500: {"model": ErrorBody, "description": HTTPStatus(500).phrase}},
)
def description(request: Request) -> JSONResponse:
    """Everything the service answers to, as OpenAPI describes it."""
    return JSONResponse(request.app.openapi())


def operation_id(route: APIRoute) -> str:
    """Name an operation for programs: what it is about, then what it does."""
    return "_".join(str(part) for part in (*route.tags[:1], route.name))


def corrected(document: Document) -> Document:
    """Put our one error shape where the framework describes its own, and every body's limit."""
    for path in document["paths"].values():
        for operation in path.values():
            answers = operation["responses"]
            if "422" in answers:
                answers["422"] = REFUSED
            if "requestBody" in operation:
                answers |= {"408": TOO_SLOW, "413": TOO_LARGE}
    for name in FRAMEWORKS_OWN:
        document["components"]["schemas"].pop(name, None)
    return document
