"""What a calculation takes and gives, as programs read it: for the route and the command alike."""

from typing import Any

from pydantic import BaseModel, ConfigDict

from calc.catalogue.entry import Calculation, Curve, Field
from calc.catalogue.wording import label
from calc.quantities import US_UNITS, Quantity


class Summary(BaseModel):
    """One calculation in the list."""

    name: str
    subject: str
    question: str
    summary: str


class Item(BaseModel):
    """One thing a calculation takes or gives: a number with its range, or a choice."""

    name: str
    label: str
    unit: str | None
    low: float | None
    high: float | None
    decimals: int | None
    choices: list[str]
    many: bool

    @classmethod
    def of(cls, item: Field) -> "Item":
        """Read it off the catalogue."""
        return cls.model_validate(_item(item))


class Taken(Item):
    """One thing a calculation takes; its example is what the form starts with."""

    required: bool
    default: Any = None
    example: Any = None


class Line(BaseModel):
    """What one column of a curve is."""

    name: str
    label: str
    unit: str
    decimals: int


class CurveDeclaration(BaseModel):
    """The curve that goes with a calculation: x, lines and band are names among its columns."""

    title: str
    x: str
    lines: list[str]
    band: tuple[str, str] | None
    columns: list[Line]


class UsUnit(BaseModel):
    """How to show a metric unit in US customary ones: value * factor + offset."""

    model_config = ConfigDict(frozen=True)

    unit: str
    factor: float
    offset: float


class Declaration(Summary):
    """Everything a form, a program or a reader needs of one calculation."""

    answer: str
    takes: list[Taken]
    gives: list[Item]
    notes: str
    source: str
    cautions: list[str]
    curve: CurveDeclaration | None
    us_units: dict[str, UsUnit]


def summary(entry: Calculation) -> Summary:
    """Return one line of the list."""
    return Summary.model_validate(_summary(entry))


def declaration(entry: Calculation) -> Declaration:
    """Return all that is declared of one calculation."""
    return Declaration.model_validate(
        _summary(entry)
        | {
            "answer": entry.answer,
            "takes": [_taken(entry, item) for item in entry.takes],
            "gives": [_item(item) for item in entry.gives],
            "notes": entry.notes,
            "source": entry.source,
            "cautions": list(entry.cautions),
            "curve": _curve(entry.curve) if entry.curve else None,
            "us_units": _us_units(entry),
        }
    )


def _summary(entry: Calculation) -> dict[str, object]:
    return {key: getattr(entry, key) for key in ("name", "subject", "question", "summary")}


def _item(item: Field) -> dict[str, object]:
    declared = item.quantity
    return {
        "name": item.name,
        "label": label(item),
        "choices": list(item.choices),
        "many": item.many,
    } | {
        key: getattr(declared, key) if declared else None
        for key in ("unit", "low", "high", "decimals")
    }


def _taken(entry: Calculation, item: Field) -> dict[str, object]:
    return _item(item) | {
        "required": item.required,
        "default": item.default,
        "example": entry.example.get(item.name),
    }


def _curve(curve: Curve) -> dict[str, object]:
    return {
        "title": curve.title,
        "x": curve.x,
        "lines": list(curve.lines),
        "band": curve.band,
        "columns": [_line(name, q) for name, q in curve.fields.items()],
    }


def _line(name: str, quantity: Quantity) -> dict[str, object]:
    return {"name": name} | {k: getattr(quantity, k) for k in ("label", "unit", "decimals")}


def _us_units(entry: Calculation) -> dict[str, dict[str, object]]:
    shown = [item.quantity for item in entry.takes + entry.gives if item.quantity]
    if entry.curve:
        shown += entry.curve.fields.values()
    return {
        unit: dict(zip(("unit", "factor", "offset"), US_UNITS[unit], strict=True))
        for unit in sorted({q.unit for q in shown} & set(US_UNITS))
    }
