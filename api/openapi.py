"""The API's own description, true by construction: it is read off the routes."""

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse

from api.access import Role, needs

router = APIRouter(tags=["about"], dependencies=[needs(Role.ANYONE)])


@router.get("/openapi.json", response_class=JSONResponse)
def description(request: Request) -> JSONResponse:
    """Everything the service answers to, as OpenAPI describes it."""
    return JSONResponse(request.app.openapi())
