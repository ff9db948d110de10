"""One clear sentence for a request that does not fit what its route declares."""

from collections.abc import Mapping
from typing import Any

Told = Mapping[str, Any]  # what the validator found: type, input, ctx

# By the validator's own types; {name} is the field, {given} what came, the rest its limits.
SENTENCES: dict[str, str] = {
    "missing": "{name} is missing; send it.",
    "extra_forbidden": "{name} is not known here; leave it out.",
    "json_invalid": "The body is not JSON; send a JSON object.",
    "model_attributes_type": "The body must be a JSON object; send one.",
    "model_type": "{name} must be a JSON object.",
    "dict_type": "{name} must be a JSON object.",
    "list_type": "{name} is {given}; give a list.",
    "string_type": "{name} is {given}; give a text.",
    "string_too_long": "{name} is too long; give at most {max_length} characters.",
    "string_too_short": "{name} is empty; give a text.",  # no text of ours must be longer than 1
    "string_pattern_mismatch": "{name} is {given}, which has signs it cannot have.",
    "int_type": "{name} is {given}; give a whole number.",
    "int_parsing": "{name} is {given}; give a whole number.",
    "int_parsing_size": "{name} is too large a number.",
    "int_from_float": "{name} is {given}; give a whole number.",
    "float_type": "{name} is {given}; give a number.",
    "float_parsing": "{name} is {given}; give a number.",
    "finite_number": "{name} is {given}; give a finite number.",
    "bool_type": "{name} is {given}; give true or false.",
    "bool_parsing": "{name} is {given}; give true or false.",
    "uuid_type": "{name} is {given}; give an id as the lists show it.",
    "uuid_parsing": "{name} is {given}; give an id as the lists show it.",
    "greater_than": "{name} is {given}; it must be more than {gt}.",
    "greater_than_equal": "{name} is {given}; it must be at least {ge}.",
    "less_than": "{name} is {given}; it must be less than {lt}.",
    "less_than_equal": "{name} is {given}; it must be at most {le}.",
    "literal_error": "{name} is {given}; give {expected}.",
    "enum": "{name} is {given}; give {expected}.",
    "too_long": "{name} has too many entries; give at most {max_length}.",
    "too_short": "{name} has too few entries; give at least {min_length}.",
    "timezone_aware": "{name} is {given}, which has no offset; "
    "give a time such as 2026-03-01T08:30:00+01:00.",
    "value_error": "{error}",
}
TIMES = "{name} is {given}; give a time such as 2026-03-01T08:30:00+01:00."


def sentence_of(told: Told, field: str | None) -> str:
    """Return the sentence for one finding of the validator."""
    kind: str = told["type"]
    template = SENTENCES.get(kind) or (TIMES if kind.startswith("datetime") else None)
    words = {"name": field or "The body", "given": shown(told.get("input"))}
    if template is None:
        return f"{words['name']} is {words['given']}, which cannot be used here."
    return template.format_map(words | {k: shown_limit(v) for k, v in limits(told).items()})


def limits(told: Told) -> Told:
    """Return what the validator says of the limit broken; our own errors speak for themselves."""
    found: Told = told.get("ctx", {})
    return found


def shown(value: object) -> str:
    """Quote what was given, briefly."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return "a list"
    if value is None:
        return "empty"
    text = str(value)
    quoted = text if isinstance(value, int | float) else f'"{text}"'
    return quoted if len(quoted) <= 60 else f"{quoted[:57]}..."


def shown_limit(value: object) -> str:
    """Return a limit as it stands in a sentence."""
    return f"{value:g}" if isinstance(value, float) else str(value)
