"""The book of the doors: read and written in short transactions, and every change noted in it."""

import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Final, TypeVar
from uuid import UUID

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from logger.errors import NotFoundError, StoreError
from logger.store.door_tables import DoorEvent, DoorLink, DoorSession, DoorToken, Person
from logger.store.failures import file_of, told

log = logging.getLogger(__name__)

T = TypeVar("T", Person, DoorSession, DoorToken, DoorLink)

WORDS: Final = {Person: "person", DoorSession: "session", DoorToken: "token", DoorLink: "link"}
MOST_SHOWN: Final = 500


@dataclass(frozen=True, slots=True)
class Doer:
    """Whoever changes something, and the address they come from."""

    name: str
    address: str = ""


@dataclass(frozen=True)
class Book:
    """The people, sessions, tokens, links and events of one store."""

    engine: Engine
    reading: Engine
    now: Callable[[], datetime]

    @contextmanager
    def changing(self) -> Iterator[Session]:
        """Change something, all of it or nothing; the store's lock is held meanwhile."""
        with (
            told(file_of(self.engine)),
            Session(self.engine, expire_on_commit=False) as session,
            session.begin(),
        ):
            yield session

    @contextmanager
    def looking(self) -> Iterator[Session]:
        """Read something as it stands."""
        with told(file_of(self.engine)), Session(self.reading, expire_on_commit=False) as session:
            yield session

    def standing(self, kind: type[T]) -> Sequence[T]:
        """Return the rows of a kind that have not ended, oldest first."""
        with self.looking() as session:
            chosen = select(kind).where(col(kind.ended_at).is_(None)).order_by(col(kind.made_at))
            return session.exec(chosen).all()

    def note(self, session: Session, kind: str, doer: Doer, about: str = "") -> None:
        """Add an event, in the transaction of what it tells of."""
        session.add(
            DoorEvent(kind=kind, who=doer.name, about=about, address=doer.address, at=self.now())
        )

    def quietly(self, write: Callable[["Book", UUID], None], number: UUID) -> None:
        """Write down that something was used; whoever only reads is not kept out by a full disk."""
        try:
            write(self, number)
        except StoreError as error:
            log.warning("That a sign-in was used is not written down: %s", error)

    def noted(self, kind: str, doer: Doer, about: str = "") -> None:
        """Add an event that changed nothing else."""
        with self.changing() as session:
            self.note(session, kind, doer, about)

    def events(self, limit: int = MOST_SHOWN) -> Sequence[DoorEvent]:
        """Return what happened, newest first."""
        with self.looking() as session:
            newest = select(DoorEvent).order_by(col(DoorEvent.at).desc(), col(DoorEvent.id).desc())
            return session.exec(newest.limit(limit)).all()


def held(session: Session, kind: type[T], number: UUID) -> T:
    """Return a row that has not ended; NotFoundError where there is none."""
    found = session.get(kind, number)
    if found is None or found.ended_at is not None:
        raise NotFoundError(f"There is no {WORDS[kind]} {number}; load the list again.")
    return found
