"""Lots as they stand in a list: what they hold, how strong, where, and from where. Pure."""

from collections.abc import Iterator
from uuid import UUID

from api.record.books_read import BooksRead
from api.record.ledger import Bulk
from api.reviews.batch_read import Cellar
from api.reviews.bodies_batch import LotRowBody
from logger.store.record_tables import Lot

EMPTY_L = 1e-6  # less is rounding
MOST_NAMED = 12


def lot_rows(cellar: Cellar, batch: str | None = None) -> list[LotRowBody]:
    """Show all lots, or those of a batch."""
    lots = cellar.books.lots.values()
    return [_row(cellar, one) for one in lots if batch is None or one.batch == batch]


def in_store(row: LotRowBody) -> bool:
    """Say whether anything is left in a lot: of what is not known may be, and water comes anew."""
    return row.kind == "water" or row.volume_l is None or row.volume_l > EMPTY_L


def _row(cellar: Cellar, lot: Lot) -> LotRowBody:
    book = cellar.books.books.get(lot.about)
    held = book[-1].held if book else None
    volume_l = None if held is None else max(held.volume_l, 0.0)
    pure_l = None if held is None else max(held.alcohol.pure_alcohol_l, 0.0)
    return LotRowBody(
        id=lot.about,
        kind=lot.kind,
        name=lot.name,
        batch=lot.batch,
        vessel=cellar.vessel_names.get(lot.vessel) if lot.vessel else None,
        since=lot.effective_at,
        origin=lot.origin,
        came_from=list(dict.fromkeys(_sources(cellar.books, lot.about)))[:MOST_NAMED],
        volume_l=volume_l,
        abv=_abv(held),
        pure_alcohol_l=pure_l,
    )


def _abv(held: Bulk | None) -> float | None:
    if held is None or held.volume_l <= EMPTY_L:
        return None
    return 100.0 * max(held.alcohol.pure_alcohol_l, 0.0) / held.volume_l


def _sources(books: BooksRead, lot: UUID) -> Iterator[str]:
    """Name what was put in; several jars of a run are named by their run."""
    for one in books.movements:
        if one.to_lot == lot and one.from_lot is not None:
            run = books.jar_runs.get(one.from_lot, one.from_lot)
            yield books.name_of(run if run in books.runs else one.from_lot)
