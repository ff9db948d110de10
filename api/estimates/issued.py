"""What was estimated, kept as it was told and read again."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from sqlalchemy import Engine, select

from api.estimates.estimate import MODEL_VERSION, Estimate
from logger.store.estimate_tables import IssuedEstimate
from logger.store.failures import file_of, told
from logger.store.tables import table

ROUNDED: Final = 5  # decimals kept; finer than any band here


@dataclass(frozen=True, slots=True)
class Issue:
    """One estimate of a run, told as of a slot."""

    run_id: UUID
    slot: int
    at: datetime
    estimate: Estimate


@dataclass(frozen=True, slots=True)
class Issued:
    """An estimate as it was kept."""

    slot: int
    value: float | None
    low: float | None
    high: float | None
    low_68: float | None
    high_68: float | None
    why: str | None
    model_version: int


def keep(engine: Engine, issues: Iterable[Issue]) -> None:
    """Store estimates in one short transaction."""
    rows = [_row(one) for one in issues]
    if not rows:
        return
    with told(file_of(engine)), engine.begin() as connection:
        connection.execute(table(IssuedEstimate).insert(), rows)


def of_run(
    engine: Engine, run: UUID, quantity: str, from_slot: int, to_slot: int
) -> Sequence[Issued]:
    """Read what was told of one quantity of a run, oldest first."""
    columns = table(IssuedEstimate).c
    chosen = (
        select(*(columns[name] for name in Issued.__dataclass_fields__))
        .where(columns.run == run, columns.quantity == quantity)
        .where(columns.slot >= from_slot, columns.slot < to_slot)
        .order_by(columns.number)
    )
    with told(file_of(engine)), engine.connect() as connection:
        return [Issued(*row) for row in connection.execute(chosen)]


def _row(one: Issue) -> dict[str, object]:
    said = one.estimate
    return {
        "run": one.run_id,
        "slot": one.slot,
        "at": one.at,
        "quantity": said.quantity,
        "value": _rounded(said.value),
        "low": _rounded(said.low),
        "high": _rounded(said.high),
        "low_68": _rounded(said.low_68),
        "high_68": _rounded(said.high_68),
        "why": said.why,
        "model_version": MODEL_VERSION,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, ROUNDED)
