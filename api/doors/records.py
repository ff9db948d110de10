"""What the owner sends to the doors and is told of them."""

from typing import Annotated, Final, Literal
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.doors.passphrases import LONGEST
from api.entries import Entry, Text, Version

RoleWord = Literal["watch", "operate", "own"]
ROLE_SAYS: Final = "watch: see everything; operate: enter and change; own: also these pages."
MOST_SCOPES: Final = 20
LONGEST_DAYS: Final = 3650


class NewPerson(Entry):
    """Somebody who shall be able to sign in."""

    name: Text
    role: Annotated[RoleWord, Field(description=ROLE_SAYS)]
    passphrase: Annotated[
        str | None, Field(max_length=LONGEST, description="One is made where none is given.")
    ] = None


class PersonChange(Entry):
    """What somebody shall be called and may do from now on."""

    name: Text
    role: Annotated[RoleWord, Field(description=ROLE_SAYS)]
    version: Version


class PersonRecord(BaseModel):
    """Somebody who may sign in."""

    id: UUID
    name: str
    role: RoleWord
    version: int
    made_at: AwareDatetime


class PersonMade(PersonRecord):
    """The same, with the passphrase; it is shown this once."""

    passphrase: str


class NewPassphrase(Entry):
    """Another passphrase for somebody."""

    passphrase: Annotated[
        str | None, Field(max_length=LONGEST, description="One is made where none is given.")
    ] = None


class PassphraseMade(BaseModel):
    """A passphrase, shown this once."""

    passphrase: str


class SessionRecord(BaseModel):
    """A browser or a phone that is signed in."""

    id: UUID
    person_id: Annotated[UUID | None, Field(description="Null is a phone with its own role.")]
    name: Annotated[str, Field(description="The phone's name; or the browser, in words.")]
    role: Annotated[RoleWord | None, Field(description="A phone's; else the person's holds.")]
    made_at: AwareDatetime
    seen_at: Annotated[AwareDatetime, Field(description="To the hour.")]
    until_at: AwareDatetime


class NewToken(Entry):
    """A program that shall be able to come in."""

    name: Text
    scopes: Annotated[
        list[Annotated[str, Field(max_length=100)]],
        Field(
            min_length=1,
            max_length=MOST_SCOPES,
            description="Roles, or roles in one area, as watch or operate:vessels.",
        ),
    ]
    days: Annotated[
        int | None,
        Field(ge=1, le=LONGEST_DAYS, description="How long it holds; null: until ended."),
    ] = None


class TokenRecord(BaseModel):
    """A program's token, without its secret."""

    id: UUID
    name: str
    scopes: list[str]
    made_at: AwareDatetime
    seen_at: Annotated[AwareDatetime | None, Field(description="To the hour; null: never used.")]
    until_at: AwareDatetime | None


class TokenMade(TokenRecord):
    """The same, with the secret; it is shown this once."""

    secret: str


class NewLink(Entry):
    """A phone that shall be signed in by a link."""

    name: Text
    role: Annotated[RoleWord, Field(description=ROLE_SAYS)]


class LinkRecord(BaseModel):
    """A link that adds one phone, once."""

    id: UUID
    name: str
    role: RoleWord
    made_at: AwareDatetime
    until_at: AwareDatetime
    address: Annotated[
        str | None, Field(description="To open on the phone; null where no phone can reach it.")
    ]


class EventRecord(BaseModel):
    """Something that happened at the doors."""

    at: AwareDatetime
    kind: str
    who: Annotated[str, Field(description="Empty where nobody was signed in.")]
    about: str
    address: Annotated[str, Field(description="Empty from the command line.")]
