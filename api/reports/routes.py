"""Reports to take away: of a run or a batch, as a page, as JSON, and its tables as CSV."""

from typing import Any, Final, Literal
from uuid import UUID

from fastapi import Request
from starlette.responses import StreamingResponse

from api.access import Role, needs
from api.errors import declared
from api.house import House, Housed
from api.record.entering import newest
from api.record.runs_read import run_read
from api.reports.office import Office
from api.reports.order import BatchTableName, Order, TableName, What
from api.routing import Router
from logger.store.record_tables import Batch

router = Router(tags=["reviews"], dependencies=[needs(Role.WATCH)])

Kind = Literal["text/html", "application/json", "text/csv"]
PAGE: Final = "One page that needs no network: plotly.js and the data are inside it."
DATA: Final = "All data, with the units in the names, and the version of every calculation."
TABLE: Final = "A header with the units in the names, then a line a row; nothing is an empty cell."


ALL_DATA: Final[dict[str, Any]] = {
    "type": "object",
    "required": ["made", "simulated"],
    "properties": {
        "made": {"type": "object", "description": "When, and the version of every calculation."},
        "simulated": {"type": "boolean"},
        "review": {"type": "object", "description": "A run's, as its own route answers it."},
        "tables": {"type": "object", "description": "By name: columns and rows."},
        "batch": {"type": "object", "description": "A batch's story, as its route answers it."},
        "runs": {"type": "array", "description": "A batch's runs: review and tables of each."},
    },
}


def _described(kind: Kind, says: str) -> dict[int | str, dict[str, Any]]:
    schema = ALL_DATA if kind == "application/json" else {"type": "string"}
    return {200: {"description": says, "content": {kind: {"schema": schema}}}, **declared(404, 422)}


HTML: Final = _described("text/html", PAGE)
JSON: Final = _described("application/json", DATA)
CSV: Final = _described("text/csv", TABLE)


@router.get("/runs/{run_id}/report.html", response_class=StreamingResponse, responses=HTML)
def run_report(request: Request, house: Housed, run_id: UUID) -> StreamingResponse:
    """Return the report of a run, to keep and to print."""
    run_read(house.reader.engine, run_id)
    return _answer(request, house, "run", run_id, "html", "text/html")


@router.get("/runs/{run_id}/data.json", response_class=StreamingResponse, responses=JSON)
def run_data(request: Request, house: Housed, run_id: UUID) -> StreamingResponse:
    """Return all data of a run."""
    run_read(house.reader.engine, run_id)
    return _answer(request, house, "run", run_id, "json", "application/json")


@router.get("/runs/{run_id}/{table}.csv", response_class=StreamingResponse, responses=CSV)
def run_table(request: Request, house: Housed, run_id: UUID, table: TableName) -> StreamingResponse:
    """Return one table of a run."""
    run_read(house.reader.engine, run_id)
    return _answer(request, house, "run", run_id, table, "text/csv")


@router.get("/batches/{batch_id}/report.html", response_class=StreamingResponse, responses=HTML)
def batch_report(request: Request, house: Housed, batch_id: UUID) -> StreamingResponse:
    """Return the report of a batch and its runs, to keep and to print."""
    newest(house, Batch, batch_id)
    return _answer(request, house, "batch", batch_id, "html", "text/html")


@router.get("/batches/{batch_id}/data.json", response_class=StreamingResponse, responses=JSON)
def batch_data(request: Request, house: Housed, batch_id: UUID) -> StreamingResponse:
    """Return all data of a batch and its runs."""
    newest(house, Batch, batch_id)
    return _answer(request, house, "batch", batch_id, "json", "application/json")


@router.get("/batches/{batch_id}/{table}.csv", response_class=StreamingResponse, responses=CSV)
def batch_table(
    request: Request, house: Housed, batch_id: UUID, table: BatchTableName
) -> StreamingResponse:
    """Return one table of a batch."""
    newest(house, Batch, batch_id)
    return _answer(request, house, "batch", batch_id, table, "text/csv")


def _answer(
    request: Request,
    house: House,
    of: Literal["run", "batch"],
    about: UUID,
    what: What,
    kind: Kind,
) -> StreamingResponse:
    order = Order(house.settings.data.resolve(), of, about, what, house.now)
    ending = "report.html" if what == "html" else "json" if what == "json" else f"{what}.csv"
    name = f"wormtub-{of}-{str(about)[-12:]}-{ending}"
    return StreamingResponse(
        office_of(request).make(order),
        media_type=kind if kind == "application/json" else f"{kind}; charset=utf-8",
        # To be kept, and opened from where it is kept: the service's own pages allow no
        # script that stands inside a page.
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )


def office_of(request: Request) -> Office:
    """Return the service's only office."""
    state = request.app.state
    if not hasattr(state, "office"):
        state.office = Office()
    office: Office = state.office
    return office
