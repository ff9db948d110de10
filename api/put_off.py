"""Models that are built when they are first needed.

pydantic makes a validator and a serializer of every model where it is declared. There are some
four hundred (the framework's own for its description among them), of which a house needs a few
dozen: the others would be 6 MB and an eighth of every start. Told once, here, they are put off;
pydantic builds what is used, under a lock of its own (`pydantic.main._rebuild_lock`).

Import this before any module that declares a model.
"""

from collections.abc import Callable
from typing import Any, get_args, get_type_hints

from pydantic import BaseModel

BaseModel.model_config["defer_build"] = True


def build_for(endpoint: Callable[..., Any], response_model: Any = None) -> None:
    """Build the models a route takes and gives, before the framework asks for them.

    What the framework makes of a model that is still put off, it would put off as well, and build
    in whatever thread comes first.
    """
    build(response_model)
    for annotation in get_type_hints(endpoint, include_extras=True).values():
        build(annotation)


def build(annotation: Any) -> None:
    """Build what an annotation names: the inner models first, so that the outer ones share them."""
    for inner in get_args(annotation):
        build(inner)
    if not (isinstance(annotation, type) and issubclass(annotation, BaseModel)):
        return
    if annotation.model_config.pop("defer_build", None) and not annotation.__pydantic_complete__:
        for field in annotation.model_fields.values():
            build(field.annotation)
        annotation.model_rebuild()
