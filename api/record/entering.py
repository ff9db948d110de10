"""How entries of the record are added, changed, taken back and undone.

What is sent twice is taken once, also without an answer to the first: a change that stands already,
or once stood, is answered with the record as it stands. A change made from an older version than
what stands is refused, with what stands now.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Annotated, Any, Final, TypeVar
from uuid import UUID

from pydantic import Field, StringConstraints
from sqlmodel import Session, col, select

from api.access import Visitor
from api.entries import Entry, Record, Text, Version, not_ahead
from api.errors import StaleError
from api.house import House
from api.record.beside import check_beside
from api.record.room import check_room
from logger.errors import ConflictError, NotFoundError, RangeError
from logger.store import facts
from logger.store.failures import file_of, told
from logger.store.tables import Fact

F = TypeVar("F", bound=Fact)

TEXT_LENGTH: Final = 2000
# Signs that print, lines and tabs. Markup is text like any other, and shown as it was typed.
LINES: Final = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f]*$"

Note = Annotated[
    str, StringConstraints(strip_whitespace=True, max_length=TEXT_LENGTH, pattern=LINES)
]
SmellWords = Annotated[
    list[Text], Field(max_length=20, description="Words of the distiller's own.")
]
OWN: Final = frozenset(Fact.model_fields) - {"effective_at", "withdrawn"}


class Change(Entry):
    """A change: the version it was made from, and an id of its own where it may be sent twice."""

    id: Annotated[UUID | None, Field(description="The change's own id.")] = None
    version: Version


class Withdrawal(Change):
    """What takes an entry back, or its last change."""


class Entered(Record):
    """An entry as it stands; one taken back is still in the record."""

    withdrawn: bool


def moment(house: House, at: datetime | None, field: str = "at") -> datetime:
    """Return when something was: now where that is not said, never the future."""
    return not_ahead(at, house.now, field).astimezone(UTC)


def withdrawal(body: Withdrawal | None, version: int | None) -> Withdrawal:
    """Return which version is taken back, said in the body or in the address."""
    if body is not None:
        return body
    if version is None:
        raise RangeError(
            "version is missing; send the one the entry was shown with.", field="version"
        )
    return Withdrawal(version=version)


def add(house: House, fact: F, *beside: Fact) -> F:
    """Record a new fact, once; give what stands about it, taken back or not."""
    known = _stored(house, type(fact), fact.id)
    if known is not None:
        return newest(house, type(fact), known.about)
    facts.record(house.engine, fact, *beside, also=_check)
    house.refresh()
    return fact


def _check(session: Session, new: Sequence[Fact]) -> None:
    check_beside(session, new)
    check_room(session, new)


def newest(house: House, kind: type[F], about: UUID) -> F:
    """Read the newest record about a thing, taken back or not."""
    found = facts.with_withdrawn(house.engine, kind, col(kind.about) == about)
    if not found:
        raise NotFoundError(f"There is no {facts.words(kind)} {about}; load the list again.")
    return found[0]


def change(
    house: House,
    asking: Visitor,
    old: F,
    body: Change,
    changes: Mapping[str, Any],
    show: Callable[[F], Any],
    beside: Sequence[Fact] = (),
) -> F:
    """Record a correction, once."""
    if _taken(house, old, body, changes):
        return old
    if old.version != body.version:
        raise stale(house, old, body.version, show)
    new = old.correction(who=asking.name, id=body.id, **changes)
    try:
        facts.record(house.engine, new, *beside, also=_check)
    except ConflictError:
        now = newest(house, type(old), old.about)
        if now.version != old.version:
            raise stale(house, now, body.version, show) from None
        raise
    house.refresh()
    return new


def undo(
    house: House,
    asking: Visitor,
    old: F,
    body: Change,
    show: Callable[[F], Any],
    beside: Sequence[Fact] = (),
) -> F:
    """Take the last change back, by a correction that says again what was there before it.

    The first record has nothing before it: undoing it takes the thing back. Undoing an undoing
    brings the change back.
    """
    before = version_before(house, old, body)
    changes = {"withdrawn": True} if before is None else told_by(before)
    return change(house, asking, old, body, changes, show, beside)


def version_before(house: House, old: F, body: Change) -> F | None:
    """Read what was said before the change that is to be undone."""
    return _version(house, old, body.version - 1)


def told_by(fact: Fact) -> dict[str, Any]:
    """Return what a record says, without who said it when."""
    return {name: getattr(fact, name) for name in type(fact).model_fields if name not in OWN}


def stale(house: House, now: F, version: int, show: Callable[[F], Any]) -> StaleError:
    """Say what was changed meanwhile, and by whom."""
    seen = _version(house, now, version)
    what = "; ".join(_differences(seen, now)) or f"it is now version {now.version}"
    if now.withdrawn:
        what = "it was taken back"
    return StaleError(
        f"This was changed meanwhile by {now.who}: {what}. Look at it as it stands, and make the "
        "change again if it is still wanted.",
        now=show(now).model_dump(mode="json"),
    )


def _differences(seen: Fact | None, now: Fact) -> list[str]:
    if seen is None:
        return []
    then, stands = told_by(seen), told_by(now)
    return [
        f"{name} is now {_short(stands[name])}" for name in stands if stands[name] != then[name]
    ]


def _short(value: object) -> str:
    text = value.isoformat(timespec="seconds") if isinstance(value, datetime) else str(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _taken(house: House, old: Fact, body: Change, changes: Mapping[str, Any]) -> bool:
    """Say whether a change stands already, or was taken when it was first sent."""
    if _says(old, changes):
        return True
    if body.id is not None:
        return _stored(house, type(old), body.id) is not None
    if old.version <= body.version:
        return False
    made = _version(house, old, body.version + 1)
    return made is not None and made is not old and _says(made, changes)


def _says(fact: Fact, changes: Mapping[str, Any]) -> bool:
    return all(getattr(fact, name) == value for name, value in changes.items())


def _stored(house: House, kind: type[F], id: UUID) -> F | None:  # noqa: A002 - the column
    return _read(house, kind, col(kind.id) == id)


def _version(house: House, fact: F, version: int) -> F | None:
    kind = type(fact)
    if fact.version == version:
        return fact
    return _read(house, kind, (col(kind.about) == fact.about) & (col(kind.version) == version))


def _read(house: House, kind: type[F], where: Any) -> F | None:
    with told(file_of(house.engine)), Session(house.reader.engine) as session:
        found = session.exec(select(kind).where(where)).first()
        session.expunge_all()
        return found
