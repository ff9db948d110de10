"""The trade's calculations: what there is, what each takes, and its answer."""

from typing import Annotated, Any

from pydantic import BaseModel, Field, JsonValue, WithJsonSchema

from api.access import Role, needs
from api.declarations import Declaration, Summary, declaration, summary
from api.entries import Entry
from api.errors import declared
from api.routing import Router
from calc.catalogue import CATALOGUE, calculate, curve, find
from calc.catalogue.wording import Units, sentence, words
from calc.errors import QuantityError

MOST_ROWS = 200  # more than any mash bill or row of jars

# A number, a choice, or a list of either. The calculation itself refuses what it does not take,
# by name and in one sentence.
Given = Annotated[
    JsonValue,
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number"},
                {"type": "string"},
                {
                    "type": "array",
                    "items": {"anyOf": [{"type": "number"}, {"type": "string"}]},
                    "maxItems": MOST_ROWS,
                },
                {"type": "null"},
            ]
        }
    ),
]

router = Router(prefix="/calculations", tags=["calculations"], dependencies=[needs(Role.WATCH)])


class Question(Entry):
    """What is given to a calculation, by name and in metric units; null is left out."""

    quantities: Annotated[dict[str, Given], Field(max_length=50)]


class Asked(Question):
    """A question, and the units to word its answer in."""

    units: Units = "metric"


class Answer(BaseModel):
    """What a calculation gives: values always metric, words in the units asked for."""

    name: str
    values: dict[str, float | str | list[float | str] | None]
    words: dict[str, str]
    sentence: str
    why: Annotated[str | None, Field(description="Why it cannot tell, where it cannot.")]
    cautions: list[str]


class CurvePoints(BaseModel):
    """The columns of a curve, equally long; null breaks the line."""

    name: str
    columns: dict[str, list[float | None]]


@router.get("")
def listed() -> list[Summary]:
    """Return every calculation, in the order of its subjects."""
    return [summary(entry) for entry in CATALOGUE.values()]


@router.get("/{name}", responses=declared(404))
def declared_one(name: str) -> Declaration:
    """Return what one calculation takes and gives, its source and its cautions."""
    return declaration(find(name))


@router.post("/{name}", responses=declared(404, 422))
def answer(name: str, body: Asked) -> Answer:
    """Work a calculation out."""
    entry = find(name)
    given = _bounded(body.quantities)
    values = calculate(name, **given)
    return Answer(
        name=name,
        values=values,
        words={item.name: words(item, values[item.name], body.units) for item in entry.gives},
        sentence=sentence(entry, given, values, body.units),
        why=(values[entry.why] or None) if entry.why else None,
        cautions=list(entry.cautions),
    )


@router.post("/{name}/curve", responses=declared(404, 422))
def curve_of(name: str, body: Question) -> CurvePoints:
    """Work out the curve that goes with a calculation."""
    find(name)
    return CurvePoints(name=name, columns=curve(name, **_bounded(body.quantities)))


def _bounded(quantities: dict[str, JsonValue]) -> dict[str, Any]:
    """Refuse more rows than any bill has; leave out what is null."""
    for name, value in quantities.items():
        if isinstance(value, list) and len(value) > MOST_ROWS:
            raise QuantityError(
                f"{name} has {len(value)} values; give at most {MOST_ROWS}.", quantity=name
            )
    return {name: value for name, value in quantities.items() if value is not None}
