"""Tokens: a program's way in, with the scopes it was given, its secret shown once."""

import hashlib
import secrets
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from sqlmodel import col, select

from api.access import Role, Scope, Visitor
from api.doors.book import Book, Doer, held
from api.doors.people import ROLES
from calc.errors import OutOfRangeError
from logger.store.door_tables import DoorToken

PREFIX: Final = "wormtub_"  # so that a token is known for one wherever it turns up
TOUCH: Final = timedelta(hours=1)
LONGEST: Final = 200


def scope(text: str, areas: Iterable[str]) -> Scope:
    """Read a scope: a role, or a role and an area of the API, as in operate:vessels."""
    role, colon, area = text.partition(":")
    known = sorted(areas)
    if role not in ROLES or (colon and area not in known):
        raise OutOfRangeError(
            f'"{text[:60]}" is no scope; give watch, operate or own, and where it shall not hold '
            f"everywhere an area after a colon: {', '.join(known)}.",
            quantity="scopes",
        )
    return Scope(ROLES[role], area or None)


def make(
    book: Book, doer: Doer, name: str, scopes: Iterable[Scope], until: datetime | None = None
) -> tuple[DoorToken, str]:
    """Make a token; returns it and its secret, which nobody can read again."""
    secret = PREFIX + secrets.token_urlsafe(32)
    words = " ".join(sorted({str(one) for one in scopes}))
    with book.changing() as session:
        made = DoorToken(
            name=name, scopes=words, secret=_digest(secret), made_at=book.now(), until_at=until
        )
        session.add(made)
        book.note(session, "token made", doer, f"{name}: {words}")
    return made, secret


def read(book: Book, secret: str) -> Visitor | None:
    """Return who comes with a secret, if it holds, and write down now and then that it was used."""
    if not secret.startswith(PREFIX) or len(secret) > LONGEST or not secret.isascii():
        return None
    with book.looking() as session:
        found = session.exec(select(DoorToken).where(DoorToken.secret == _digest(secret))).first()
    now = book.now()
    if found is None or not holds(found, now):
        return None
    if found.seen_at is None or now - found.seen_at >= TOUCH:
        book.quietly(_touch, found.id)
    scopes = scopes_of(found)
    return Visitor(found.name, max(one.role for one in scopes), scopes)


def holds(token: DoorToken, now: datetime) -> bool:
    """Say whether a token has neither ended nor expired."""
    return token.ended_at is None and (token.until_at is None or token.until_at > now)


def scopes_of(token: DoorToken) -> tuple[Scope, ...]:
    """Return what a token may do."""
    words = (word.partition(":") for word in token.scopes.split())
    return tuple(Scope(ROLES.get(role, Role.ANYONE), area or None) for role, _, area in words)


def end(book: Book, doer: Doer, number: UUID) -> None:
    """Let a token in no more."""
    with book.changing() as session:
        found = held(session, DoorToken, number)
        found.ended_at = book.now()
        session.add(found)
        book.note(session, "token ended", doer, found.name)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("ascii")).hexdigest()


def _touch(book: Book, number: UUID) -> None:
    with book.changing() as session:
        chosen = select(DoorToken).where(DoorToken.id == number, col(DoorToken.ended_at).is_(None))
        if found := session.exec(chosen).first():
            found.seen_at = book.now()
            session.add(found)
