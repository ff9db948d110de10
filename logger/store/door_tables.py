"""The tables of the doors: who may come in, by what, and what was done with it.

Nothing here is ever erased: what no longer holds has an `ended_at`, since names stay in the
record. No secret lies here in a readable form: passphrases are hashed, and so are tokens; what a
session or a link is recognised by is signed with a key that is kept outside the store.
"""

from datetime import datetime
from uuid import UUID

from sqlmodel import Field
from uuid_utils.compat import uuid7

from logger.store.tables import STAYING, Row
from logger.store.types import UtcMicroseconds, now


class Person(Row, table=True):
    """Somebody who may sign in."""

    __tablename__ = "people"
    __table_args__ = STAYING
    id: UUID = Field(default_factory=uuid7, primary_key=True)
    name: str
    role: str  # watch, operate, own
    passphrase: str  # its argon2 hash, with its own salt and cost in it
    version: int = 1
    made_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    ended_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)


class DoorSession(Row, table=True):
    """A browser that is signed in: a person's, or a phone's in its own name and role."""

    __tablename__ = "door_sessions"
    __table_args__ = STAYING
    id: UUID = Field(primary_key=True)  # random: what the cookie carries, signed
    person: UUID | None = Field(default=None, index=True)  # None: a phone
    name: str  # the phone's; else the browser, as it calls itself
    role: str | None = None  # the phone's; a person's role is the person's own
    made_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    seen_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    until_at: datetime = Field(sa_type=UtcMicroseconds)
    ended_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)


class DoorToken(Row, table=True):
    """A program's way in, limited to its scopes."""

    __tablename__ = "door_tokens"
    __table_args__ = STAYING
    id: UUID = Field(default_factory=uuid7, primary_key=True)
    name: str
    scopes: str  # words with spaces between
    secret: str = Field(index=True)  # SHA-256 of it, in hex; it has 256 random bits of its own
    made_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    seen_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)
    until_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)
    ended_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)


class DoorLink(Row, table=True):
    """A link that adds one phone, once, until it expires."""

    __tablename__ = "door_links"
    __table_args__ = STAYING
    id: UUID = Field(primary_key=True)  # random: what the link carries, signed
    name: str
    role: str
    made_at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    until_at: datetime = Field(sa_type=UtcMicroseconds)
    used_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)
    ended_at: datetime | None = Field(default=None, sa_type=UtcMicroseconds)


class DoorEvent(Row, table=True):
    """Something that happened at the doors; rows are only ever added."""

    __tablename__ = "door_events"
    id: UUID = Field(default_factory=uuid7, primary_key=True)
    at: datetime = Field(default_factory=now, sa_type=UtcMicroseconds)
    kind: str
    who: str  # who did it; empty where nobody is known
    about: str  # whom or what it was done to
    address: str  # where from; empty from the command line
