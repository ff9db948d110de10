"""What facts may not say: two probes on one place at once, one probe on two, a falling slope."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from itertools import pairwise
from typing import Final
from uuid import UUID

from calc.errors import OutOfRangeError
from logger.errors import ConflictError, NotFoundError, RangeError
from logger.store.tables import Calibration, Fact, Placement

NEVER: Final = datetime.max.replace(tzinfo=UTC)
SLOPE_LOW: Final = 0.5  # beyond these lies a typing error, not a probe
SLOPE_HIGH: Final = 2.0
OFFSET_LIMIT: Final = 100.0  # in the quantity's unit, either way


def check_alone(fact: Fact) -> None:
    """Raise where a fact cannot be, whatever else is stored."""
    if isinstance(fact, Calibration):
        _check_calibration(fact)
    if isinstance(fact, Placement) and fact.ended_at is not None:
        _check_interval(fact.effective_at, fact.ended_at)


def check_names(names: Iterable[tuple[str, UUID | None]], kind: str) -> None:
    """Raise where two vessels, or two places of one vessel, share a name."""
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


def _overlapping(groups: Iterable[list[Placement]]) -> Iterable[tuple[Placement, Placement]]:
    for group in groups:
        for earlier, later in pairwise(sorted(group, key=lambda one: one.effective_at)):
            if later.effective_at < (earlier.ended_at or NEVER):
                yield earlier, later


def _place_taken(place: str, earlier: Placement, later: Placement) -> str:
    return (
        f"Probes {earlier.probe_id} and {later.probe_id} would both be on {place} at "
        f"{later.effective_at.isoformat()}; end the one placement before the other begins."
    )


def _probe_elsewhere(first: str, second: str, later: Placement) -> str:
    return (
        f"Probe {later.probe_id} would be on {first} and on {second} at "
        f"{later.effective_at.isoformat()}; end the one placement before the other begins."
    )


def _check_interval(begin: datetime, end: datetime) -> None:
    if end <= begin:
        raise RangeError(
            f"The placement would end at {end.isoformat()}, not after its begin at "
            f"{begin.isoformat()}; give a later end, or withdraw it."
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
