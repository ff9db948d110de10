"""The two ways back that every entry of the record has: taken back whole, or its last change."""

from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any, TypeVar
from uuid import UUID

from fastapi import Body, Path, Query

from api.access import Asking, Role, Visitor, needs
from api.errors import declared
from api.house import House, Housed
from api.record.entering import (
    Entered,
    Withdrawal,
    change,
    newest,
    told_by,
    undo,
    version_before,
    withdrawal,
)
from api.routing import Router
from logger.store.tables import Fact

F = TypeVar("F", bound=Fact)
Show = Callable[[House, F], Entered]
Beside = Callable[[House, Visitor, F, Mapping[str, Any]], Sequence[Fact]]
WITHDRAWN = {"withdrawn": True}


def _nothing(_house: House, _asking: Visitor, _old: Fact, _changes: Mapping[str, Any]) -> tuple[()]:
    return ()


def add_ways_back(
    router: Router,
    kind: type[F],
    path: str,
    shape: type[Entered],
    show: Show[F],
    *,
    back: str,
    undone: str,
    beside: Beside[F] = _nothing,
) -> None:
    """Add both routes for a kind; `path` ends in the name its id has in an address, in braces.

    `back` and `undone` are what the description says of them; `beside` is what is recorded with it.
    """
    said: dict[str, Any] = {
        "dependencies": [needs(Role.OPERATE)],
        "responses": declared(404, 409),
        "response_model": shape,
    }
    name = path.rpartition("{")[2].rstrip("}")

    @router.delete(path, description=back, **said)
    def withdraw(
        house: Housed,
        asking: Asking,
        about: Annotated[UUID, Path(alias=name)],
        body: Annotated[Withdrawal | None, Body()] = None,
        version: Annotated[int | None, Query(ge=0)] = None,
    ) -> Entered:
        old, wanted = newest(house, kind, about), withdrawal(body, version)
        more = beside(house, asking, old, WITHDRAWN)
        return show(house, change(house, asking, old, wanted, WITHDRAWN, _showing(house), more))

    @router.post(f"{path}/undo", description=undone, **said)
    def take_last_change_back(
        house: Housed, asking: Asking, about: Annotated[UUID, Path(alias=name)], body: Withdrawal
    ) -> Entered:
        old = newest(house, kind, about)
        before = version_before(house, old, body)
        changes = WITHDRAWN if before is None else told_by(before)
        more = beside(house, asking, old, changes)
        return show(house, undo(house, asking, old, body, _showing(house), more))

    def _showing(house: House) -> Callable[[F], Entered]:
        return lambda one: show(house, one)
