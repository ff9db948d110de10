"""One upload that makes a past run of a trace, with its jars and marks."""

import logging
import subprocess
import sys
from pathlib import Path
from threading import Lock
from typing import Any, Final

from fastapi import Request
from fastapi.exceptions import RequestValidationError
from pydantic import ValidationError
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from api.access import Asking, Role, needs
from api.errors import BusyError, ErrorBody, declared
from api.house import Housed
from api.imports.bodies import ImportedRun, NewImport
from api.imports.letters import REFUSED, Refused
from api.routing import Router

log = logging.getLogger(__name__)

MODULE: Final = "api.imports.taker"
ROOT: Final = Path(__file__).parents[2]  # where `api` lies
PATIENCE_S: Final = 120.0
BUSY: Final = "A run is being imported already, and one is at a time; send this one in a moment."
CANNOT: Final = "The process that imports cannot be started ({}); free some memory."
FAILED: Final = "The run could not be imported; what went wrong stands in the service's log."
SENT: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {"application/json": {"schema": NewImport.model_json_schema()}},
    }
}

router = Router(tags=["reviews"], dependencies=[needs(Role.OPERATE)])
importing = Lock()


@router.post(
    "/imports",
    status_code=201,
    response_model=ImportedRun,
    responses=declared(404, 409, 413, 422),
    openapi_extra=SENT,
)
async def import_run(request: Request, house: Housed, asking: Asking) -> Response:
    """Make a past run of a recorded trace, with jars and marks: all of it, or none and a sentence.

    The body is read here, and not before it is known who asks: it may be large.
    """
    body = await request.body()
    try:
        NewImport.model_validate_json(body)
    except ValidationError as error:
        found = [dict(one) | {"loc": ("body", *one["loc"])} for one in error.errors()]
        raise RequestValidationError(found) from None
    data = house.settings.data.resolve()
    answer = await run_in_threadpool(_have_imported, data, asking.name, body)
    await run_in_threadpool(house.refresh)
    return answer


def _have_imported(data: Path, who: str, body: bytes) -> Response:
    if not importing.acquire(blocking=False):
        raise BusyError(BUSY)
    try:
        done = subprocess.run(
            [sys.executable, "-m", MODULE, str(data), who],
            cwd=ROOT, input=body, capture_output=True, timeout=PATIENCE_S, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        log.exception("An import took too long.")
        raise BusyError(FAILED) from None
    except OSError as error:
        raise BusyError(CANNOT.format(error.strerror)) from None
    finally:
        importing.release()
    return _answer(done)


def _answer(done: "subprocess.CompletedProcess[bytes]") -> Response:
    if done.returncode == 0:
        return Response(done.stdout, 201, media_type="application/json")
    if done.returncode == REFUSED and done.stdout:
        refused = Refused.model_validate_json(done.stdout)
        said = ErrorBody(error=refused.error).model_dump_json()
        return Response(said, refused.status, media_type="application/json")
    log.error("An import failed: %s", done.stderr.decode(errors="replace"))
    raise BusyError(FAILED)
