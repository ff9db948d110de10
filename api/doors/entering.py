"""Coming in and going out: sign-in, a phone's link, sign-out, one's own passphrase."""

from dataclasses import dataclass
from threading import BoundedSemaphore
from typing import Annotated, Final
from uuid import UUID

from fastapi import Depends, Request, Response
from pydantic import BaseModel, Field

from api.access import Asking, Role, needs
from api.doors import people, phones, sessions
from api.doors.addresses import Asker, asker
from api.doors.book import Book, Doer
from api.doors.doors import PLAIN_COOKIE, SECURE_COOKIE, Doors
from api.doors.passphrases import LONGEST, PassphraseError
from api.entries import Entry, Text
from api.errors import AccessError, SignInError, TooManyError, declared
from api.routing import Router
from logger.errors import NotFoundError
from logger.store.door_tables import Person

KEPT_S: Final = 400 * 86_400  # the longest a browser keeps a cookie: RFC 6265bis, 5.5
MOST_AT_ONCE: Final = 4  # sign-ins under way; the other threads stay with those who are in
WRONG: Final = "Name and passphrase do not fit together; try again, with a look at the keyboard."
USED_UP: Final = "This link was used already or is too old; ask for a new one."


class WrongPassphraseError(PassphraseError):
    """Somebody who is signed in does not know their passphrase as it is."""

    field = "now"


router = Router(dependencies=[needs(Role.ANYONE)])
_under_way = BoundedSemaphore(MOST_AT_ONCE)


@dataclass(frozen=True, slots=True)
class Hallway:
    """What the routes of the doors go by: the doors, the request, and who stands there."""

    doors: Doors
    request: Request
    asks: Asker

    @property
    def book(self) -> Book:
        """Return the book of the doors."""
        return self.doors.book

    def doer(self, name: str) -> Doer:
        """Return whoever asks, under a name, with their address."""
        return Doer(name, self.asks.address)

    def session(self) -> sessions.Signed | None:
        """Return the session the request carries."""
        return self.doors.session(self.request.cookies)

    def cookie(self, response: Response, number: UUID | None) -> None:
        """Give the browser its session, or take it away."""
        name = SECURE_COOKIE if self.asks.secure else PLAIN_COOKIE
        value = self.doors.seal.sign("session", number) if number else ""
        response.set_cookie(
            name,
            value,
            max_age=KEPT_S if number else 0,
            path="/",
            secure=self.asks.secure,
            httponly=True,
            samesite="lax",  # so that a link from outside finds one signed in; see also the door
        )


def hallway(request: Request) -> Hallway:
    """Return what the routes of the doors go by."""
    doors: Doors = request.app.state.doors
    return Hallway(doors, request, asker(request.scope, doors.trusted))


Inside = Annotated[Hallway, Depends(hallway)]
Passphrase = Annotated[str, Field(min_length=1, max_length=LONGEST)]


class SignIn(Entry):
    """A name and its passphrase."""

    name: Text
    passphrase: Passphrase


class Key(Entry):
    """The key a phone's link carries."""

    key: Annotated[str, Field(min_length=1, max_length=200)]


class SignOut(Entry):
    """How far to sign out."""

    everywhere: Annotated[
        bool, Field(description="Out of every browser of the same person, not of this one only.")
    ] = False


class PassphraseChange(Entry):
    """The passphrase as it is, and as it shall be."""

    now: Passphrase
    passphrase: Annotated[str, Field(max_length=LONGEST)]


class Me(BaseModel):
    """Who asks, as the service sees it."""

    name: str
    role: Annotated[str, Field(description="anyone, watch, operate or own.")]
    session_id: Annotated[UUID | None, Field(description="Null where no session is needed.")]
    has_passphrase: bool


@router.get("/me")
def me(inside: Inside, asking: Asking) -> Me:
    """Say who asks and what they may do."""
    signed = inside.session()
    return _me(asking.name, asking.role, signed)


@router.post("/sign-in")
def sign_in(inside: Inside, response: Response, body: SignIn) -> Me:
    """Sign a person in; the answer sets the session's cookie."""
    key = people.key(body.name)
    _let_try(inside, key)
    found = _compared(inside, body.name, body.passphrase)
    if found is None:
        _count(inside, key, body.name)
        raise SignInError(WRONG)
    inside.doors.attempts.succeeded(inside.asks.bucket, key)
    _leave(inside, found.name)
    doer = inside.doer(found.name)
    number = sessions.begin(inside.book, doer, found, _browser(inside.request))
    inside.cookie(response, number)
    return _me(found.name, people.ROLES[found.role], sessions.read(inside.book, number))


@router.post("/enter")
def enter(inside: Inside, response: Response, body: Key) -> Me:
    """Sign a phone in by the link it was given; the link is used up by it."""
    _let_try(inside, None)
    number = inside.doors.seal.read("link", body.key)
    begun = number and phones.redeem(inside.book, number, inside.asks.address)
    if not begun:
        _count(inside, None, "a link")
        raise SignInError(USED_UP)
    session, link = begun
    _leave(inside, link.name)
    inside.cookie(response, session)
    return _me(link.name, people.ROLES[link.role], sessions.read(inside.book, session))


@router.post("/sign-out", status_code=204, dependencies=[needs(Role.WATCH)])
def sign_out(inside: Inside, response: Response, asking: Asking, body: SignOut) -> None:
    """Sign this browser out, or the same person everywhere."""
    signed = inside.session()
    if signed is not None:
        doer = inside.doer(asking.name)
        if body.everywhere and signed.person is not None:
            sessions.end_all(inside.book, doer, people.named(inside.book, signed.person))
        else:
            sessions.end(inside.book, doer, signed.id)
    inside.cookie(response, None)


@router.put("/passphrase", status_code=204, dependencies=[needs(Role.WATCH)])
def change_passphrase(inside: Inside, asking: Asking, body: PassphraseChange) -> None:
    """Give oneself another passphrase; one's other browsers are signed out by it."""
    signed = inside.session()
    if signed is None or signed.person is None:
        raise AccessError("Only somebody who signed in by name has a passphrase to change.")
    person = people.named(inside.book, signed.person)
    key = people.key(person.name)
    _let_try(inside, key)
    if _compared(inside, person.name, body.now) is None:
        _count(inside, key, person.name)
        raise WrongPassphraseError("The passphrase as it is now does not fit; try again.")
    doer = inside.doer(asking.name)
    people.renew(inside.book, doer, person.id, body.passphrase, keep=signed.id)


@router.get(
    "/authority.crt",
    response_class=Response,
    responses={
        200: {
            "description": "An X.509 certificate in DER.",
            "content": {
                "application/x-x509-ca-cert": {"schema": {"type": "string", "format": "binary"}}
            },
        },
        **declared(404),
    },
)
def authority(inside: Inside) -> Response:
    """Return the certificate of the house's own authority, for a phone to trust."""
    from api.doors.certificate import authority_der  # noqa: PLC0415 - 9 MB, seldom wanted

    found = authority_der(inside.doors.house.settings.data)
    if found is None:
        raise NotFoundError("This house has no authority of its own; wormtub certificate makes it.")
    return Response(found, media_type="application/x-x509-ca-cert")


def _me(name: str, role: Role, signed: sessions.Signed | None) -> Me:
    return Me(
        name=name,
        role=role.word,
        session_id=signed.id if signed else None,
        has_passphrase=signed is not None and signed.person is not None,
    )


def _let_try(inside: Hallway, key: str | None) -> None:
    if not inside.asks.at_machine:
        inside.doors.attempts.check(inside.asks.bucket, key, inside.doors.now_s)


def _compared(inside: Hallway, name: str, passphrase: str) -> Person | None:
    if not _under_way.acquire(blocking=False):
        raise TooManyError("Others are signing in just now; try again in a moment.", 2.0)
    try:
        return people.signing_in(inside.book, name, passphrase)
    finally:
        _under_way.release()


def _count(inside: Hallway, key: str | None, about: str) -> None:
    if not inside.asks.at_machine:
        inside.doors.attempts.failed(inside.asks.bucket, key, inside.doors.now_s)
    inside.book.noted("sign-in failed", inside.doer(""), about)


def _leave(inside: Hallway, name: str) -> None:
    """End the session the browser came with: what it carried before lets nobody in afterwards."""
    signed = inside.session()
    if signed is not None:
        sessions.end(inside.book, inside.doer(name), signed.id)


def _browser(request: Request) -> str:
    """Name a browser by what it runs on, as far as it says."""
    said = request.headers.get("user-agent", "")
    if "iPad" in said or "Tablet" in said:
        return "a tablet"
    if "Mobi" in said:
        return "a phone"
    return "a computer" if said.startswith("Mozilla/") else "a program"
