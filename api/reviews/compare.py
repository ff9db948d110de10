"""Up to four runs laid over each other."""

from typing import Annotated, Final
from uuid import UUID

from fastapi import Query

from api.access import Role, needs
from api.errors import declared
from api.house import House, Housed
from api.reviews.aligning import Align, Aligned, align
from api.reviews.bodies_compared import ComparisonBody
from api.reviews.comparing import comparison
from api.reviews.facts_read import Site, ground
from api.reviews.figures import Figures
from api.reviews.pinned import references
from api.reviews.refining import refined
from api.routing import Router
from logger.errors import RangeError

MOST: Final = 4

router = Router(prefix="/compare", tags=["reviews"], dependencies=[needs(Role.WATCH)])


@router.get("", responses=declared(404))
def compare(
    house: Housed,
    run: Annotated[
        list[UUID], Query(min_length=1, max_length=MOST, description="Up to four; say it again.")
    ],
    align: Align = "first_drop",
    buckets: Annotated[int, Query(ge=20, le=2000)] = 400,
) -> ComparisonBody:
    """Return runs on one axis, with a table of what differs from the first."""
    if len(set(run)) < len(run):
        raise RangeError("A run is named twice; name each once.", field="run")
    site = Site.read(house.reader.engine)
    found = [Figures(ground(house, one, site)) for one in run]
    places = [aligned(house, one, align) for one in found]
    pinned = frozenset[object](one.refers for one in references(house))
    return comparison(found, places, align, buckets, pinned)


def aligned(house: House, run: Figures, by: Align) -> Aligned:
    """Put a run on an axis, its zero to the second."""
    if by in {"heat_on", "first_drop"}:
        return align(run, by, refined(house, run, "heat_on" if by == "heat_on" else "first_drop"))
    return align(run, by)
