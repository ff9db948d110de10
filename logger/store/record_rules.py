"""What the record may not say: a jar before its run, liquid from nowhere, a batch named twice.

Checked in the transaction that stores, so that two people at once cannot say it together.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import Final, TypeVar
from uuid import UUID

from sqlmodel import Session, col, or_

from logger.errors import ConflictError, NotFoundError, RangeError
from logger.store.gauging import check_distilled, content_of, strength_of
from logger.store.jar_rules import check_jar, empty_jar
from logger.store.record_tables import (
    Batch,
    Gauged,
    Jar,
    Lot,
    Mark,
    Measure,
    StageEntry,
    Transfer,
)
from logger.store.standing import current
from logger.store.stock_locks import check_unlocked
from logger.store.tables import Fact, Occupancy, Vessel

F = TypeVar("F", bound=Fact)

RUNS: Final = ("strip", "spirit", "single", "botanical", "feints", "cleaning", "sacrificial")
ONLY_DISCARDED: Final = ("cleaning", "sacrificial")  # what comes of these is never drunk
SHOWS_NO_STRENGTH: Final = ("cleaning",)
DISCARDING: Final = ("discard", "destroy", "loss")
FILLING: Final = ("liquor", "volume")  # entries of how much is in a vessel
SPOUT: Final = "spout"  # the entry of what the parrot shows
DISTILLED: Final = ("low_wines", "feints", "spirit", "jar")  # lots that come off a still


def check_record(session: Session, new: Sequence[Fact]) -> None:
    """Raise where facts just added contradict what stands; the session holds the lock."""
    check_unlocked(session, new)
    for fact in new:
        check = CHECKS.get(type(fact))
        if check is not None and not fact.withdrawn:
            check(session, fact)
        elif fact.withdrawn and isinstance(fact, Lot | Jar | Occupancy | Batch):
            _check_unused(session, fact)


def run_of(session: Session, run: UUID) -> Occupancy:
    """Read a run, or raise where it is none."""
    found = _one(session, Occupancy, run)
    if found is None:
        raise NotFoundError(f"There is no run {run}; load the list of runs again.")
    if found.stage not in RUNS:
        raise ConflictError(
            f"{found.batch} ({found.stage}) is no run of a still; choose a run, or correct its "
            "stage."
        )
    return found


def _check_batch(session: Session, fact: Fact) -> None:
    assert isinstance(fact, Batch)  # noqa: S101 - registered for it
    if len(current(session, Batch, col(Batch.name) == fact.name)) > 1:
        raise ConflictError(f"There is a batch named {fact.name} already; choose another name.")


def _check_mark(session: Session, fact: Fact) -> None:
    assert isinstance(fact, Mark)  # noqa: S101 - registered for it
    _check_inside(run_of(session, fact.run), "mark", fact.effective_at)


def _check_jar(session: Session, fact: Fact) -> None:
    assert isinstance(fact, Jar)  # noqa: S101 - registered for it
    run = run_of(session, fact.run)
    _check_inside(run, f"jar {fact.number}", fact.effective_at)
    if fact.ended_at is not None:
        if fact.ended_at <= fact.effective_at:
            raise RangeError(
                f"Jar {fact.number} would end at {_told(fact.ended_at)}, not after its begin at "
                f"{_told(fact.effective_at)}; give a later end.",
                field="ended_at",
            )
        _check_inside(run, f"the end of jar {fact.number}", fact.ended_at)
    _check_drawn(session, fact)


def _check_run(session: Session, fact: Fact) -> None:
    """See that a run still holds its marks and jars, and may give what was taken from it."""
    assert isinstance(fact, Occupancy)  # noqa: S101 - registered for it
    marks = current(session, Mark, col(Mark.run) == fact.about)
    jars = current(session, Jar, col(Jar.run) == fact.about)
    if not marks and not jars and not _touching(session, fact.about):
        return
    run_of(session, fact.about)
    for mark in marks:
        _check_inside(fact, f"its mark at {_told(mark.effective_at)}", mark.effective_at)
    for jar in jars:
        _check_inside(fact, f"its jar {jar.number}", jar.effective_at)
    if fact.stage in ONLY_DISCARDED:
        for transfer in _from(session, [fact.about, *(jar.about for jar in jars)]):
            _check_kind(fact, transfer)


def _check_measure(session: Session, fact: Fact) -> None:
    assert isinstance(fact, Measure)  # noqa: S101 - registered for it
    lot = _lot(session, fact.lot)
    strength = strength_of(fact)
    if lot.kind in DISTILLED:
        check_distilled(strength)
    _check_fits(session, lot, fact)


def _check_lot(session: Session, fact: Fact) -> None:
    assert isinstance(fact, Lot)  # noqa: S101 - registered for it
    if fact.vessel is not None and _one(session, Vessel, fact.vessel) is None:
        raise NotFoundError(f"There is no vessel {fact.vessel}; load the list of vessels again.")


def _check_transfer(session: Session, fact: Fact) -> None:
    assert isinstance(fact, Transfer)  # noqa: S101 - registered for it
    if fact.from_lot is None and fact.to_lot is None:
        raise ConflictError("Nothing is moved from nowhere to nowhere; give from_lot or to_lot.")
    if fact.from_lot == fact.to_lot:
        raise ConflictError("A lot cannot be moved into itself; choose another to_lot.")
    source = None if fact.from_lot is None else _end(session, fact.from_lot)
    goal = None if fact.to_lot is None else _end(session, fact.to_lot)
    _check_ends(fact, source, goal)
    strength = strength_of(fact)
    run = _run_behind(session, source)
    if run is not None:
        _check_kind(run, fact)
    if fact.kind == "collect" or any(_is_distilled(one) for one in (source, goal)):
        check_distilled(strength)
    _check_when(fact, source, goal)
    if isinstance(source, Jar):
        _check_drawn(session, source)
    _check_goal(session, goal, fact)


def _check_entry(session: Session, fact: Fact) -> None:
    """See that what was read in a vessel fits in it, and what was read at a spout can be."""
    assert isinstance(fact, StageEntry)  # noqa: S101 - registered for it
    if fact.kind == SPOUT:
        read = fact.model_dump(include={"reading_abv", "temperature_c"})
        check_distilled(strength_of(Measure(**read)))
    if fact.kind in FILLING and fact.volume_l is not None and fact.vessel is not None:
        _check_size(_one(session, Vessel, fact.vessel), fact.volume_l)


def _is_distilled(end: Fact | None) -> bool:
    return isinstance(end, Jar) or (isinstance(end, Lot) and end.kind in DISTILLED)


def _check_ends(fact: Transfer, source: Fact | None, goal: Fact | None) -> None:
    if fact.kind == "charge" and not isinstance(goal, Occupancy):
        raise ConflictError("A charge goes into a run; give the run as to_lot.")
    if fact.kind != "charge" and isinstance(goal, Occupancy):
        raise ConflictError(f"Into a run goes a charge, not a {fact.kind}; choose charge.")
    if fact.kind == "collect" and not isinstance(source, Occupancy | Jar):
        raise ConflictError("What is collected comes from a run; give the run as from_lot.")
    if fact.kind == "receive" and source is not None:
        raise ConflictError("What is received comes from outside; leave from_lot out.")
    if fact.kind in DISCARDING and goal is not None:
        raise ConflictError(f"What goes by {fact.kind} goes into no lot; leave to_lot out.")


def _check_when(fact: Transfer, source: Fact | None, goal: Fact | None) -> None:
    """See that nothing comes out before its run or jar began, and nothing goes in after the end."""
    if isinstance(source, Occupancy | Jar) and fact.effective_at < source.effective_at:
        what = "run" if isinstance(source, Occupancy) else f"jar {source.number}"
        raise RangeError(
            f"At {_told(fact.effective_at)} nothing could come out yet: the {what} began at "
            f"{_told(source.effective_at)}; give a later time.",
            field="at",
        )
    if isinstance(goal, Occupancy) and goal.ended_at and fact.effective_at > goal.ended_at:
        raise RangeError(
            f"The charge would go in at {_told(fact.effective_at)}, after the run, which ended at "
            f"{_told(goal.ended_at)}; give an earlier time.",
            field="at",
        )


def _check_kind(run: Occupancy, transfer: Transfer) -> None:
    if run.stage in ONLY_DISCARDED and transfer.kind not in DISCARDING:
        raise ConflictError(
            f"What comes of a {run.stage} run is not for drinking: it can only be discarded. "
            "Choose discard, or correct the run's purpose if it is another."
        )


def _check_goal(session: Session, goal: Fact | None, fact: Transfer) -> None:
    if isinstance(goal, Jar):
        raise ConflictError("Into a jar only the still runs; choose a lot as to_lot.")
    if isinstance(goal, Occupancy):
        run_of(session, goal.about)
        charges = current(session, Transfer, col(Transfer.to_lot) == goal.about)
        whole_l = sum(_volume_l(one) or 0.0 for one in charges)
        _check_size(_one(session, Vessel, goal.vessel), whole_l)
    if isinstance(goal, Lot):
        _check_fits(session, goal, fact)


def _check_fits(session: Session, holder: Lot, read: Gauged) -> None:
    volume_l = _volume_l(read)
    if volume_l is not None and holder.vessel is not None:
        _check_size(_one(session, Vessel, holder.vessel), volume_l)


def _check_size(vessel: Vessel | None, volume_l: float) -> None:
    if vessel is not None and vessel.volume_l is not None and volume_l > vessel.volume_l:
        raise RangeError(
            f"{volume_l:g} L do not fit in {vessel.name}, which holds {vessel.volume_l:g} L; "
            "correct the volume, or choose the vessel it is in.",
            field="volume_l",
        )


def _check_drawn(session: Session, jar: Jar) -> None:
    """See that a jar holds what was read, as far as its own reading tells, and gives no more."""
    check_distilled(strength_of(jar))
    empty = empty_jar(session, jar.number)
    check_jar(session, jar, content_of(jar, tare_kg=empty.tare_kg if empty else None))


def _check_unused(session: Session, fact: Lot | Jar | Occupancy | Batch) -> None:
    """See that nothing stands on what is taken back."""
    if isinstance(fact, Batch):
        _check_batch_unused(session, fact)
        return
    moved = _touching(session, fact.about)
    held = 0
    if isinstance(fact, Lot):
        held = len(current(session, Measure, col(Measure.lot) == fact.about))
    if isinstance(fact, Occupancy):
        held = len(current(session, Mark, col(Mark.run) == fact.about))
        held += len(current(session, Jar, col(Jar.run) == fact.about))
    if moved or held:
        raise ConflictError(
            f"{moved + held} entries of the record stand on this; take those back first."
        )


def _check_batch_unused(session: Session, fact: Batch) -> None:
    held = len(current(session, Occupancy, col(Occupancy.batch) == fact.name))
    held += len(current(session, Lot, col(Lot.batch) == fact.name))
    if held:
        raise ConflictError(
            f"{fact.name} has {held} occupancies and lots; take those back first, or rename it."
        )


def _check_inside(run: Occupancy, what: str, at: datetime) -> None:
    if at < run.effective_at:
        raise RangeError(
            f"{_upper(what)} would lie at {_told(at)}, before the run, which began at "
            f"{_told(run.effective_at)}; give a later time, or correct the run's begin.",
            field="at",
        )
    if run.ended_at is not None and at > run.ended_at:
        raise RangeError(
            f"{_upper(what)} would lie at {_told(at)}, after the run, which ended at "
            f"{_told(run.ended_at)}; give an earlier time, or correct the run's end.",
            field="at",
        )


def _volume_l(read: Gauged) -> float | None:
    """Return the volume as it was measured; a mass of known strength has one too."""
    content = content_of(read)
    return read.volume_l if content is None or read.volume_l is not None else content.volume_l


def _end(session: Session, about: UUID) -> Lot | Jar | Occupancy:
    found = (
        _one(session, Lot, about) or _one(session, Jar, about) or _one(session, Occupancy, about)
    )
    if found is not None:
        return found
    raise NotFoundError(f"There is no lot, jar or run {about}; load the list of lots again.")


def _lot(session: Session, about: UUID) -> Lot:
    found = _one(session, Lot, about)
    if found is None:
        raise NotFoundError(f"There is no lot {about}; load the list of lots again.")
    return found


def _run_behind(session: Session, source: Fact | None) -> Occupancy | None:
    if isinstance(source, Jar):
        return _one(session, Occupancy, source.run)
    return source if isinstance(source, Occupancy) else None


def _from(session: Session, lots: Iterable[UUID]) -> Sequence[Transfer]:
    return current(session, Transfer, col(Transfer.from_lot).in_(list(lots)))


def _touching(session: Session, about: UUID) -> int:
    either = or_(col(Transfer.from_lot) == about, col(Transfer.to_lot) == about)
    return len(current(session, Transfer, either))


def _one(session: Session, kind: type[F], about: UUID) -> F | None:
    found = current(session, kind, col(kind.about) == about)
    return found[0] if found else None


def _told(at: datetime) -> str:
    return at.isoformat(timespec="seconds")


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


Check = Callable[[Session, Fact], None]
CHECKS: Final[dict[type[Fact], Check]] = {
    Batch: _check_batch,
    Mark: _check_mark,
    Jar: _check_jar,
    Occupancy: _check_run,
    Measure: _check_measure,
    Lot: _check_lot,
    Transfer: _check_transfer,
    StageEntry: _check_entry,
}
