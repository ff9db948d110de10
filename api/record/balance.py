"""The balance of a batch, and the book of a lot, as the pages show them."""

from collections.abc import Mapping
from typing import Annotated
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.access import Role, needs
from api.errors import declared
from api.house import Housed
from api.record.amounts import COVERAGE, ROUNDING_L, Amount, total
from api.record.balancing import Name, balance, doubts_of, most_from_bill
from api.record.books_read import read_books
from api.record.claims import Doubt
from api.record.entering import newest
from api.record.entries import entries
from api.record.ledger import Bulk, account
from api.record.stages import ExpectedBody, expectation
from api.routing import Router
from logger.errors import NotFoundError
from logger.store.record_tables import Batch

router = Router(tags=["balance"], dependencies=[needs(Role.WATCH)])


def plain(value: float) -> float:
    """Show what rounding left of nothing as nothing."""
    return 0.0 if abs(value) < ROUNDING_L else value


class AmountBody(BaseModel):
    """Pure alcohol, litres at 20 °C, with one standard error."""

    pure_alcohol_l: float
    error_l: float

    @classmethod
    def of(cls, amount: Amount) -> "AmountBody":
        """Show an amount."""
        return cls(pure_alcohol_l=plain(amount.pure_alcohol_l), error_l=amount.error_l)


class TermBody(AmountBody):
    """One term of a balance."""

    name: str


class SlipBody(BaseModel):
    """A slip that would explain a doubt."""

    kind: str
    about: str
    sentence: str
    left_l: Annotated[float, Field(description="What would be left of the difference.")]


class DoubtBody(BaseModel):
    """What cannot be true, with the likely slips, the likeliest first."""

    subject: str
    sentence: str
    excess_l: float | None
    error_l: float | None
    slips: list[SlipBody]

    @classmethod
    def of(cls, one: Doubt) -> "DoubtBody":
        """Show a doubt."""
        return cls(
            subject=one.subject,
            sentence=one.sentence,
            excess_l=one.excess_l,
            error_l=one.error_l,
            slips=[
                SlipBody(
                    kind=slip.kind, about=slip.about, sentence=slip.sentence, left_l=slip.left_l
                )
                for slip in one.slips
            ],
        )


class BalanceBody(BaseModel):
    """Where a batch's alcohol came from and went; `came` and `found` add up to the same."""

    batch: str
    expected: ExpectedBody | None
    expected_why: str | None
    came: list[TermBody]
    found: list[TermBody]
    came_total: AmountBody
    found_total: AmountBody
    collected: Annotated[AmountBody, Field(description="Over all runs; in neither sum.")]
    unaccounted_l: Annotated[float, Field(description="What rounding leaves.")]
    coverage: Annotated[float, Field(description="Standard errors beyond which it is doubted.")]
    left_out: Annotated[int, Field(description="Entries without a measured volume or strength.")]
    doubts: list[DoubtBody]


class BulkBody(BaseModel):
    """A volume at 20 °C and its pure alcohol."""

    volume_l: float
    pure_alcohol_l: float
    error_l: float

    @classmethod
    def of(cls, bulk: Bulk) -> "BulkBody":
        """Show a bulk."""
        alcohol = bulk.alcohol
        return cls(
            volume_l=plain(bulk.volume_l),
            pure_alcohol_l=plain(alcohol.pure_alcohol_l),
            error_l=alcohol.error_l,
        )


class StepBody(BaseModel):
    """One line of a lot's book."""

    at: AwareDatetime
    source_id: UUID
    way: str
    other_id: UUID | None
    other: str | None
    change: BulkBody
    held: BulkBody


class LotBalanceBody(BaseModel):
    """A lot's, a jar's or a run's own book."""

    id: UUID
    name: str
    steps: list[StepBody]
    difference: Annotated[BulkBody, Field(description="Found at gaugings, in all.")]
    held: BulkBody
    unaccounted_l: float
    doubts: list[DoubtBody]


@router.get("/batches/{batch_id}/balance", responses=declared(404))
def of_batch(house: Housed, batch_id: UUID) -> BalanceBody:
    """Return the balance of a batch and what of it cannot be true."""
    batch = newest(house, Batch, batch_id)
    expected, why = expectation(entries(house, batch.name))
    most_l = None if expected is None else most_from_bill(expected.pure_alcohol_high_l)
    read = read_books(house.reader.engine)
    found = balance(read, batch.name, most_l)
    left_out = sum(read.batch_of_entry(one) == batch.name for one in read.left_out)
    return BalanceBody(
        batch=batch.name,
        expected=expected,
        expected_why=why,
        came=_terms(found.came),
        found=_terms(found.found),
        came_total=AmountBody.of(total(found.came.values())),
        found_total=AmountBody.of(total(found.found.values())),
        collected=AmountBody.of(found.collected),
        unaccounted_l=found.unaccounted_l,
        coverage=COVERAGE,
        left_out=left_out,
        doubts=[DoubtBody.of(one) for one in found.doubts],
    )


@router.get("/lots/{lot_id}/balance", responses=declared(404))
def of_lot(house: Housed, lot_id: UUID) -> LotBalanceBody:
    """Return the book of a lot, a jar or a run, line by line."""
    read = read_books(house.reader.engine)
    book = read.books.get(lot_id)
    if book is None:
        raise NotFoundError(
            f"Nothing has been moved to or from {lot_id} or measured of it; load the list again."
        )
    found = account(read.books, lambda node: node == lot_id)
    return LotBalanceBody(
        id=lot_id,
        name=read.name_of(lot_id),
        steps=[
            StepBody(
                at=one.at,
                source_id=one.source,
                way=one.way,
                other_id=one.other,
                other=None if one.other is None else read.name_of(one.other),
                change=BulkBody.of(one.change),
                held=BulkBody.of(one.held),
            )
            for one in book
        ],
        difference=BulkBody.of(found.difference),
        held=BulkBody.of(found.held),
        unaccounted_l=found.residual_l,
        doubts=[DoubtBody.of(one) for one in doubts_of(read, lot_id)],
    )


def _terms(terms: Mapping[Name, Amount]) -> list[TermBody]:
    return [TermBody(name=name, **AmountBody.of(one).model_dump()) for name, one in terms.items()]
