"""One batch begun from another's plan: the link is kept, the plan is worked out when asked.

The link is an entry of the record that stands nowhere else: its name is the new batch's id, it
refers to the old one, and its text is what had been learned.
"""

from collections.abc import Sequence
from uuid import UUID, uuid5

from sqlmodel import col

from api.access import Visitor
from api.entries import entered
from api.house import House
from api.record.entering import add, newest
from api.reviews.batch_read import FOLLOWS
from api.reviews.bodies_batch import LinkBody, NextBatch
from logger.errors import ConflictError
from logger.store import facts
from logger.store.record_tables import Batch, StageEntry

LINKS = UUID("5b0a7a52-6d1f-4c1e-9f6e-0f5d7c9a2e11")  # makes a link's id of its batch's


def begin_next(house: House, asking: Visitor, old: Batch, body: NextBatch) -> Batch:
    """Begin a batch like another; sent twice, it is begun once."""
    known = body.id is not None and facts.with_withdrawn(
        house.engine, Batch, col(Batch.about) == body.id
    )
    if not known and facts.all_current(house.engine, Batch, col(Batch.name) == body.name):
        raise ConflictError(
            f"There is a batch {body.name} already; give the next one a name of its own.",
            field="name",
        )
    columns = entered(house, asking)
    made = Batch.first(
        id=body.id, name=body.name, kind_of_wash=old.kind_of_wash, on_grain=old.on_grain,
        note=body.note, **columns,
    )  # fmt: skip
    link = StageEntry.first(
        id=uuid5(LINKS, str(made.about)), kind=FOLLOWS, name=str(made.about), refers=old.about,
        text=body.learned, **columns,
    )  # fmt: skip
    return add(house, made, link)


def link_of(links: Sequence[StageEntry], batch: UUID) -> StageEntry | None:
    """Return from whose plan a batch was begun."""
    return next((one for one in links if one.name == str(batch)), None)


def before(house: House, link: StageEntry) -> LinkBody | None:
    """Show the batch a link leads back to."""
    return None if link.refers is None else _body(house, link, link.refers)


def after(house: House, links: Sequence[StageEntry], batch: UUID) -> list[LinkBody]:
    """Show the batches that were begun from a batch's plan."""
    return [_body(house, one, UUID(one.name)) for one in links if one.refers == batch]


def _body(house: House, link: StageEntry, batch: UUID) -> LinkBody:
    return LinkBody(
        batch_id=batch,
        name=newest(house, Batch, batch).name,
        learned=link.text,
        who=link.who,
        at=link.effective_at,
    )
