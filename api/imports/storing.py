"""An import as a whole: everything is read and checked first, then stored in one transaction.

The readings go beside the logger's own, as series of their own (see `logger.store.imported`); the
run, its marks, jars and charge are facts like those a person enters on the pages.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

import numpy as np
from sqlmodel import Session

from api.access import Visitor
from api.entries import entered
from api.house import House
from api.imports.bodies import ImportedRun, NewImport
from api.imports.locked import check_unlocked
from api.imports.notes import JarNote, MarkNote, read_jars, read_marks
from api.imports.sheets import ImportFileError, of_field
from api.imports.trace import HOUSE, NAME, PRESSURE, ROOM, Trace, read_trace
from api.record.batches import of_name
from api.record.room import check_room
from api.reviews.words import PURPOSES
from api.site import zone
from logger.errors import ConflictError, RangeError
from logger.reading import SeriesKey
from logger.store import facts, imported
from logger.store.imported import Past, Slots, packed, probe_of
from logger.store.record_rules import SHOWS_NO_STRENGTH
from logger.store.record_tables import Jar, JarVessel, Mark, Transfer
from logger.store.series import IMPORTED
from logger.store.tables import TEMPERATURE, Fact, Occupancy, Place, Placement, Vessel
from logger.store.timeline import SECOND_US, EpochTable

COUNTS_PER_UNIT: Final = {TEMPERATURE: 128, PRESSURE: 16}  # all a probe can say, in 16 bits
AT_20_C: Final = 20.0


@dataclass(frozen=True, slots=True)
class Read:
    """What an order holds, read and in itself sound."""

    order: NewImport
    still: Vessel
    trace: Trace
    marks: Sequence[MarkNote]
    jars: Sequence[JarNote]

    @property
    def from_at(self) -> datetime:
        """When the run began: with its first reading."""
        return self.trace.times[0]

    @property
    def to_at(self) -> datetime:
        """When it was over: when the next reading would have come."""
        return self.trace.times[-1] + timedelta(seconds=self.trace.period_s)


def import_run(house: House, asking: Visitor, order: NewImport) -> ImportedRun:
    """Import a run, or raise WormtubError with a sentence and store nothing."""
    read = _read(house, order)
    _check_new(house, read)
    check_unlocked(house, order, read.from_at, read.jars)
    run, new = _facts(house, asking, read)
    placed, keys = _placed(house, asking, read)
    past = packed(_past(house, read.trace, keys))

    def also(session: Session, stored: Sequence[Fact]) -> None:
        check_room(session, stored)
        imported.write(session.connection(), past)

    facts.record(house.engine, *new, *placed, also=also)
    return ImportedRun(
        run_id=run.about,
        batch=run.batch,
        vessel=read.still.name,
        from_at=run.effective_at,
        to_at=read.to_at,
        period_s=read.trace.period_s,
        lines=len(read.trace.times),
        places=list(read.trace.values),
        jars=len(read.jars),
        marks=len(read.marks),
        left_out=list(read.trace.left_out),
    )


def _read(house: House, order: NewImport) -> Read:
    still, local = facts.get(house.engine, Vessel, order.vessel_id), zone(house.engine)
    if still.kind != "still":
        raise ConflictError(f"{still.name} is no still; a run is imported into a still.")
    if order.charge_abv is not None and order.charge_volume_l is None:
        raise RangeError(
            "The charge has a strength and no volume; give charge_volume_l too.",
            field="charge_volume_l",
        )
    with of_field("trace"):
        trace = read_trace(order.trace, still.name, local)
    with of_field("marks"):
        marks = read_marks(order.marks, local) if order.marks else []
    drops = [one.at for one in marks if one.kind == "first_drop"]
    with of_field("jars"):
        jars = (
            read_jars(
                order.jars, local, min(drops, default=None), _empties(house), still,
                shows_strength=order.purpose not in SHOWS_NO_STRENGTH,
            )
            if order.jars
            else []
        )  # fmt: skip
    read = Read(order, still, trace, marks, jars)
    _check_within(read, house.now)
    return read


def _empties(house: House) -> dict[int, float | None]:
    """Say what the house's own jars hold, by their numbers."""
    return {one.number: one.volume_l for one in facts.all_current(house.engine, JarVessel)}


def _check_within(read: Read, now: datetime) -> None:
    """See that the run is over, and that marks and jars lie in it."""
    if read.to_at > now:
        with of_field("trace"):
            raise ImportFileError(
                f"{NAME}, line {read.trace.lines[-1]}: the time lies in the future; a run is "
                "imported once it is over."
            )
    for field, notes in (("marks", read.marks), ("jars", read.jars)):
        for where, at in ((note.where, at) for note in notes for at in _moments(note)):
            if not read.from_at <= at <= read.to_at:
                with of_field(field):
                    raise ImportFileError(
                        f"{where}: {at:%Y-%m-%d %H:%M:%S} UTC lies outside the trace, which goes "
                        f"from {read.from_at:%Y-%m-%d %H:%M:%S} to {read.to_at:%Y-%m-%d %H:%M:%S} "
                        "UTC; correct the time, or the offset it was written with."
                    )


def _moments(note: MarkNote | JarNote) -> Iterator[datetime]:
    if isinstance(note, JarNote):
        yield note.began_at
        yield note.ended_at
    else:
        yield note.at


def _check_new(house: House, read: Read) -> None:
    """See that the trace was not imported before, as a run that stands."""
    mine = [
        one
        for one in facts.placements(house.engine)
        if one.probe_id.startswith(f"{IMPORTED}{read.trace.digest}-")
    ]
    vessels = {one.about: one.vessel for one in facts.places(house.engine)}
    for run in facts.occupancies(house.engine, read.from_at) if mine else ():
        if run.vessel in {vessels.get(one.place) for one in mine}:
            raise ConflictError(
                f"This trace was imported before: it is the {PURPOSES.get(run.stage, run.stage)} "
                f"of {run.batch}, begun {run.effective_at:%Y-%m-%d %H:%M} UTC. Nothing was stored "
                "again; to import it otherwise, take that run back first."
            )


def _facts(house: House, asking: Visitor, read: Read) -> tuple[Occupancy, list[Fact]]:
    """Make the run and what hangs on it."""
    order = read.order

    def at(moment: datetime) -> dict[str, Any]:
        return entered(house, asking, moment)

    run = Occupancy.first(
        vessel=read.still.about, batch=order.batch, stage=order.purpose, ended_at=read.to_at,
        **at(read.from_at),
    )  # fmt: skip
    new: list[Fact] = [run, *of_name(house, order.batch, at(read.from_at))]
    if order.charge_volume_l is not None:
        strength: dict[str, Any] = {"reading_abv": order.charge_abv, "temperature_c": AT_20_C}
        known = strength | {"instrument": "density_meter"} if order.charge_abv is not None else {}
        new.append(
            Transfer.first(
                to_lot=run.about, kind="charge", volume_l=order.charge_volume_l, **known,
                **at(read.from_at),
            )
        )  # fmt: skip
    new += [Mark.first(run=run.about, kind=one.kind, **one.columns, **at(one.at))
            for one in read.marks]  # fmt: skip
    new += [
        Jar.first(
            run=run.about, number=one.number, ended_at=one.ended_at, **one.columns,
            **at(one.began_at),
        )
        for one in read.jars
    ]  # fmt: skip
    return run, new


def _placed(
    house: House, asking: Visitor, read: Read
) -> tuple[list[Fact], Mapping[str, SeriesKey]]:
    """Put what stands for the trace's columns at their places while the run was on."""
    base = entered(house, asking, read.from_at)
    places = facts.places(house.engine)
    of_still = {one.name: one for one in places if one.vessel == read.still.about}
    room = next((one for one in places if one.vessel is None and one.name == ROOM), None)
    new: list[Fact] = _given_up(house, asking, read)
    given_up = {one.supersedes for one in new}
    keys: dict[str, SeriesKey] = {}
    for name in read.trace.values:
        if name in HOUSE and room is None:
            room = Place.first(name=ROOM, **base)
            new.append(room)
        place = room if name in HOUSE else of_still.get(name)
        if place is None:
            with of_field("trace"):
                raise ImportFileError(
                    f"{NAME}, line 1: {read.still.name} has no place {name}; add it on the page "
                    "of the still, or take the column out."
                )
        quantity = PRESSURE if name == PRESSURE else TEMPERATURE
        _check_free(house, read, place, name, given_up)
        keys[name] = SeriesKey(
            probe_of(read.trace.digest, name, read.trace.period_s),
            quantity,
            COUNTS_PER_UNIT[quantity],
        )
        new.append(
            Placement.first(
                place=place.about, probe_id=keys[name].probe_id, quantity=quantity,
                ended_at=read.to_at, **base,
            )
        )  # fmt: skip
    return new, keys


def _given_up(house: House, asking: Visitor, read: Read) -> list[Fact]:
    """Take back the places a run of this trace had that was taken back since."""
    return [
        one.correction(who=asking.name, withdrawn=True)
        for one in facts.placements(house.engine)
        if one.probe_id.startswith(f"{IMPORTED}{read.trace.digest}-")
    ]


def _check_free(
    house: House, read: Read, place: Place, name: str, given_up: set[UUID | None]
) -> None:
    """See that no other probe was at a place at that time: there are no two truths at one place."""
    quantity = PRESSURE if name == PRESSURE else TEMPERATURE
    for one in facts.placements(house.engine):
        mine = (one.place, one.quantity) == (place.about, quantity) and one.id not in given_up
        if mine and one.effective_at < read.to_at and read.from_at < (one.ended_at or read.to_at):
            with of_field("trace"):
                raise ImportFileError(
                    f"{NAME}, line 1: {name} had the probe {one.probe_id} at that time already; "
                    "take the column out, or end that probe's placement before the trace begins."
                )


def _past(house: House, trace: Trace, keys: Mapping[str, SeriesKey]) -> Past:
    slots = _slots(EpochTable.load(house.engine), trace)
    scales = np.array([keys[name].counts_per_unit for name in trace.values])
    values = np.array(list(trace.values.values()))
    good = ~np.isnan(values)
    counts = np.rint(np.where(good, values, 0.0) * scales[:, None]).astype(np.int16)
    return Past(slots, trace.period_s, list(keys.values()), counts, good)


def _slots(epochs: EpochTable, trace: Trace) -> Slots:
    """Find the slots that stand for a trace's moments, as the clock's epochs have it."""
    times_us = trace.times_us
    slots = np.full(times_us.size, -1, np.int64)
    for piece in epochs.pieces:
        near = np.rint((times_us - piece.offset_us) / SECOND_US).astype(np.int64)
        mine = (near >= piece.from_slot) & (near < piece.to_slot)
        slots[mine] = near[mine]
    at = int(np.argmax(slots < 0)) if (slots < 0).any() else None
    if at is not None:
        with of_field("trace"):
            raise ImportFileError(
                f"{NAME}, line {trace.lines[at]}: the logger's clock was put past this moment, "
                "and the history has no room for it; take the line out."
            )
    twice = np.flatnonzero(np.diff(slots) <= 0)
    if twice.size:
        with of_field("trace"):
            raise ImportFileError(
                f"{NAME}, line {trace.lines[int(twice[0]) + 1]}: two lines fall into one second; "
                "the history keeps one a second, so take one out."
            )
    return slots
