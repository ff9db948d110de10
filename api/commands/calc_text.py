"""What `wormtub calc` prints: the list, one calculation explained, one answer."""

import json
import sys
from collections.abc import Iterable, Mapping
from itertools import groupby
from shlex import quote
from shutil import get_terminal_size
from textwrap import fill
from typing import Any

from calc.catalogue import CATALOGUE, calculate, find, read_text
from calc.catalogue.entry import Calculation, Field
from calc.catalogue.wording import Units, converted, label, sentence, unit_of, words
from calc.errors import QuantityError

Row = tuple[str, ...]


def listed(*, as_json: bool) -> str:
    """Return every calculation by subject, with the question it answers."""
    if as_json:
        from api.declarations import summary

        return _json([summary(entry).model_dump() for entry in CATALOGUE.values()])
    width = max(len(name) for name in CATALOGUE) if CATALOGUE else 0
    blocks = [
        "\n".join([subject, *(f"  {e.name:<{width}}  {e.question}" for e in entries)])
        for subject, entries in groupby(CATALOGUE.values(), key=lambda e: e.subject)
    ]
    return "\n\n".join([*blocks, "`wormtub calc NAME` explains one."])


def explained(name: str, units: Units, *, as_json: bool) -> str:
    """Return what a calculation takes and gives, with ranges, an example and its source."""
    entry = find(name)
    if as_json:
        from api.declarations import declaration

        return declaration(entry).model_dump_json(indent=2)
    blocks = [
        entry.question,
        "Takes\n" + _table(_takes_row(item, units) for item in entry.takes),
        *(_wrapped(f"{f.name}: {', '.join(f.choices)}", "  ") for f in entry.takes if f.choices),
        "Gives\n" + _table((f.name, label(f), _unit(f, units)) for f in entry.gives),
        "Example\n  wormtub calc " + " ".join([name, *_example(entry)]),
        *(f"{title}\n{_wrapped(text, '  ')}" for title, text in _reading(entry) if text),
    ]
    return "\n\n".join(blocks)


def answered(name: str, pairs: Iterable[str], units: Units, *, as_json: bool) -> str:
    """Work a calculation out and return the answer in words, or its values for machines."""
    entry = find(name)
    given = read_text(name, _texts(entry, pairs))
    values = calculate(name, **given)
    if as_json:
        return _json(values)
    shown = (f for f in entry.gives if f.name != entry.why)  # a reason is the sentence itself
    rows = ((label(f), words(f, values[f.name], units), f.name) for f in shown)
    blocks = [
        _wrapped(sentence(entry, given, values, units)),
        _table(rows),
        *(_wrapped(f"Caution: {text}") for text in entry.cautions),
        _wrapped(f"Source: {entry.source}"),
    ]
    return "\n\n".join(blocks)


def _texts(entry: Calculation, pairs: Iterable[str]) -> Mapping[str, str]:
    texts: dict[str, str] = {}
    for pair in pairs:
        key, equals, text = pair.partition("=")
        if not equals:
            raise QuantityError(
                f'"{pair}" is not KEY=VALUE; write for example {_example(entry)[0]}.',
                quantity=pair,
            )
        if key in texts:
            raise QuantityError(f"{key} is given twice; give it once.", quantity=key)
        texts[key] = text
    return texts


def _takes_row(item: Field, units: Units) -> Row:
    notes = [] if item.required else [f"default {words(item, item.default, units)}"]
    if item.default is None and not item.required:
        notes = ["may be left out"]
    if item.many:
        notes.append("one or more, by commas")
    return (item.name, label(item), _range(item, units), "; ".join(notes))


def _range(item: Field, units: Units) -> str:
    if item.quantity is None:
        return "a choice of those below" if item.choices else "text"
    ends = (item.quantity.low, item.quantity.high)
    low, high = (f"{converted(end, item.quantity, units):.7g}" for end in ends)
    return f"{low} to {high} {_unit(item, units)}".rstrip()


def _unit(item: Field, units: Units) -> str:
    return unit_of(item.quantity, units) if item.quantity else "text"


def _example(entry: Calculation) -> list[str]:
    return [quote(f"{key}={_argument(value)}") for key, value in entry.example.items()]


def _argument(value: Any) -> str:
    if isinstance(value, tuple | list):
        return ",".join(_argument(one) for one in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _reading(entry: Calculation) -> tuple[tuple[str, str], ...]:
    return (
        ("Model", entry.notes),
        ("Source", entry.source),
        ("Cautions", " ".join(entry.cautions)),
    )


def _table(rows: Iterable[Row]) -> str:
    lines = list(rows)
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    return "\n".join(
        "  " + "  ".join(f"{cell:<{w}}" for cell, w in zip(line, widths, strict=True)).rstrip()
        for line in lines
    )


def _wrapped(text: str, indent: str = "") -> str:
    if not sys.stdout.isatty():
        return indent + text
    width = min(get_terminal_size().columns, 100)
    return fill(text, width, initial_indent=indent, subsequent_indent=indent)


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, indent=2)
