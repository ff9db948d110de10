"""Facts people enter: recorded, corrected, and read as they stand at a moment.

`record` takes any number of facts at once, in one transaction, so that two swapped probes are put
right in one step. Nothing is changed or erased: `fact.correction(...)` makes the record that
supersedes `fact`, and `withdrawn=True` in it takes the thing back.
"""

import re
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Final, TypeVar
from uuid import UUID

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from logger.errors import ConflictError, NotFoundError
from logger.store.contradictions import (
    Lasting,
    check_alone,
    check_condensers,
    check_names,
    check_occupancies,
    check_placements,
    check_places,
)
from logger.store.failures import file_of, told
from logger.store.record_rules import check_record
from logger.store.standing import Clause, newest
from logger.store.standing import current as current  # noqa: PLC0414 - offered from here too
from logger.store.tables import (
    Calibration,
    CalibrationPoint,
    Condenser,
    Fact,
    Occupancy,
    Place,
    Placement,
    ProbeCard,
    Setting,
    Vessel,
)

F = TypeVar("F", bound=Fact)

Check = Callable[[Session, Sequence[Fact]], None]
FURNITURE: Final = frozenset({Vessel, Condenser, Place, Placement, Occupancy})  # see each other


def record(engine: Engine, *facts: Fact, also: Check | None = None) -> None:
    """Store facts in one transaction, or raise and store none.

    A fact sent again under its id is stored once. Raises ConflictError where a fact corrects what
    has been corrected already, or where two probes would be on one place at once, one probe's
    quantity on two, or two batches in one vessel; OutOfRangeError where a calibration's slope or
    a vessel's size is not above 0; NotFoundError where it refers to what is not there; and whatever
    `record_rules` says of the record, and `also`, which the caller knows more to check by.
    """
    with told(file_of(engine)), Session(engine, expire_on_commit=False) as session:
        new = [fact for fact in facts if session.get(type(fact), fact.id) is None]
        for fact in new:
            check_alone(fact)
            _check_version(session, fact)
            session.add(fact)
        session.flush()
        _check_together(session, {type(fact) for fact in new})
        check_record(session, new)
        if also is not None:
            also(session, new)
        session.commit()


def with_withdrawn(engine: Engine, kind: type[F], *where: Clause) -> Sequence[F]:
    """Read the newest record about every thing, those taken back as well."""
    with told(file_of(engine)), Session(engine) as session:
        found = newest(session, kind, *where)
        session.expunge_all()
        return found


def all_current(engine: Engine, kind: type[F], *where: Clause) -> Sequence[F]:
    """Read the records of a kind that count, on an engine opened read-only."""
    with told(file_of(engine)), Session(engine) as session:
        found = current(session, kind, *where)
        session.expunge_all()
        return found


def vessels(engine: Engine) -> Sequence[Vessel]:
    """Read the vessels as they stand."""
    return all_current(engine, Vessel)


def places(engine: Engine) -> Sequence[Place]:
    """Read the places as they stand."""
    return all_current(engine, Place)


def condensers(engine: Engine) -> Sequence[Condenser]:
    """Read the condensers as they stand."""
    return all_current(engine, Condenser)


def occupancies(engine: Engine, at: datetime | None = None) -> Sequence[Occupancy]:
    """Read what holds the vessels at a moment; without one, all that ever did."""
    found = all_current(engine, Occupancy)
    return [one for one in found if at is None or holds(one, at)]


def calibration_points(engine: Engine) -> Sequence[CalibrationPoint]:
    """Read the points measured, oldest first."""
    return all_current(engine, CalibrationPoint)


def probe_cards(engine: Engine) -> Sequence[ProbeCard]:
    """Read what people call the probes."""
    return all_current(engine, ProbeCard)


def placements(engine: Engine, at: datetime | None = None) -> Sequence[Placement]:
    """Read the placements that hold at a moment; without one, all there ever were."""
    found = all_current(engine, Placement)
    return [one for one in found if at is None or holds(one, at)]


def holds(fact: Lasting, at: datetime) -> bool:
    """Say whether a placement or an occupancy holds at a moment."""
    ended = fact.ended_at is not None and fact.ended_at <= at
    return fact.effective_at <= at and not ended


def calibrations(engine: Engine, at: datetime | None = None) -> Sequence[Calibration]:
    """Read the calibration of each series at a moment; without one, all there ever were."""
    found = all_current(engine, Calibration)
    if at is None:
        return found
    latest = {(one.probe_id, one.quantity): one for one in found if one.effective_at <= at}
    return list(latest.values())


def settings(engine: Engine, at: datetime) -> dict[str, str]:
    """Read the site's settings at a moment: JSON by key."""
    return {one.key: one.value for one in all_current(engine, Setting) if one.effective_at <= at}


def get(engine: Engine, kind: type[F], about: UUID) -> F:
    """Read the record that counts about one thing; NotFoundError where there is none."""
    for fact in all_current(engine, kind, col(kind.about) == about):
        return fact
    raise NotFoundError(f"There is no {words(kind)} {about}; load the list again.")


def words(kind: type[Fact]) -> str:
    """Name a kind of fact as people do: CalibrationPoint is "calibration point"."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", kind.__name__).lower()


def _check_together(session: Session, kinds: set[type[Fact]]) -> None:
    """See that the facts that count now do not contradict each other."""
    if not kinds & FURNITURE:
        return
    vessels, places = current(session, Vessel), current(session, Place)
    condensers = current(session, Condenser)
    if Vessel in kinds:
        check_names([(vessel.name, None) for vessel in vessels], "vessel")
    if {Vessel, Condenser} & kinds:
        check_names([(one.name, one.vessel) for one in condensers], "condenser")
        check_condensers(condensers, {one.about: one for one in vessels})
    if {Place, Condenser} & kinds:
        check_names([(place.name, place.vessel) for place in places], "place")
        check_places(places, {one.about: one for one in condensers})
    if Placement in kinds:
        check_placements(current(session, Placement), {one.about: one.name for one in places})
    if {Vessel, Occupancy} & kinds:
        names = {one.about: one.name for one in vessels}
        check_occupancies(current(session, Occupancy), names)


def _check_version(session: Session, fact: Fact) -> None:
    """See that a correction corrects something, and the newest of it."""
    if fact.supersedes is None:
        return
    kind = type(fact)
    old = session.get(kind, fact.supersedes)
    if old is None:
        raise NotFoundError(f"The record {fact.supersedes} to correct is not stored.")
    if session.exec(select(kind).where(kind.supersedes == fact.supersedes)).first() is not None:
        raise ConflictError(
            "The record was corrected by somebody else meanwhile; load it again and repeat."
        )
    if (fact.about, fact.version) != (old.about, old.version + 1):
        raise ConflictError(
            f"The correction says version {fact.version} of {fact.about}; "
            f"it must be version {old.version + 1} of {old.about}."
        )
