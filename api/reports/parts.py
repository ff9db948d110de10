"""Pieces of a report's page: text that is made safe once, tables, figures, sections."""

from collections.abc import Iterable, Sequence
from datetime import datetime, tzinfo
from html import escape
from typing import Final

from api.reviews.bodies import KeyBody

NOTHING: Final = "–"
SHARES: Final = frozenset({"recovered", "hearts_share", "efficiency"})  # told in percent
Figure = tuple[str, str, float | None, int]  # label, unit, value, decimals


def text(said: object) -> str:
    """Make anything people wrote safe for the page."""
    return escape(str(said))


def number(value: float | None, decimals: int = 1) -> str:
    """Write a number; one that is not known is a dash."""
    if value is None:
        return NOTHING
    written = f"{value:,.{decimals}f}".replace(",", "\u2009")
    return written.replace("-", "−")


def moment(at: datetime | None, local: tzinfo, *, with_day: bool = False) -> str:
    """Write a time where the house stands."""
    if at is None:
        return NOTHING
    here = at.astimezone(local)
    return f"{here:%d %B %Y, %H:%M}" if with_day else f"{here:%d %b %H:%M}"


def section(title: str, *parts: str, apart: bool = False) -> str:
    """Make a section, left out where it has nothing in it; on a new sheet where it is apart."""
    inside = "".join(parts)
    if not inside:
        return ""
    begin = '<section class="apart">' if apart else "<section>"
    return f"{begin}<h2>{text(title)}</h2>{inside}</section>"


def paragraphs(sentences: Iterable[str], kind: str = "") -> str:
    """Make a paragraph of each sentence."""
    inside = "".join(f"<p>{text(one)}</p>" for one in sentences)
    return f'<div class="{kind}">{inside}</div>' if kind and inside else inside


def table(headings: Sequence[str], rows: Iterable[Sequence[str]], numbers: str = "") -> str:
    """Make a table; `numbers` has an n for each column of numbers, and any letter else.

    Cells are text that was made safe already.
    """
    kinds = [' class="number"' if one == "n" else "" for one in numbers.ljust(len(headings), "t")]
    body = "".join(
        "<tr>"
        + "".join(f"<td{kind}>{cell}</td>" for kind, cell in zip(kinds, row, strict=True))
        + "</tr>"
        for row in rows
    )
    if not body:
        return ""
    head = "".join(
        f'<th scope="col"{kind}>{text(one)}</th>' for kind, one in zip(kinds, headings, strict=True)
    )
    return (
        f'<div class="scroll"><table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'
        "</div>"
    )


def listed(sentences: Iterable[str]) -> str:
    """Make a numbered list."""
    inside = "".join(f"<li>{text(one)}</li>" for one in sentences)
    return f"<ol>{inside}</ol>" if inside else ""


def key_figure(key: KeyBody, value: float | None) -> Figure:
    """Give a key number as its page shows it: a share as a percentage."""
    if key.name in SHARES:
        return key.label, "%", None if value is None else 100.0 * value, 1
    return key.label, key.unit, value, key.decimals


def figures(shown: Iterable[Figure]) -> str:
    """Lay out key numbers; those that are not known are left out."""
    cells = "".join(
        f"<div><b>{number(value, decimals)}{f' <small>{text(unit)}</small>' if unit else ''}</b>"
        f"<span>{text(label)}</span></div>"
        for label, unit, value, decimals in shown
        if value is not None
    )
    return f'<div class="figures">{cells}</div>' if cells else ""
