"""A report as one page that needs nothing else: styles, plotly.js and data are inside it."""

from collections.abc import Iterable, Iterator
from datetime import datetime, tzinfo
from functools import cache
from pathlib import Path
from typing import Final

from api.house import House
from api.reports.batch_page import batch_sections
from api.reports.declared import versions
from api.reports.gathering import BatchTold, RunTold
from api.reports.parts import moment, paragraphs, section, text
from api.reports.run_page import run_sections, title_of, under_title
from api.reports.style import STYLE

PLOTLY_JS: Final = Path(__file__).parents[2] / "web" / "vendor" / "plotly-basic.min.js"
# The page's own rule: nothing is asked of any network, whoever opens it wherever.
ALONE: Final = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:"
)
SIMULATED: Final = "These readings are simulated: nothing in this report was distilled."
CAUTION: Final = (
    "Made from the record as it stood when the report was made; later corrections are not in it. "
    "Strengths are % vol at 20 °C. It is no document for the excise: follow your local codes."
)


def run_page(house: House, told: RunTold) -> str:
    """Write the report of a run."""
    return _page(
        title_of(told), under_title(told), run_sections(told), house.now, told.zone,
        simulated=told.simulated,
    )  # fmt: skip


def batch_page(house: House, told: BatchTold) -> str:
    """Write the report of a batch: its story, its balance, and each of its runs."""
    batch = told.story.batch
    of = "" if batch.kind_of_wash == "other" else f" of {batch.kind_of_wash}"
    under = f"A wash{of}, begun {moment(batch.began_at, told.zone, with_day=True)}"
    return _page(batch.name, under, _batch(told), house.now, told.zone, simulated=told.simulated)


def _batch(told: BatchTold) -> Iterator[str]:
    yield from batch_sections(told)
    for run in told.runs:
        yield f'<div class="apart"><h1>{text(title_of(run))}</h1>'
        yield f'<p class="under">{text(under_title(run))}</p>'
        yield from run_sections(run)
        yield "</div>"


def _page(
    title: str, under: str, parts: Iterable[str], at: datetime, local: tzinfo, *, simulated: bool
) -> str:
    warning = f'<p class="simulated">{SIMULATED}</p>' if simulated else ""
    return "".join((
        '<!doctype html><html lang="en-GB"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{ALONE}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{text(title)}</title>",
        f"<style>{STYLE}</style>",
        f"<script>{plotly_js()}</script></head><body><header><h1>{text(title)}</h1>",
        f'<p class="under">{text(under)}</p>{warning}</header><main>',
        *parts,
        _versions(),
        f"</main><footer><p>Report made {moment(at, local, with_day=True)}. {CAUTION}</p></footer>",
        "</body></html>",
    ))  # fmt: skip


@cache
def plotly_js() -> str:
    """Read the drawing library as the pages are served it, safe inside a script element."""
    return PLOTLY_JS.read_text("utf-8").replace("</script", "<\\/script")


def _versions() -> str:
    made = versions()
    says = (
        f"Program {made.program}, model of the estimates {made.estimates_model}, all calculations "
        f"together {made.whole}. Each calculation is told by the first twelve digits of the "
        "SHA-256 of its source: where two reports show the same digits, the same lines of program "
        "made the number."
    )
    each = "".join(
        f"<div><span>{text(name)}</span><span>{digest}</span></div>"
        for name, digest in made.calculations.items()
    )
    return section(
        "What worked these numbers out", paragraphs([says]), f'<div class="versions">{each}</div>',
        apart=True,
    )  # fmt: skip
