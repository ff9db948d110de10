"""Labels to print and stick on: a jar's number and cut, and a code that opens its page.

Plain SVG, drawn with attributes alone: the page's policy allows no inline style.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby
from typing import Annotated, Any, Final
from urllib.parse import urlsplit
from uuid import UUID
from zoneinfo import ZoneInfo

from fastapi import Query, Request
from starlette.responses import Response

from api.access import Role, needs
from api.errors import declared
from api.house import House, Housed
from api.record.entering import newest
from api.record.runs_read import run_read
from api.routing import Router
from api.site import stored
from logger.errors import NotFoundError, RangeError
from logger.store.record_tables import Jar
from logger.store.tables import Occupancy

WIDTH_MM: Final = 70.0  # three to a row of A4, as sheets of labels are sold
HEIGHT_MM: Final = 37.0
IN_A_ROW: Final = 3
CODE_MM: Final = 29.0
QUIET: Final = 4  # modules of white around a code: ISO/IEC 18004
FONT: Final = "sans-serif"

router = Router(prefix="/labels", tags=["labels"], dependencies=[needs(Role.WATCH)])
SVG: Final[dict[int | str, dict[str, Any]]] = {
    200: {
        "description": "A picture to print.",
        "content": {"image/svg+xml": {"schema": {"type": "string"}}},
    },
}
At = Annotated[
    str | None,
    Query(
        max_length=200,
        description="The address people open, as https://still.lan; else the one asked by.",
    ),
]


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label: a large number, lines of text, and an address as a code."""

    number: str
    lines: Sequence[str]
    address: str
    simulated: bool = False


@router.get("/jars/{jar_id}", response_class=Response, responses=declared(404, 422) | SVG)
def of_jar(request: Request, house: Housed, jar_id: UUID, at: At = None) -> Response:
    """Return the label of a jar."""
    jar = newest(house, Jar, jar_id)
    run = run_read(house.reader.engine, jar.run).run
    return _svg([_label(house, run, jar, _base(request, at))], in_a_row=1)


@router.get("/runs/{run_id}", response_class=Response, responses=declared(404, 422) | SVG)
def of_run(request: Request, house: Housed, run_id: UUID, at: At = None) -> Response:
    """Return the labels of all jars of a run, on one sheet."""
    base = _base(request, at)
    read = run_read(house.reader.engine, run_id)
    if not read.jars:
        raise NotFoundError("This run has no jars yet; there is nothing to label.")
    return _svg([_label(house, read.run, one.jar, base) for one in read.jars], in_a_row=IN_A_ROW)


def _label(house: House, run: Occupancy, jar: Jar, base: str) -> Label:
    site, _ = stored(house.reader.engine)
    local = jar.effective_at.astimezone(ZoneInfo(site.time_zone))
    lines = [run.batch, f"{run.stage} run", f"{local:%Y-%m-%d %H:%M}", jar.cut or ""]
    return Label(f"{jar.number}", lines, f"{base}/jar.html?id={jar.about}", site.simulated)


def _base(request: Request, at: str | None) -> str:
    """Return the address the code leads to: one people can open from where they scan it."""
    if at is None:
        return str(request.base_url).rstrip("/")
    parts = urlsplit(at)
    if parts.scheme not in {"http", "https"} or not parts.netloc or parts.query or parts.fragment:
        raise RangeError(
            f"{at!r} is no address; give one such as https://still.lan:8080.", field="at"
        )
    return at.rstrip("/")


def _svg(labels: Sequence[Label], *, in_a_row: int) -> Response:
    rows = -(-len(labels) // in_a_row)
    width, height = WIDTH_MM * min(in_a_row, len(labels)), HEIGHT_MM * rows
    size = f'width="{width:g}mm" height="{height:g}mm" viewBox="0 0 {width:g} {height:g}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="{FONT}">',
        f'<rect width="{width:g}" height="{height:g}" fill="#fff"/>',
    ]
    for place, label in enumerate(labels):
        x, y = WIDTH_MM * (place % in_a_row), HEIGHT_MM * (place // in_a_row)
        parts.append(f'<g transform="translate({x:g} {y:g})">')
        parts.extend(_drawn(label))
        parts.append("</g>")
    parts.append("</svg>")
    return Response(
        "\n".join(parts),
        media_type="image/svg+xml",
        headers={"cache-control": "no-store"},
    )


def _drawn(label: Label) -> Iterator[str]:
    path, side = code_path(label.address)
    yield f'<path d="{path}" fill="#000" transform="translate(4 4) scale({side:.5f})"/>'
    left = CODE_MM + 8.0
    number = escape(label.number)
    if label.simulated:
        yield f'<text x="{left:g}" y="4.4" font-size="3">simulated</text>'
    yield f'<text x="{left:g}" y="14" font-size="12" font-weight="700">{number}</text>'
    for place, line in enumerate(one for one in label.lines if one):
        y = 19.5 + 4.6 * place
        yield f'<text x="{left:g}" y="{y:g}" font-size="3.6">{escape(line[:22])}</text>'


def code_path(address: str) -> tuple[str, float]:
    """Draw a code as one path, a row's dark stretches each in one; give a square's side in mm."""
    import segno  # noqa: PLC0415 - kept out of memory until a label is drawn

    code = segno.make(address, error="m", micro=False)
    rows = [list(row) for row in code.matrix_iter(border=QUIET)]
    stretches = [
        f"M{x} {y}h{length}v1h-{length}z" for y, row in enumerate(rows) for x, length in _dark(row)
    ]
    return "".join(stretches), CODE_MM / len(rows)


def _dark(row: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Find where dark stretches of a row begin and how long they are."""
    x = 0
    for is_dark, group in groupby(bool(one) for one in row):
        length = len(list(group))
        if is_dark:
            yield x, length
        x += length
