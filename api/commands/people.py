"""`wormtub people`: who may come in from elsewhere. For whoever may read the data folder.

It works beside the service, which looks each visitor up anew: what is done here holds at once.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated, Final

import typer

from api.commands import options

if TYPE_CHECKING:
    from uuid import UUID

    from api.access import Role
    from api.doors.book import Book, Doer
    from api.doors.signing import Seal
    from logger.settings import Settings

people = typer.Typer(
    no_args_is_help=True, help="Who may come in from elsewhere: people, phones, programs."
)
Name = Annotated[str, typer.Argument(help="What they are called.")]
RoleWord = Annotated[
    str, typer.Option("--role", metavar="ROLE", help="watch, operate (enter and change) or own.")
]
SHOWN_ONCE: Final = "It is shown this once; they can change it on the page People."


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.add_typer(people, name="people")


@people.command(name="list")
def show(config: options.Config = None, data: options.Data = None) -> None:
    """List people, phones, tokens, and where they are signed in."""
    from api.doors import sessions, tokens
    from logger.store.door_tables import DoorToken, Person

    with _opened(config, data) as (_, book, _seal):
        signed = sessions.standing(book)
        for one in book.standing(Person):
            count = sum(1 for each in signed if each.person == one.id)
            typer.echo(f"{one.name}: {one.role}, signed in on {count}")
        for phone in signed:
            if phone.person is None:
                typer.echo(f"{phone.name}: {phone.role}, a phone")
        for token in book.standing(DoorToken):
            ended = "" if tokens.holds(token, book.now()) else ", expired"
            typer.echo(f"{token.name}: {token.scopes}, a token{ended}")


@people.command()
def add(
    name: Name, role: RoleWord, config: options.Config = None, data: options.Data = None
) -> None:
    """Add somebody, and print the passphrase made for them, once."""
    from api.doors import people as kept

    with _opened(config, data) as (_, book, _seal):
        _, passphrase = kept.add(book, _doer(), _name(name), _role(role))
        typer.echo(f"{_name(name)} may {role}. The passphrase is\n\n    {passphrase}\n")
        typer.echo(SHOWN_ONCE)


@people.command()
def passphrase(name: Name, config: options.Config = None, data: options.Data = None) -> None:
    """Make another passphrase for somebody, and print it, once; signs them out everywhere."""
    from api.doors import people as kept

    with _opened(config, data) as (_, book, _seal):
        person = kept.must_be_called(book, name)
        made = kept.renew(book, _doer(), person.id)
        typer.echo(f"The passphrase of {person.name} is now\n\n    {made}\n\n{SHOWN_ONCE}")


@people.command(name="role")
def change_role(
    name: Name,
    role: Annotated[str, typer.Argument(help="watch, operate or own.")],
    config: options.Config = None,
    data: options.Data = None,
) -> None:
    """Let somebody do more, or less."""
    from api.doors import people as kept

    with _opened(config, data) as (_, book, _seal):
        one = kept.must_be_called(book, name)
        kept.change(book, _doer(), one.id, name=one.name, role=_role(role), version=one.version)
        typer.echo(f"{one.name} may {role}.")


@people.command()
def remove(name: Name, config: options.Config = None, data: options.Data = None) -> None:
    """Let somebody in no more; what they entered keeps their name."""
    from api.doors import people as kept

    with _opened(config, data) as (_, book, _seal):
        person = kept.must_be_called(book, name)
        kept.remove(book, _doer(), person.id)
        typer.echo(f"{person.name} is let in no more.")


@people.command()
def sign_out(
    name: Annotated[str | None, typer.Argument(help="Whom; without it, everybody.")] = None,
    config: options.Config = None,
    data: options.Data = None,
) -> None:
    """Sign somebody out everywhere; or everybody, and every phone."""
    from api.doors import people as kept
    from api.doors import sessions

    with _opened(config, data) as (_, book, _seal):
        person = None if name is None else kept.must_be_called(book, name)
        count = sessions.end_all(book, _doer(), person)
        typer.echo(f"Signed out: {count}.")


@people.command()
def phone(
    name: Name,
    role: RoleWord,
    address: Annotated[
        str | None,
        typer.Option(metavar="URL", help="Where the phone reaches the service; else as set."),
    ] = None,
    config: options.Config = None,
    data: options.Data = None,
) -> None:
    """Print a link and its QR code that sign one phone in, once, within a quarter of an hour."""
    from api.doors import phones
    from api.doors.reach import UNREACHED, root
    from logger.errors import SettingsError

    with _opened(config, data) as (settings, book, seal):
        reached = address or root(settings)
        if reached is None:
            raise SettingsError(f"{UNREACHED} Or give its address with --address.")
        made = phones.make(book, _doer(), _name(name), _role(role))
        link = phones.address(seal, made, reached)
        typer.echo(phones.in_text(link))
        typer.echo(link)


@people.command()
def token(
    name: Name,
    scope: Annotated[
        list[str], typer.Option("--scope", metavar="SCOPE", help="watch, or as operate:vessels.")
    ],
    config: options.Config = None,
    data: options.Data = None,
) -> None:
    """Make a token for a program, and print its secret, once."""
    from api.app import areas
    from api.doors import tokens

    scopes = [tokens.scope(one, areas()) for one in scope]
    with _opened(config, data) as (_, book, _seal):
        _, secret = tokens.make(book, _doer(), _name(name), scopes)
        typer.echo(f"{secret}\n\nIt is shown this once, and goes into the header")
        typer.echo("Authorization: Bearer TOKEN")


@people.command()
def end_token(name: Name, config: options.Config = None, data: options.Data = None) -> None:
    """Let the tokens of a name in no more."""
    from api.doors import tokens
    from logger.errors import NotFoundError
    from logger.store.door_tables import DoorToken

    with _opened(config, data) as (_, book, _seal):
        found: list[UUID] = [one.id for one in book.standing(DoorToken) if one.name == name]
        if not found:
            raise NotFoundError(f'No token is called "{name[:60]}"; wormtub people list shows all.')
        for one in found:
            tokens.end(book, _doer(), one)
        typer.echo(f"Ended: {len(found)}.")


@people.command()
def events(
    count: Annotated[int, typer.Option(min=1, max=500, help="How many, the newest.")] = 50,
    config: options.Config = None,
    data: options.Data = None,
) -> None:
    """List what happened at the doors, oldest first."""
    with _opened(config, data) as (_, book, _seal):
        for one in reversed(book.events(count)):
            parts = (f"{one.at:%Y-%m-%d %H:%M:%SZ}", one.kind, one.about, one.who, one.address)
            typer.echo("  ".join(part for part in parts if part))


@contextmanager
def _opened(config: options.Config, data: options.Data) -> Iterator["tuple[Settings, Book, Seal]"]:
    """Open the store of the settings, beside a service that may be running."""
    from api.doors.book import Book
    from api.doors.signing import Seal
    from logger.settings import load
    from logger.store import database
    from logger.store.types import now

    settings = load(config, data=data)
    database.prepare(settings.data)
    engine = database.engine(settings.data)
    try:
        seal = Seal(settings.data, database.identity(engine).epoch)
        yield settings, Book(engine, engine, now), seal
    finally:
        engine.dispose()


def _doer() -> "Doer":
    from getpass import getuser

    from api.doors.book import Doer

    return Doer(f"{getuser()} at the command line")


def _role(word: str) -> "Role":
    from api.doors.people import ROLES
    from logger.errors import SettingsError

    if word not in ROLES:
        raise SettingsError(f'"{word[:60]}" is no role: give watch, operate or own.')
    return ROLES[word]


def _name(text: str) -> str:
    from logger.errors import SettingsError

    name = text.strip()
    if not 0 < len(name) <= 60 or not name.isprintable():
        raise SettingsError("A name needs 1 to 60 signs that can be printed.")
    return name
