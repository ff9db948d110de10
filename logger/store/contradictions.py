"""What facts may not say: two probes on one place, two batches in one vessel, a falling slope."""

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from itertools import pairwise
from typing import Final, Protocol, TypeVar
from uuid import UUID

from calc.errors import OutOfRangeError
from logger.errors import ConflictError, NotFoundError, RangeError
from logger.store.tables import Calibration, Condenser, Fact, Occupancy, Place, Placement, Vessel

NEVER: Final = datetime.max.replace(tzinfo=UTC)
SLOPE_LOW: Final = 0.5  # beyond these lies a typing error, not a probe
SLOPE_HIGH: Final = 2.0
OFFSET_LIMIT: Final = 100.0  # in the quantity's unit, either way


class Lasting(Protocol):
    """A fact that holds from one moment to another, or until further notice."""

    effective_at: datetime
    ended_at: datetime | None


L = TypeVar("L", bound=Lasting)


def check_alone(fact: Fact) -> None:
    """Raise where a fact cannot be, whatever else is stored."""
    if isinstance(fact, Calibration):
        _check_calibration(fact)
    if isinstance(fact, Vessel):
        _check_size(fact)
    if isinstance(fact, Placement | Occupancy) and fact.ended_at is not None:
        _check_interval(type(fact).__name__.lower(), fact.effective_at, fact.ended_at)


def check_names(names: Iterable[tuple[str, UUID | None]], kind: str) -> None:
    """Raise where two vessels, or two places or condensers of one vessel, share a name."""
    for (name, _), times in Counter(names).items():
        if times > 1:
            raise ConflictError(f"There is a {kind} named {name} already; choose another name.")


def check_placements(placements: Sequence[Placement], places: Mapping[UUID, str]) -> None:
    """Raise where two probes are on one place at once, or one probe's quantity on two."""
    by_place: dict[tuple[UUID, str], list[Placement]] = defaultdict(list)
    by_probe: dict[tuple[str, str], list[Placement]] = defaultdict(list)
    for one in placements:
        if one.place not in places:
            raise NotFoundError(f"There is no place {one.place}; load the list of places again.")
        by_place[one.place, one.quantity].append(one)
        by_probe[one.probe_id, one.quantity].append(one)
    for earlier, later in _overlapping(by_place.values()):
        raise ConflictError(_place_taken(places[later.place], earlier, later))
    for earlier, later in _overlapping(by_probe.values()):
        raise ConflictError(_probe_elsewhere(places[earlier.place], places[later.place], later))


def check_condensers(condensers: Sequence[Condenser], vessels: Mapping[UUID, Vessel]) -> None:
    """Raise where a condenser is on no vessel, or on one that is no still."""
    for one in condensers:
        vessel = vessels.get(one.vessel)
        if vessel is None:
            raise NotFoundError(f"There is no vessel {one.vessel}; load the list of vessels again.")
        if vessel.kind != "still":
            raise ConflictError(
                f"{vessel.name} has the condenser {one.name}, and only a still has condensers; "
                "choose a still."
            )


def check_places(places: Sequence[Place], condensers: Mapping[UUID, Condenser]) -> None:
    """Raise where a place is on a condenser of another vessel, or of none."""
    for one in places:
        if one.condenser is None:
            continue
        condenser = condensers.get(one.condenser)
        if condenser is None:
            raise NotFoundError(f"There is no condenser {one.condenser}; load the list again.")
        if condenser.vessel != one.vessel:
            raise ConflictError(
                f"{one.name} cannot be on {condenser.name}, a condenser of another vessel; choose "
                "one of its own."
            )


def check_occupancies(occupancies: Sequence[Occupancy], vessels: Mapping[UUID, str]) -> None:
    """Raise where a vessel would hold two batches or stages at once."""
    by_vessel: dict[UUID, list[Occupancy]] = defaultdict(list)
    for one in occupancies:
        if one.vessel not in vessels:
            raise NotFoundError(f"There is no vessel {one.vessel}; load the list of vessels again.")
        by_vessel[one.vessel].append(one)
    for earlier, later in _overlapping(by_vessel.values()):
        raise ConflictError(
            f"{vessels[later.vessel]} would hold {earlier.batch} ({earlier.stage}) and "
            f"{later.batch} ({later.stage}) at {_moment(later)}; end the one "
            "before the other begins."
        )


def _overlapping(groups: Iterable[list[L]]) -> Iterable[tuple[L, L]]:
    for group in groups:
        for earlier, later in pairwise(sorted(group, key=lambda one: one.effective_at)):
            if later.effective_at < (earlier.ended_at or NEVER):
                yield earlier, later


def _moment(one: Lasting) -> str:
    """Say when something begins; nobody reads microseconds."""
    return one.effective_at.isoformat(timespec="seconds")


def _place_taken(place: str, earlier: Placement, later: Placement) -> str:
    return (
        f"Probes {earlier.probe_id} and {later.probe_id} would both be on {place} at "
        f"{_moment(later)}; end the one placement before the other begins."
    )


def _probe_elsewhere(first: str, second: str, later: Placement) -> str:
    return (
        f"Probe {later.probe_id} would be on {first} and on {second} at "
        f"{_moment(later)}; end the one placement before the other begins."
    )


def _check_interval(what: str, begin: datetime, end: datetime) -> None:
    if end <= begin:
        raise RangeError(
            f"The {what} would end at {end.isoformat(timespec='seconds')}, not after its begin at "
            f"{begin.isoformat(timespec='seconds')}; give a later end, or withdraw it.",
            field="ended_at",
        )


def _check_size(fact: Vessel) -> None:
    if fact.volume_l is not None and not 0 < fact.volume_l < math.inf:
        raise OutOfRangeError(
            f"{fact.name} has a size of {fact.volume_l:g} L; give what it holds, more than 0 L.",
            quantity="volume_l",
        )


def _check_calibration(fact: Calibration) -> None:
    if not SLOPE_LOW <= fact.slope <= SLOPE_HIGH:
        raise OutOfRangeError(
            f"The calibration's slope is {fact.slope:g}, outside {SLOPE_LOW:g} to {SLOPE_HIGH:g}; "
            "check the two points it was worked out from.",
            quantity="slope",
        )
    if not -OFFSET_LIMIT <= fact.offset <= OFFSET_LIMIT:
        raise OutOfRangeError(
            f"The calibration's offset is {fact.offset:g}, outside -{OFFSET_LIMIT:g} to "
            f"{OFFSET_LIMIT:g}; check the points it was worked out from.",
            quantity="offset",
        )
