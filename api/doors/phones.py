"""Phones: a link that signs one phone in, once, with the role chosen, until it expires."""

import io
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID, uuid4

from api.access import Role
from api.doors import sessions
from api.doors.book import Book, Doer, held
from api.doors.signing import Seal
from logger.store.door_tables import DoorLink

LASTS: Final = timedelta(minutes=15)
PAGE: Final = "doors.html"


def make(book: Book, doer: Doer, name: str, role: Role) -> DoorLink:
    """Make a link for one phone."""
    with book.changing() as session:
        now = book.now()
        made = DoorLink(id=uuid4(), name=name, role=role.word, made_at=now, until_at=now + LASTS)
        session.add(made)
        book.note(session, "link made", doer, f"{name}, {role.word}")
    return made


def address(seal: Seal, link: DoorLink, root: str) -> str:
    """Return the link. Its key stands behind the #, which a browser tells no server and no log."""
    return f"{root.rstrip('/')}/{PAGE}#{seal.sign('link', link.id)}"


def code(text: str) -> str:
    """Draw a QR code (ISO/IEC 18004) as SVG."""
    import segno  # noqa: PLC0415 - kept out of memory until a code is drawn

    drawn = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        drawn, kind="svg", scale=1, border=4, xmldecl=False, svgclass="qr", lineclass="qr-line",
        omitsize=True, dark="#000", light="#fff", title="QR code",
    )  # fmt: skip
    return drawn.getvalue().decode("utf-8")


def in_text(text: str) -> str:
    """Draw a QR code for a terminal."""
    import segno  # noqa: PLC0415 - as above

    drawn = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(out=drawn, compact=True)
    return drawn.getvalue()


def open_links(book: Book) -> Sequence[DoorLink]:
    """Return the links that still let a phone in."""
    now = book.now()
    return [one for one in book.standing(DoorLink) if usable(one, now)]


def usable(link: DoorLink, now: datetime) -> bool:
    """Say whether a link lets a phone in."""
    return link.ended_at is None and link.used_at is None and link.until_at > now


def redeem(book: Book, number: UUID, at: str) -> tuple[UUID, DoorLink] | None:
    """Sign the phone in that came by a link; None where the link was used or has expired."""
    with book.changing() as session:
        link = session.get(DoorLink, number)
        if link is None or not usable(link, book.now()):
            return None
        link.used_at = book.now()
        session.add(link)
        begun = sessions.begin_phone(book, session, link)
        book.note(session, "phone added", Doer(link.name, at), link.role)
    return begun, link


def end(book: Book, doer: Doer, number: UUID) -> None:
    """Take back a link nobody has used."""
    with book.changing() as session:
        link = held(session, DoorLink, number)
        link.ended_at = book.now()
        session.add(link)
        book.note(session, "link ended", doer, link.name)
