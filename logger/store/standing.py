"""Facts as they stand: of the records about a thing, the one no other supersedes."""

from collections.abc import Sequence
from functools import cache
from typing import TypeVar

from sqlalchemy import ColumnElement
from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select

from logger.store.tables import Fact

F = TypeVar("F", bound=Fact)
Clause = ColumnElement[bool] | bool


def current(session: Session, kind: type[F], *where: Clause) -> Sequence[F]:
    """Read the records of a kind that count: not superseded, not withdrawn."""
    return newest(session, kind, col(kind.withdrawn).is_(False), *where)


def newest(session: Session, kind: type[F], *where: Clause) -> Sequence[F]:
    """Read the newest record about every thing, those taken back as well."""
    chosen = select(kind).where(_stands(kind), *where)
    return session.exec(chosen.order_by(col(kind.effective_at), col(kind.id))).all()


@cache
def _stands(kind: type[Fact]) -> ColumnElement[bool]:
    """Say that no other supersedes a record: looked up by index, however long the record is."""
    later = aliased(kind)
    return ~select(later.id).where(col(later.supersedes) == col(kind.id)).exists()
