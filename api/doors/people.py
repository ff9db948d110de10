"""The people who may sign in: added, changed, and signed in by their passphrases."""

from datetime import datetime
from typing import Final
from uuid import UUID

from sqlmodel import Session, col, select

from api.access import Role
from api.doors import passphrases
from api.doors.book import Book, Doer, held
from logger.errors import ConflictError, NotFoundError
from logger.store.door_tables import DoorSession, Person

ROLES: Final = {role.word: role for role in (Role.WATCH, Role.OPERATE, Role.OWN)}


def add(
    book: Book, doer: Doer, name: str, role: Role, passphrase: str | None = None
) -> tuple[Person, str]:
    """Add somebody; returns them and the passphrase, which nobody can read again."""
    given = passphrase or passphrases.made()
    kept = passphrases.hashed(given, name)
    with book.changing() as session:
        _check_free(session, name)
        person = Person(name=name, role=role.word, passphrase=kept, made_at=book.now())
        session.add(person)
        book.note(session, "person added", doer, f"{name}, {role.word}")
    return person, given


def change(book: Book, doer: Doer, number: UUID, *, name: str, role: Role, version: int) -> Person:
    """Give somebody another name or role; it holds at once, wherever they are signed in."""
    with book.changing() as session:
        person = held(session, Person, number)
        if person.version != version:
            raise ConflictError(
                f"{person.name} was changed meanwhile and may {person.role} now; "
                "load the list again and repeat the change."
            )
        if key(name) != key(person.name):
            _check_free(session, name)
        if role is not Role.OWN:
            _check_owned_without(session, person)
        before = f"{person.name}, {person.role}"
        person.name, person.role, person.version = name, role.word, version + 1
        session.add(person)
        book.note(session, "person changed", doer, f"{before} is now {name}, {role.word}")
    return person


def remove(book: Book, doer: Doer, number: UUID) -> None:
    """Let somebody in no more; what they entered keeps their name."""
    with book.changing() as session:
        person = held(session, Person, number)
        _check_owned_without(session, person)
        person.ended_at = book.now()
        session.add(person)
        end_sessions(session, person.ended_at, person=number)
        book.note(session, "person removed", doer, person.name)


def renew(
    book: Book, doer: Doer, number: UUID, given: str | None = None, keep: UUID | None = None
) -> str:
    """Give somebody a new passphrase; ends their sessions, but for the one to keep."""
    name = named(book, number).name
    passphrase = given or passphrases.made()
    kept = passphrases.hashed(passphrase, name)
    with book.changing() as session:
        person = held(session, Person, number)
        person.passphrase = kept
        session.add(person)
        end_sessions(session, book.now(), person=number, keep=keep)
        book.note(session, "passphrase renewed", doer, person.name)
    return passphrase


def signing_in(book: Book, name: str, passphrase: str) -> Person | None:
    """Return whoever goes by the name and the passphrase; None where there is no such person."""
    found = called(book, name)
    if not passphrases.fits(passphrase, found.passphrase if found else None):
        return None
    if found is not None and passphrases.outdated(found.passphrase):
        renewed = passphrases.hasher().hash(passphrases.normal(passphrase))
        with book.changing() as session:
            person = held(session, Person, found.id)
            person.passphrase = renewed
            session.add(person)
    return found


def called(book: Book, name: str) -> Person | None:
    """Return the person of a name, however it is capitalised."""
    return next((one for one in book.standing(Person) if key(one.name) == key(name)), None)


def must_be_called(book: Book, name: str) -> Person:
    """Return the person of a name, or raise NotFoundError with the names there are."""
    found = called(book, name)
    if found is None:
        names = ", ".join(one.name for one in book.standing(Person)) or "nobody yet"
        raise NotFoundError(f'Nobody is called "{name[:60]}" here; there is {names}.')
    return found


def named(book: Book, number: UUID) -> Person:
    """Return a person by their id."""
    with book.looking() as session:
        return held(session, Person, number)


def key(name: str) -> str:
    """Return what tells names apart."""
    return passphrases.normal(name).casefold()


def end_sessions(
    session: Session, at: datetime, *, person: UUID | None = None, keep: UUID | None = None
) -> int:
    """End the sessions of a person, or of everybody; returns how many."""
    chosen = select(DoorSession).where(col(DoorSession.ended_at).is_(None))
    if person is not None:
        chosen = chosen.where(DoorSession.person == person)
    ended = [one for one in session.exec(chosen).all() if one.id != keep]
    for one in ended:
        one.ended_at = at
        session.add(one)
    return len(ended)


def _check_free(session: Session, name: str) -> None:
    standing = session.exec(select(Person).where(col(Person.ended_at).is_(None))).all()
    if any(key(one.name) == key(name) for one in standing):
        raise ConflictError(f'Somebody is called "{name}" already; choose another name.')


def _check_owned_without(session: Session, person: Person) -> None:
    """See that somebody stays who owns the house, from elsewhere as well."""
    owners = select(Person).where(col(Person.ended_at).is_(None), Person.role == Role.OWN.word)
    if [one.id for one in session.exec(owners).all()] == [person.id]:
        raise ConflictError(
            f"{person.name} is the only one who owns the house; let somebody else own it first."
        )
