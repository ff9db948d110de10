"""Sessions: a browser that is signed in, known by the signed id in its cookie."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final
from uuid import UUID, uuid4

from sqlmodel import Session, col, select

from api.access import Role, Visitor
from api.doors.book import Book, Doer, held
from api.doors.people import ROLES, end_sessions
from logger.store.door_tables import DoorLink, DoorSession, Person

PERSONS: Final = timedelta(days=30)  # after it was last used
PHONES: Final = timedelta(days=365)
TOUCH: Final = timedelta(hours=1)  # a session's use is written down this often
LONGEST_NAME: Final = 60


@dataclass(frozen=True, slots=True)
class Signed:
    """A session that holds, and who it lets in."""

    id: UUID
    person: UUID | None
    visitor: Visitor


def begin(book: Book, doer: Doer, person: Person, browser: str) -> UUID:
    """Begin a session under a new id, whatever the browser brought along."""
    with book.changing() as session:
        made = _made(book, browser, PERSONS, person=person.id)
        session.add(made)
        book.note(session, "signed in", doer, browser)
    return made.id


def begin_phone(book: Book, session: Session, link: DoorLink) -> UUID:
    """Begin a phone's session, in the transaction that uses up its link."""
    made = _made(book, link.name, PHONES, role=link.role)
    session.add(made)
    return made.id


def read(book: Book, number: UUID) -> Signed | None:
    """Return the session of an id, if it holds, and write down now and then that it was used."""
    with book.looking() as session:
        found = session.get(DoorSession, number)
        now = book.now()
        if found is None or found.ended_at is not None or found.until_at <= now:
            return None
        if found.person is None:
            seen = Visitor(found.name, ROLES[found.role or Role.WATCH.word])
        else:
            person = session.get(Person, found.person)
            if person is None or person.ended_at is not None:
                return None
            seen = Visitor(person.name, ROLES[person.role])
    if now - found.seen_at >= TOUCH:
        book.quietly(_touch, number)
    return Signed(number, found.person, seen)


def standing(book: Book) -> Sequence[DoorSession]:
    """Return the sessions that hold, the last used first."""
    holding = [one for one in book.standing(DoorSession) if one.until_at > book.now()]
    return sorted(holding, key=lambda one: one.seen_at, reverse=True)


def end(book: Book, doer: Doer, number: UUID) -> None:
    """Sign one browser or phone out."""
    with book.changing() as session:
        found = held(session, DoorSession, number)
        found.ended_at = book.now()
        session.add(found)
        book.note(session, "signed out", doer, found.name)


def end_all(book: Book, doer: Doer, person: Person | None = None) -> int:
    """Sign somebody out everywhere, or everybody and every phone."""
    with book.changing() as session:
        number = None if person is None else person.id
        ended = end_sessions(session, book.now(), person=number)
        about = "everybody" if person is None else person.name
        book.note(session, "signed out everywhere", doer, about)
    return ended


def _made(
    book: Book, name: str, lasts: timedelta, *, person: UUID | None = None, role: str | None = None
) -> DoorSession:
    now = book.now()
    return DoorSession(
        id=uuid4(),
        person=person,
        name=name[:LONGEST_NAME],
        role=role,
        made_at=now,
        seen_at=now,
        until_at=now + lasts,
    )


def _touch(book: Book, number: UUID) -> None:
    with book.changing() as session:
        still = select(DoorSession).where(
            DoorSession.id == number, col(DoorSession.ended_at).is_(None)
        )
        if found := session.exec(still).first():
            found.seen_at = book.now()
            found.until_at = found.seen_at + (PHONES if found.person is None else PERSONS)
            session.add(found)
