"""Rows sorted by a number or a name; those without it come last, whichever way. Pure."""

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

T = TypeVar("T")


def in_order_of(rows: Iterable[T], told: Callable[[T], Any], *, falling: bool) -> list[T]:
    """Sort rows; names as people do, capitals or not."""
    each = [(told(one), one) for one in rows]
    known = [(_plain(value), one) for value, one in each if value is not None]
    unknown = [one for value, one in each if value is None]
    ordered = sorted(known, key=lambda pair: pair[0], reverse=falling)
    return [*(one for _, one in ordered), *unknown]


def _plain(value: Any) -> Any:
    return value.casefold() if isinstance(value, str) else value


def has_words(parts: Iterable[str], text: str | None) -> bool:
    """Say whether every word of a text stands somewhere in some parts."""
    whole = "\n".join(parts).casefold()
    return all(word in whole for word in (text or "").casefold().split())
