"""A probe put in another's place: the place keeps its history, each probe its calibrations."""

from typing import Annotated

from pydantic import AwareDatetime, Field

from api.access import Asking, Role, Visitor, needs
from api.entries import Entry, ProbeId, entered, store
from api.errors import declared
from api.house import House, Housed
from api.placements import PlacementRecord, record_of
from api.probes import Known
from api.routing import Router
from logger.store import facts, moving
from logger.store.tables import ProbeCard

router = Router(prefix="/probes", tags=["probes"], dependencies=[needs(Role.WATCH)])


class Replacement(Entry):
    """A probe that takes over another's places."""

    old: ProbeId
    new: ProbeId
    from_at: Annotated[AwareDatetime | None, Field(description="Null: from now on.")] = None
    retire_old: bool = False


@router.post("/replace", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def replace(house: Housed, asking: Asking, body: Replacement) -> list[PlacementRecord]:
    """Put a probe where another sat; returns the new probe's placements."""
    known = Known.read(house)
    known.check(body.old)
    known.check_usable(body.new)
    base = entered(house, asking, body.from_at, "from_at")
    names = {one.about: one.name for one in facts.places(house.engine)}
    found = facts.placements(house.engine)
    moved = moving.replaced(found, names, body.old, body.new, base["effective_at"], base)
    for one in moved:
        if one.probe_id == body.new:
            known.check_reads(body.new, one.quantity)
    retired = _retired(house, asking, known, body.old) if body.retire_old else ()
    store(house, *moved, *retired)
    new = {one.about for one in moved if one.probe_id == body.new}
    return [record_of(one) for one in facts.placements(house.engine) if one.about in new]


def _retired(house: House, asking: Visitor, known: Known, probe_id: str) -> tuple[ProbeCard, ...]:
    card = known.cards.get(probe_id)
    if card is None:
        made = ProbeCard.first(probe_id=probe_id, name=probe_id, **entered(house, asking))
        made.retired = True
        return (made,)
    return () if card.retired else (card.correction(who=asking.name, retired=True),)
