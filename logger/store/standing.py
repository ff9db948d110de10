"""Facts as they stand: of the records about a thing, the one no other supersedes."""

from collections.abc import Sequence
from functools import cache
from typing import TypeVar

from sqlalchemy import ColumnElement
from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select
from sqlmodel.sql.expression import SelectOfScalar

from logger.store.tables import Fact

F = TypeVar("F", bound=Fact)
Clause = ColumnElement[bool] | bool


def current(session: Session, kind: type[F], *where: Clause) -> Sequence[F]:
    """Read the records of a kind that count: not superseded, not withdrawn."""
    chosen = _current(kind)
    return session.exec(chosen.where(*where) if where else chosen).all()


def newest(session: Session, kind: type[F], *where: Clause) -> Sequence[F]:
    """Read the newest record about every thing, those taken back as well."""
    chosen = _newest(kind)
    return session.exec(chosen.where(*where) if where else chosen).all()


# Kept, as asking is what the service does most: putting a question together, and finding it
# among those already compiled, takes longer than its answer.
@cache
def _current(kind: type[F]) -> SelectOfScalar[F]:
    return _newest(kind).where(col(kind.withdrawn).is_(False))


@cache
def _newest(kind: type[F]) -> SelectOfScalar[F]:
    chosen = select(kind).where(_stands(kind))
    return chosen.order_by(col(kind.effective_at), col(kind.id))


def _stands(kind: type[Fact]) -> ColumnElement[bool]:
    """Say that no other supersedes a record: looked up by index, however long the record is."""
    later = aliased(kind)
    return ~select(later.id).where(col(later.supersedes) == col(kind.id)).exists()
