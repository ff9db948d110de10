"""Facts as they stand: of the records about a thing, the one no other supersedes."""

from collections.abc import Sequence
from typing import TypeVar

from sqlalchemy import ColumnElement
from sqlmodel import Session, col, select

from logger.store.tables import Fact

F = TypeVar("F", bound=Fact)
Clause = ColumnElement[bool] | bool


def current(session: Session, kind: type[F], *where: Clause) -> Sequence[F]:
    """Read the records of a kind that count: not superseded, not withdrawn."""
    return newest(session, kind, col(kind.withdrawn).is_(False), *where)


def newest(session: Session, kind: type[F], *where: Clause) -> Sequence[F]:
    """Read the newest record about every thing, those taken back as well."""
    later = select(kind.supersedes).where(col(kind.supersedes).is_not(None))
    chosen = select(kind).where(col(kind.id).not_in(later), *where)
    return session.exec(chosen.order_by(col(kind.effective_at), col(kind.id))).all()
