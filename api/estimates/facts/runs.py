"""A still's run as the record has it, for its estimator. Only what somebody read counts here."""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import Final

from sqlalchemy import Engine
from sqlmodel import col

from api.estimates.facts.ends import RunEnds
from api.estimates.facts.house import KILO, SlotOf
from api.estimates.facts.washes import dissolved_in_wash
from api.estimates.ground import JarGround, Measured, PastRun, RunGround, SpoutReading
from api.record.charges import kind_of_charge
from api.record.collected import Collected
from api.record.entries import strength_in_entry
from api.record.runs_read import RunRead
from logger.store import facts
from logger.store.gauging import INSTRUMENTS, USUAL, Content, Strength
from logger.store.record_tables import Mark, StageEntry
from logger.store.tables import Occupancy

SPOUT: Final = "spout"  # the entry: a strength read at the spout
NOTHING_DISSOLVED: Final = Measured(0.0, 1.0)  # g/L, in what was distilled before
LATEST: Final = datetime.max.replace(tzinfo=UTC)


def run_ground(
    engine: Engine, read: RunRead, slot_of: SlotOf, ends: RunEnds, past: Sequence[PastRun]
) -> RunGround:
    """Say what the record has of a run."""
    run, end = read.run, ends.of(read.run.stage)
    strength = _strength(read.charge.strength if read.charge else None)
    return RunGround(
        run_id=str(run.about),
        purpose=run.stage,
        from_slot=slot_of(run.effective_at),
        charge_volume_l=_volume(read.charge),
        charge_abv=strength,
        dissolved_g_l=_dissolved(engine, run, strength),
        spout=_spout(engine, read, slot_of),
        jars=tuple(_jar(one, read, slot_of) for one in read.jars),
        powers_w=_powers(read.marks, slot_of),
        first_drop_slot=_first(read.marks, "first_drop", slot_of),
        heat_off_slot=_first(read.marks, "end", slot_of),
        end_abv=end.spout_abv,
        end_left_share=end.left_share,
        seal_hpa=end.seal_hpa,
        vacuum=end.vacuum,
        past=tuple(past),
    )


def _dissolved(engine: Engine, run: Occupancy, strength: Measured | None) -> Measured | None:
    kind = kind_of_charge(engine, run.about)
    if kind == "wash":
        return dissolved_in_wash(engine, run, strength)
    return NOTHING_DISSOLVED if kind == "spirit" else None


def _jar(one: Collected, read: RunRead, slot_of: SlotOf) -> JarGround:
    vessel = read.jar_vessels.get(one.jar.number)
    was_read = one.basis == "read" and one.content is not None
    return JarGround(
        from_slot=slot_of(one.jar.effective_at),
        to_slot=None if one.ended_at is None else slot_of(one.ended_at),
        volume_l=_volume(one.content),
        abv=_strength(one.content.strength) if was_read and one.content else None,
        holds_l=vessel.volume_l if vessel else None,
    )


def _volume(content: Content | None) -> Measured | None:
    if content is None or content.volume_l is None:
        return None
    return Measured(content.volume_l, content.volume_error_l or 0.0)


def _strength(strength: Strength | None) -> Measured | None:
    return None if strength is None else Measured(strength.abv, strength.error_abv)


def _spout(engine: Engine, read: RunRead, slot_of: SlotOf) -> tuple[SpoutReading, ...]:
    """Read the strengths that somebody read at the spout while the run went."""
    until = read.run.ended_at or LATEST
    found = facts.all_current(
        engine,
        StageEntry,
        col(StageEntry.kind) == SPOUT,
        col(StageEntry.vessel) == read.run.vessel,
        col(StageEntry.effective_at) >= read.run.effective_at,
    )
    readings = (_reading(one, slot_of) for one in found if one.effective_at <= until)
    return tuple(one for one in readings if one is not None)


def _reading(one: StageEntry, slot_of: SlotOf) -> SpoutReading | None:
    abv = strength_in_entry(one)
    if abv is None:
        return None
    return SpoutReading(slot_of(one.effective_at), Measured(abv, INSTRUMENTS[USUAL].error_abv))


def _powers(marks: Iterable[Mark], slot_of: SlotOf) -> tuple[tuple[int, float], ...]:
    return tuple(
        (slot_of(one.effective_at), one.power_kw * KILO)
        for one in marks
        if one.kind == "power" and one.power_kw is not None
    )


def _first(marks: Iterable[Mark], kind: str, slot_of: SlotOf) -> int | None:
    times = [one.effective_at for one in marks if one.kind == kind]
    return slot_of(min(times)) if times else None
