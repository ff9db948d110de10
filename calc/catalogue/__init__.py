"""The calculations offered to people: one entrance for page, route and command."""

from collections.abc import Callable, Mapping
from dataclasses import asdict, is_dataclass
from difflib import get_close_matches
from inspect import signature
from numbers import Real
from typing import Any

import numpy as np

from calc.catalogue import (
    alcoholometry,
    boiling,
    bottling,
    column,
    distillation,
    fermentation,
    gravity,
    hazards,
    heat,
    mash,
    proofing,
    vapour,
)
from calc.catalogue.entry import Calculation, Field
from calc.errors import QuantityError, UnknownCalculationError, WormtubError

SUBJECTS = (
    alcoholometry,
    proofing,
    bottling,
    boiling,
    vapour,
    distillation,
    column,
    heat,
    mash,
    gravity,
    fermentation,
    hazards,
)

CATALOGUE: Mapping[str, Calculation] = {
    entry.name: entry for subject in SUBJECTS for entry in subject.CALCULATIONS
}


def find(name: str) -> Calculation:
    """Return the calculation of that name.

    Raises
    ------
    UnknownCalculationError
        If there is none; the sentence offers the nearest name.
    """
    if name in CATALOGUE:
        return CATALOGUE[name]
    near = get_close_matches(name, CATALOGUE, n=1)
    hint = f'did you mean "{near[0]}"?' if near else "`wormtub calc` lists them."
    raise UnknownCalculationError(f'There is no calculation called "{name}"; {hint}')


def calculate(name: str, **quantities: Any) -> dict[str, Any]:
    """Work out one calculation of the catalogue.

    Parameters
    ----------
    name : str
        A calculation's name, as in ``"density"``.
    **quantities
        What it takes, by name and in the unit the name ends in.

    Returns
    -------
    dict
        What it gives, by name: floats, texts, and None where it cannot tell.

    Raises
    ------
    UnknownCalculationError
        If there is no calculation of that name.
    QuantityError
        If a quantity is missing, unknown, or not a number.
    OutOfRangeError
        If a quantity, or what follows from it, is out of range; the limit is named.

    Examples
    --------
    >>> round(calculate("density", abw_fraction=1.0, temperature_c=20.0)["density_kg_m3"], 2)
    789.24
    """
    entry = find(name)
    result = _run(entry.function, _arguments(entry, quantities))
    if is_dataclass(result) and not isinstance(result, type):
        return {key: _plain(value) for key, value in asdict(result).items()}
    return {entry.gives[0].name: _plain(result)}


def _run(function: Callable[..., Any], arguments: Mapping[str, Any]) -> Any:
    """Call a function; where it cannot take an array, ask for one number at a time."""
    try:
        return function(**arguments)
    except WormtubError:
        raise
    except (TypeError, ValueError) as failure:
        _check_no_array(arguments, failure)
        raise


def _check_no_array(arguments: Mapping[str, Any], cause: Exception | None = None) -> None:
    for name, value in arguments.items():
        if isinstance(value, np.ndarray):
            raise QuantityError(
                f"{name} is an array, and this takes one number for it; calculate once for each.",
                quantity=name,
            ) from cause


def curve(name: str, **quantities: Any) -> dict[str, list[float | None]]:
    """Work out the curve that goes with a calculation; NaN becomes None (a break in the line).

    Raises
    ------
    UnknownCalculationError
        If the calculation is unknown or has no curve.
    """
    entry = find(name)
    if entry.curve is None:
        raise UnknownCalculationError(f'"{name}" has no curve; ask for its result instead.')
    arguments = _arguments(entry, quantities)
    wanted = signature(entry.curve.of).parameters
    _check_no_array(arguments)
    found = entry.curve.of(**{k: v for k, v in arguments.items() if k in wanted})
    return {
        key: [float(v) if np.isfinite(v) else None for v in np.asarray(values, dtype=float)]
        for key, values in found.items()
    }


def read_text(name: str, texts: Mapping[str, str]) -> dict[str, Any]:
    """Turn words of a command line or a form into what a calculation takes.

    Raises
    ------
    QuantityError
        If a word is not a number where one is wanted; commas separate the values of a list.
    """
    known = {f.name: f for f in find(name).takes}
    return {k: _read(known[k], v) if k in known else v for k, v in texts.items()}


def _read(taken: Field, text: str) -> Any:
    if taken.many:
        parts = [part for part in text.split(",") if part.strip()]
        return tuple(_read_one(taken, part.strip()) for part in parts)
    return _read_one(taken, text.strip())


def _read_one(taken: Field, text: str) -> Any:
    if taken.quantity is None:
        return text
    try:
        return float(text)
    except ValueError:
        raise taken.quantity.not_a_number(text, taken.name) from None


def _arguments(entry: Calculation, quantities: Mapping[str, Any]) -> dict[str, Any]:
    known = {f.name: f for f in entry.takes}
    for key in quantities:
        if key not in known:
            near = get_close_matches(key, known, n=1)
            hint = f'did you mean "{near[0]}"?' if near else f"it takes {', '.join(known)}."
            raise QuantityError(f'"{entry.name}" does not take "{key}"; {hint}', quantity=key)
    for taken in entry.takes:
        given = quantities.get(taken.name)
        if taken.required and given is None:
            unit = f" in {taken.quantity.unit}" if taken.quantity and taken.quantity.unit else ""
            raise QuantityError(
                f'"{entry.name}" needs {taken.name}{unit}; it takes {", ".join(known)}.',
                quantity=taken.name,
            )
        if given is not None:
            _check_given(taken, given)
    return {k: _taken(known[k], v) for k, v in quantities.items() if v is not None}


def _taken(taken: Field, given: Any) -> Any:
    """Return what the function is called with: every number a float, arrays as they are."""
    if taken.many:
        return tuple(float(one) if taken.quantity else one for one in given)
    return float(given) if taken.quantity and np.ndim(given) == 0 else given


def _check_given(taken: Field, given: Any) -> None:
    """Refuse a choice not offered, a word for a number, a number out of range, one for many."""
    if taken.many and not (isinstance(given, tuple | list | np.ndarray) and np.ndim(given)):
        raise QuantityError(
            f"{taken.name} is {given!r}; give a list of values.", quantity=taken.name
        )
    if taken.many and len(given) == 0:
        raise QuantityError(f"{taken.name} is empty; give at least one value.", quantity=taken.name)
    for one in given if taken.many else (given,):
        if taken.choices and not (isinstance(one, str) and one in taken.choices):
            raise QuantityError(
                f"{taken.name} is {one!r}; choose one of {', '.join(taken.choices)}.",
                quantity=taken.name,
            )
        if taken.quantity and not _numeric(one, array=not taken.many):
            raise taken.quantity.not_a_number(one, taken.name)
        if taken.quantity:
            taken.quantity.check(one, taken.name)


def _numeric(one: Any, *, array: bool) -> bool:
    """Return whether it is a number, or an array of them where there may be one."""
    if isinstance(one, np.ndarray):
        return (array or one.ndim == 0) and one.dtype.kind in "iuf"
    return isinstance(one, Real) and not isinstance(one, bool)


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, tuple | list):
        return [_plain(v) for v in value]
    array = np.asarray(value, dtype=float)
    return float(array) if array.ndim == 0 else array.tolist()
