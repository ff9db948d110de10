"""What the catalogue keeps of a calculation, and what it derives from the function itself."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from inspect import Parameter, cleandoc, signature
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from calc.errors import QuantityError
from calc.quantities import Quantity, quantity_of

NO_SOURCE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Field:
    """One thing a calculation takes or gives, derived from an annotation."""

    name: str
    quantity: Quantity | None  # None for a choice or a text
    choices: tuple[str, ...] = ()
    many: bool = False  # a tuple of values: one row each on the form
    required: bool = True
    default: Any = None


@dataclass(frozen=True, slots=True)
class Curve:
    """A line that says more than the number: x against lines, with a band where one is known.

    `of` takes the calculation's own arguments by name (those it names) and returns a mapping of
    equally long arrays; x, lines and band are keys of it. `fields` declares their quantities.
    """

    of: Callable[..., Mapping[str, Any]]
    x: str
    lines: tuple[str, ...]
    fields: Mapping[str, Quantity]
    band: tuple[str, str] | None = None
    title: str = ""


@dataclass(frozen=True, slots=True)
class Calculation:
    """One calculation offered to people: on the bench page, by the API and on the command line.

    Attributes
    ----------
    name : str
        Lower case with hyphens; stable.
    function : callable
        Pure, annotated with quantities; its docstring carries the source and an example.
    subject : str
        The group it stands under.
    question : str
        What one wants to know, as a question.
    answer : str
        One sentence on what the result means; ``{name}`` stands for a value taken or given,
        printed with its unit.
    example : mapping
        The values the form starts with; every bound is kept.
    cautions : tuple of str
        Shown beside the result, each with its source and "follow local codes" where it applies.
    why : str
        The name of a text result that says why there is no number, where one can be missing.
    """

    name: str
    function: Callable[..., Any]
    subject: str
    question: str
    answer: str
    example: Mapping[str, Any]
    cautions: tuple[str, ...] = ()
    curve: Curve | None = None
    why: str = ""
    takes: tuple[Field, ...] = field(init=False)
    gives: tuple[Field, ...] = field(init=False)

    def __post_init__(self) -> None:
        """Derive what it takes and gives from the function's annotations."""
        object.__setattr__(self, "takes", _takes(self.function))
        object.__setattr__(self, "gives", _gives(self.function))

    @property
    def summary(self) -> str:
        """The docstring's first line."""
        return cleandoc(self.function.__doc__ or "").split("\n", 1)[0]

    @property
    def notes(self) -> str:
        """The equation or model, from the docstring's Notes section."""
        return _section(self.function, "Notes")

    @property
    def source(self) -> str:
        """The docstring's References section: year and DOI or clause, or `NO_SOURCE`."""
        return _section(self.function, "References")


def _section(function: Callable[..., Any], title: str) -> str:
    lines = cleandoc(function.__doc__ or "").split("\n")
    heads = [i for i in range(len(lines) - 1) if lines[i + 1] and not lines[i + 1].strip("-")]
    for i in heads:
        if lines[i] == title:
            end = next((j for j in heads if j > i), len(lines))
            return " ".join(line.strip() for line in lines[i + 2 : end] if line.strip())
    return ""


def _parts(hint: Any) -> tuple[Any, ...]:
    """Return the members of a union other than None, or the hint itself."""
    if get_origin(hint) in (Union, UnionType):
        return tuple(part for part in get_args(hint) if part is not type(None))
    return (hint,)


def _field(name: str, hint: Any, default: Any, *, required: bool) -> Field:
    inner = _parts(hint)[0]
    many = get_origin(inner) is tuple
    single = get_args(inner)[0] if many else inner
    choices = tuple(get_args(single)) if get_origin(single) is Literal else ()
    return Field(
        name=name,
        quantity=quantity_of(single),
        choices=choices,
        many=many,
        required=required,
        default=default,
    )


def _takes(function: Callable[..., Any]) -> tuple[Field, ...]:
    hints = get_type_hints(function, include_extras=True)
    return tuple(
        _field(
            name,
            hints[name],
            None if parameter.default is Parameter.empty else parameter.default,
            required=parameter.default is Parameter.empty,
        )
        for name, parameter in signature(function).parameters.items()
    )


def _gives(function: Callable[..., Any]) -> tuple[Field, ...]:
    hint = get_type_hints(function, include_extras=True)["return"]
    if is_dataclass(hint):
        hints = get_type_hints(hint, include_extras=True)
        return tuple(_field(f.name, hints[f.name], None, required=True) for f in fields(hint))
    quantity = quantity_of(hint)
    if quantity is None:
        raise QuantityError(
            f"{function.__name__} returns {hint!r}; annotate it with a quantity or return a "
            "dataclass of quantities.",
            quantity="return",
        )
    return (Field(name=quantity.name, quantity=quantity),)
