"""What the owner keeps at the doors: people, sessions, tokens, phones, and what happened."""

from datetime import timedelta
from uuid import UUID

from fastapi import Response

from api.access import Asking, Role, needs
from api.doors import people, phones, sessions, tokens
from api.doors.entering import Hallway, Inside
from api.doors.reach import UNREACHED, root_of
from api.doors.records import (
    EventRecord,
    LinkRecord,
    NewLink,
    NewPassphrase,
    NewPerson,
    NewToken,
    PassphraseMade,
    PersonChange,
    PersonMade,
    PersonRecord,
    SessionRecord,
    TokenMade,
    TokenRecord,
)
from api.errors import declared
from api.routing import Router
from logger.errors import ConflictError, NotFoundError
from logger.store.door_tables import DoorLink, DoorSession, DoorToken, Person

router = Router(dependencies=[needs(Role.OWN)])


@router.get("/people")
def all_people(inside: Inside) -> list[PersonRecord]:
    """Return everybody who may sign in."""
    return [_person(one) for one in inside.book.standing(Person)]


@router.post("/people", status_code=201, responses=declared(409))
def add_person(inside: Inside, asking: Asking, body: NewPerson) -> PersonMade:
    """Add somebody; their passphrase is in the answer and cannot be read again."""
    role, doer = people.ROLES[body.role], inside.doer(asking.name)
    made, passphrase = people.add(inside.book, doer, body.name, role, body.passphrase)
    return PersonMade(**_person(made).model_dump(), passphrase=passphrase)


@router.put("/people/{person_id}", responses=declared(404, 409))
def change_person(
    inside: Inside, asking: Asking, person_id: UUID, body: PersonChange
) -> PersonRecord:
    """Change somebody's name or role; it holds at once, wherever they are signed in."""
    doer, role = inside.doer(asking.name), people.ROLES[body.role]
    return _person(
        people.change(inside.book, doer, person_id, name=body.name, role=role, version=body.version)
    )


@router.delete("/people/{person_id}", status_code=204, responses=declared(404, 409))
def remove_person(inside: Inside, asking: Asking, person_id: UUID) -> None:
    """Let somebody in no more; what they entered keeps their name."""
    people.remove(inside.book, inside.doer(asking.name), person_id)


@router.post("/people/{person_id}/passphrase", responses=declared(404))
def renew_passphrase(
    inside: Inside, asking: Asking, person_id: UUID, body: NewPassphrase
) -> PassphraseMade:
    """Give somebody another passphrase; it is in the answer, and signs them out everywhere."""
    doer = inside.doer(asking.name)
    signed = inside.session()
    mine = signed.id if signed and signed.person == person_id else None
    made = people.renew(inside.book, doer, person_id, body.passphrase, keep=mine)
    return PassphraseMade(passphrase=made)


@router.post("/people/{person_id}/sign-out", status_code=204, responses=declared(404))
def sign_person_out(inside: Inside, asking: Asking, person_id: UUID) -> None:
    """Sign somebody out everywhere."""
    person = people.named(inside.book, person_id)
    sessions.end_all(inside.book, inside.doer(asking.name), person)


@router.post("/sign-everybody-out", status_code=204)
def sign_everybody_out(inside: Inside, asking: Asking) -> None:
    """Sign everybody and every phone out, oneself included."""
    sessions.end_all(inside.book, inside.doer(asking.name))


@router.get("/sessions")
def all_sessions(inside: Inside) -> list[SessionRecord]:
    """Return every browser and phone that is signed in, the last used first."""
    return [_session(one) for one in sessions.standing(inside.book)]


@router.delete("/sessions/{session_id}", status_code=204, responses=declared(404))
def end_session(inside: Inside, asking: Asking, session_id: UUID) -> None:
    """Sign one browser or phone out."""
    sessions.end(inside.book, inside.doer(asking.name), session_id)


@router.get("/areas")
def areas(inside: Inside) -> list[str]:
    """Return the areas of the API that a token's scope can name."""
    return list(inside.doors.areas)


@router.get("/tokens")
def all_tokens(inside: Inside) -> list[TokenRecord]:
    """Return the tokens that hold, without their secrets."""
    now = inside.book.now()
    return [_token(one) for one in inside.book.standing(DoorToken) if tokens.holds(one, now)]


@router.post("/tokens", status_code=201)
def make_token(inside: Inside, asking: Asking, body: NewToken) -> TokenMade:
    """Make a token for a program; its secret is in the answer and cannot be read again."""
    scopes = [tokens.scope(one, inside.doors.areas) for one in body.scopes]
    until = None if body.days is None else inside.book.now() + timedelta(days=body.days)
    made, secret = tokens.make(inside.book, inside.doer(asking.name), body.name, scopes, until)
    return TokenMade(**_token(made).model_dump(), secret=secret)


@router.delete("/tokens/{token_id}", status_code=204, responses=declared(404))
def end_token(inside: Inside, asking: Asking, token_id: UUID) -> None:
    """Let a token in no more."""
    tokens.end(inside.book, inside.doer(asking.name), token_id)


@router.get("/links")
def all_links(inside: Inside) -> list[LinkRecord]:
    """Return the links that no phone has used yet."""
    return [_link(inside, one) for one in phones.open_links(inside.book)]


@router.post("/links", status_code=201, responses=declared(409))
def make_link(inside: Inside, asking: Asking, body: NewLink) -> LinkRecord:
    """Make a link that signs one phone in, once, within a quarter of an hour."""
    if _root(inside) is None:
        raise ConflictError(UNREACHED)
    role = people.ROLES[body.role]
    return _link(inside, phones.make(inside.book, inside.doer(asking.name), body.name, role))


@router.get(
    "/links/{link_id}/code.svg",
    response_class=Response,
    responses={
        200: {
            "description": "A QR code as SVG.",
            "content": {"image/svg+xml": {"schema": {"type": "string"}}},
        },
        **declared(404, 409),
    },
)
def link_code(inside: Inside, link_id: UUID) -> Response:
    """Draw the link as a QR code, for the phone's camera."""
    link = next((one for one in phones.open_links(inside.book) if one.id == link_id), None)
    if link is None:
        raise NotFoundError("This link was used already or is too old; make a new one.")
    address = _link(inside, link).address
    if address is None:
        raise ConflictError(UNREACHED)
    return Response(phones.code(address), media_type="image/svg+xml")


@router.delete("/links/{link_id}", status_code=204, responses=declared(404))
def end_link(inside: Inside, asking: Asking, link_id: UUID) -> None:
    """Take back a link no phone has used."""
    phones.end(inside.book, inside.doer(asking.name), link_id)


@router.get("/events")
def events(inside: Inside) -> list[EventRecord]:
    """Return what happened at the doors, newest first: the last 500 events."""
    return [
        EventRecord(at=one.at, kind=one.kind, who=one.who, about=one.about, address=one.address)
        for one in inside.book.events()
    ]


def _person(one: Person) -> PersonRecord:
    return PersonRecord.model_validate(one.model_dump())


def _session(one: DoorSession) -> SessionRecord:
    return SessionRecord.model_validate(one.model_dump() | {"person_id": one.person})


def _token(one: DoorToken) -> TokenRecord:
    return TokenRecord.model_validate(one.model_dump() | {"scopes": one.scopes.split()})


def _root(inside: Hallway) -> str | None:
    return root_of(inside.request, inside.asks, inside.doors.house.settings)


def _link(inside: Hallway, one: DoorLink) -> LinkRecord:
    root = _root(inside)
    address = None if root is None else phones.address(inside.doors.seal, one, root)
    return LinkRecord.model_validate(one.model_dump() | {"address": address})
