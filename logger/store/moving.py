"""Probes that sit elsewhere than was thought, or are replaced: the facts that put it right.

Pure: each function returns facts to be recorded together, in one transaction.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any
from uuid import UUID

from logger.errors import ConflictError, NotFoundError
from logger.store.contradictions import NEVER
from logger.store.tables import Placement


@dataclass(slots=True)
class _Stay:
    """A stretch of a probe at a place, and the placement it comes from; None is a new one."""

    origin: Placement | None
    probe_id: str
    place: UUID
    begin: datetime
    end: datetime  # NEVER where it has none


def swapped(
    placements: Sequence[Placement],
    places: Mapping[UUID, str],
    pair: tuple[UUID, UUID],
    from_at: datetime | None,
    base: Mapping[str, Any],
) -> list[Placement]:
    """Exchange what was recorded at two places from a moment on; without one, from the first.

    `placements` are those of one quantity that count; `base` the columns of new ones. Afterwards
    the history is as if the probes had been recorded rightly: stretches of a probe that touch
    become one. Raises ConflictError where there is nothing to exchange.
    """
    one, other = pair
    if one == other:
        raise ConflictError(f"{places[one]} cannot be swapped with itself; choose two places.")
    ours = [placement for placement in placements if placement.place in pair]
    since = from_at or min((placement.effective_at for placement in ours), default=NEVER)
    for place in pair:
        if not any(p.place == place and (p.ended_at or NEVER) > since for p in ours):
            raise ConflictError(
                f"No probe was at {places[place]} from then on, so there is nothing to swap; "
                "choose two places that each have a probe."
            )
    stays = [stay for p in ours for stay in _exchanged(p, pair, since)]
    return _facts(ours, _joined(stays), base)


def moved(
    placements: Sequence[Placement], probe_id: str, place: UUID, base: Mapping[str, Any]
) -> list[Placement]:
    """Put a probe at a place from a moment on; where it sat until then, that ends.

    `placements` are those of one quantity that count; `base` the columns of a new one, its moment
    included. Nothing is to be recorded where the probe sits there already.
    """
    from_at = base["effective_at"]
    here = next(
        (
            one
            for one in placements
            if one.probe_id == probe_id and one.effective_at <= from_at < (one.ended_at or NEVER)
        ),
        None,
    )
    columns = {"place": place, "probe_id": probe_id}
    if here is None:
        return [Placement.first(**{**base, **columns})]
    if here.place == place:
        return []
    if here.effective_at == from_at:
        return [here.correction(who=base["who"], place=place)]
    return [
        here.correction(who=base["who"], ended_at=from_at),
        Placement.first(**{**base, "ended_at": here.ended_at, **columns}),
    ]


def replaced(
    placements: Sequence[Placement],
    places: Mapping[UUID, str],
    old: str,
    new: str,
    from_at: datetime,
    base: Mapping[str, Any],
) -> list[Placement]:
    """Put one probe where another sat, from a moment on; the place keeps its history."""
    if old == new:
        raise ConflictError(f"{old} cannot be replaced by itself; choose another probe.")
    here = [
        one
        for one in placements
        if one.probe_id == old and one.effective_at < from_at < (one.ended_at or NEVER)
    ]
    if not here:
        raise NotFoundError(
            f"{old} sat nowhere at {from_at.isoformat(timespec='seconds')}; give a time at which "
            "it had a place, or place the new probe by itself."
        )
    made: list[Placement] = []
    for one in here:
        _check_alone(placements, places, one, from_at)
        made.append(one.correction(who=base["who"], ended_at=from_at))
        columns = {"place": one.place, "probe_id": new, "quantity": one.quantity}
        made.append(
            Placement.first(**{**base, "effective_at": from_at, "ended_at": one.ended_at} | columns)
        )
    return made


def _check_alone(
    placements: Sequence[Placement], places: Mapping[UUID, str], one: Placement, from_at: datetime
) -> None:
    """Refuse to replace a probe that went on to another place later."""
    for later in placements:
        if (later.probe_id, later.quantity) == (one.probe_id, one.quantity) and (
            later.effective_at > from_at
        ):
            raise ConflictError(
                f"{one.probe_id} went to {places.get(later.place, 'another place')} afterwards; "
                "give a later time, or take that placement back first."
            )


def _exchanged(placement: Placement, pair: tuple[UUID, UUID], since: datetime) -> Iterator[_Stay]:
    """Cut a placement at a moment and move what follows to the other place."""
    begin, end = placement.effective_at, placement.ended_at or NEVER
    other = pair[1] if placement.place == pair[0] else pair[0]
    if begin < since:
        yield _Stay(placement, placement.probe_id, placement.place, begin, min(end, since))
    if end > since:
        moved = None if begin < since else placement
        yield _Stay(moved, placement.probe_id, other, max(begin, since), end)


def _joined(stays: list[_Stay]) -> list[_Stay]:
    """Make one of two stretches of a probe at a place that touch."""
    ordered = sorted(stays, key=lambda stay: (stay.place, stay.begin))
    gone: list[int] = []
    for earlier, later in pairwise(ordered):
        if (earlier.place, earlier.probe_id, earlier.end) == (
            later.place,
            later.probe_id,
            later.begin,
        ):
            later.begin, later.origin = earlier.begin, earlier.origin or later.origin
            gone.append(id(earlier))
    return [stay for stay in ordered if id(stay) not in gone]


def _facts(
    ours: Sequence[Placement], stays: Sequence[_Stay], base: Mapping[str, Any]
) -> list[Placement]:
    """Write down the stretches as corrections, new placements, and ones taken back."""
    made, kept = [], {stay.origin.id for stay in stays if stay.origin}
    for stay in stays:
        columns: dict[str, Any] = {
            "place": stay.place,
            "effective_at": stay.begin,
            "ended_at": None if stay.end == NEVER else stay.end,
        }
        if stay.origin is None:
            quantity = ours[0].quantity
            fields = {**base, **columns, "probe_id": stay.probe_id, "quantity": quantity}
            made.append(Placement.first(**fields))
        elif any(getattr(stay.origin, key) != value for key, value in columns.items()):
            made.append(stay.origin.correction(who=base["who"], **columns))
    made += [p.correction(who=base["who"], withdrawn=True) for p in ours if p.id not in kept]
    return made
