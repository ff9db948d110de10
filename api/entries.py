"""What the routes for entered facts have in common: their fields, and how one is corrected."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Annotated, Any, Final, TypeVar
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, StringConstraints
from sqlmodel import Session, col, select

from api.access import Visitor
from api.house import House
from logger.degrees import Unit
from logger.errors import ConflictError, RangeError
from logger.store import facts
from logger.store.failures import file_of, told
from logger.store.tables import Fact

F = TypeVar("F", bound=Fact)

PRINTABLE: Final = r"^[^\x00-\x1f\x7f]*$"
EARLIEST: Final = datetime(2000, 1, 1, tzinfo=UTC)  # before it a slip; common practice, no source
AHEAD: Final = timedelta(minutes=5)  # how far a browser's clock may be before ours

Text = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=60, pattern=PRINTABLE)
]
LongText = Annotated[
    str, StringConstraints(strip_whitespace=True, max_length=500, pattern=PRINTABLE)
]
ProbeId = Annotated[str, StringConstraints(min_length=1, max_length=100, pattern=PRINTABLE)]
QuantityName = Annotated[str, StringConstraints(max_length=40, pattern=r"^[a-z][a-z0-9_]*$")]
Version = Annotated[
    int, Field(ge=0, le=2**31, description="The version this change was made from.")
]


class Entry(BaseModel):
    """A body people or programs send: unknown fields are refused, not dropped."""

    model_config = ConfigDict(extra="forbid")


class Speaking(Entry):
    """A body that is answered in sentences with temperatures in them; its numbers are in °C."""

    temperature_unit: Annotated[Unit, Field(description="Of the sentences alone.")] = "C"


class NewEntry(Entry):
    """The body of a new fact. A client that may send twice makes the id, a UUIDv7, itself."""

    id: UUID | None = None


class Record(BaseModel):
    """A fact as it stands: who said it, when, and which version it is."""

    id: UUID
    version: int
    who: str
    recorded_at: AwareDatetime


def standing(fact: Fact) -> dict[str, Any]:
    """Return the fields every record has."""
    return {
        "id": fact.about,
        "version": fact.version,
        "who": fact.who,
        "recorded_at": fact.recorded_at,
    }


def columns_of(fact: Fact, record: type[Record]) -> dict[str, Any]:
    """Return a fact's columns that its record shows under their own names."""
    names = record.model_fields.keys() - Record.model_fields.keys()
    own = {name: getattr(fact, name) for name in names if name in type(fact).model_fields}
    return standing(fact) | own


def entered(
    house: House, asking: Visitor, at: datetime | None = None, field: str | None = None
) -> dict[str, Any]:
    """Return the columns every new fact has; `field` is where its time was given."""
    then = not_ahead(at, house.now, field)
    return {"site": house.identity.site, "who": asking.name, "effective_at": then}


def not_ahead(at: datetime | None, now: datetime, field: str | None = None) -> datetime:
    """Return the time something holds from: now where none is given, never the future.

    Nor a year that can only be a slip of the fingers.
    """
    if at is not None and at < EARLIEST:
        raise RangeError(
            f"{at.isoformat(' ', 'seconds')} is too long ago; give a time from "
            f"{EARLIEST.date()} on.",
            field=field,
        )
    if at is not None and at > now + AHEAD:
        raise RangeError(
            f"{at.isoformat(' ', 'seconds')} lies in the future; give a time up to now, "
            f"{now.isoformat(' ', 'seconds')}.",
            field=field,
        )
    return at or now


def store(house: House, *new: Fact) -> None:
    """Record facts, and show at once what they change."""
    facts.record(house.engine, *new)
    house.refresh()


def correct(house: House, asking: Visitor, old: F, version: int, changes: Mapping[str, Any]) -> F:
    """Record a correction of a fact, made from the version its sender saw."""
    if old.version != version:
        raise ConflictError(_meanwhile(house, old, version))
    if all(getattr(old, key) == value for key, value in changes.items()):
        return old
    new = old.correction(who=asking.name, **changes)
    store(house, new)
    return new


def _meanwhile(house: House, now: F, version: int) -> str:
    seen = _version(house, now, version)
    skip = set(Fact.model_fields) - {"effective_at"}
    changed = [
        f"{key} is now {getattr(now, key)}"
        for key in type(now).model_fields
        if key not in skip and seen is not None and getattr(seen, key) != getattr(now, key)
    ]
    what = "; ".join(changed) or f"it is now version {now.version}"
    return f"This was changed meanwhile by {now.who}: {what}. Load it again and repeat the change."


def _version(house: House, now: F, version: int) -> F | None:
    kind = type(now)
    chosen = select(kind).where(col(kind.about) == now.about, col(kind.version) == version)
    with told(file_of(house.engine)), Session(house.reader.engine) as session:
        found = session.exec(chosen).first()
        session.expunge_all()
        return found
