"""Ways in for tests, on the data folder of a service that runs or will: a session, a token."""

from contextlib import contextmanager
from uuid import uuid4

from api.access import Role, Scope
from api.doors import sessions, tokens
from api.doors.book import Book, Doer
from api.doors.doors import PLAIN_COOKIE
from api.doors.people import ROLES
from api.doors.signing import Seal
from logger.store import database
from logger.store.door_tables import DoorLink
from logger.store.types import now

TESTER = Doer("a test")


@contextmanager
def book_of(data, clock=now):
    """Open the book of the doors beside the service."""
    database.prepare(data)
    engine = database.engine(data)
    try:
        yield Book(engine, engine, clock), Seal(data, database.identity(engine).epoch)
    finally:
        engine.dispose()


def cookie_of(data, role, clock=now):
    """Sign a phone in with a role; returns the cookie's name and value."""
    with book_of(data, clock) as (book, seal):
        link = DoorLink(id=uuid4(), name=f"phone to {role}", role=role, until_at=clock())
        with book.changing() as session:
            number = sessions.begin_phone(book, session, link)
        return PLAIN_COOKIE, seal.sign("session", number)


def token_of(data, *scopes, clock=now):
    """Make a token; returns its secret."""
    with book_of(data, clock) as (book, _):
        wanted = [Scope(ROLES[role], area or None) for role, _, area in map(parted, scopes)]
        return tokens.make(book, TESTER, f"token to {' '.join(scopes)}", wanted)[1]


def parted(scope):
    return scope.partition(":")


def headers_of(data, who, clock=now):
    """Return the headers of anyone, a role, or a token, as in `token watch:live`."""
    kind, _, scopes = who.partition(" ")
    if who == "anyone":
        return {}
    if kind == "token":
        return {"authorization": f"Bearer {token_of(data, *scopes.split(), clock=clock)}"}
    return {"cookie": "=".join(cookie_of(data, Role[who.upper()].word, clock))}
