"""A ferment and a mash as the record has them, for their estimators."""

from collections.abc import Callable, Sequence
from datetime import timedelta
from typing import Final

from sqlalchemy import Engine
from sqlmodel import col

from api.alarms.limits import current_limits
from api.alarms.rules import Rule
from api.alarms.yeasts import maximum_c
from api.estimates.facts.house import KILO, SlotOf
from api.estimates.ground import (
    FermentGround,
    GravityReading,
    MashGround,
    Measured,
    RestGround,
)
from api.record.entries import sg_of
from calc.yeast import YEAST_MAXIMUM_C
from logger.store import facts
from logger.store.record_tables import Batch, StageEntry
from logger.store.tables import Occupancy, Vessel

GRAVITY_ERROR_SG: Final = 0.001  # one mark of a usual hydrometer: common practice, no source
AFTER_PITCHING: Final = timedelta(hours=3)  # until then a gravity is still the original one
YEAST_RULE: Final = "ferment_reaching_maximum"

Read = Callable[[StageEntry], bool]


def ferment_ground(
    engine: Engine, held: Occupancy, vessel: Vessel, slot_of: SlotOf, yeast_max_c: float | None
) -> FermentGround:
    """Say what the record has of a ferment."""
    said, batches = _said(engine, held), _batches(engine, held)
    batch = batches[0] if batches else None
    pitched = next((one for one in said if one.kind == "yeast"), None)
    early, late = _gravities(said, pitched)
    return FermentGround(
        run_id=str(held.about),
        from_slot=slot_of(held.effective_at),
        vessel_volume_l=vessel.volume_l,
        material=vessel.material,
        insulation=vessel.insulation,
        loss_w_per_k=vessel.heat_loss_w_per_k,
        volume_l=_volume_l(said),
        pitched_slot=slot_of(pitched.effective_at) if pitched else None,
        original_sg=_measured(early[-1]) if early else None,
        gravities=tuple(_reading(one, slot_of) for one in late),
        yeast=(pitched.name or None) if pitched else None,
        yeast_max_c=_stands_c(yeast_max_c, pitched.name if pitched else None),
        kind_of_wash=batch.kind_of_wash if batch else None,
        on_grain=batch.on_grain if batch else None,
    )


def mash_ground(engine: Engine, held: Occupancy, vessel: Vessel, slot_of: SlotOf) -> MashGround:
    """Say what the record has of a mash."""
    said = _said(engine, held)
    grain_kg = sum(one.mass_kg or 0.0 for one in said if one.kind == "grain")
    liquor_l = sum(one.volume_l or 0.0 for one in said if one.kind == "liquor")
    return MashGround(
        run_id=str(held.about),
        from_slot=slot_of(held.effective_at),
        vessel_volume_l=vessel.volume_l,
        material=vessel.material,
        insulation=vessel.insulation,
        loss_w_per_k=vessel.heat_loss_w_per_k,
        grain_kg=grain_kg or None,
        liquor_l=liquor_l or None,
        power_w=None if vessel.power_kw is None else vessel.power_kw * KILO,
        rests=tuple(
            RestGround(
                low_c=one.low_c,
                high_c=one.high_c,
                minutes=one.planned_min,
                from_slot=slot_of(one.effective_at),
                to_slot=None if one.ended_at is None else slot_of(one.ended_at),
            )
            for one in said
            if one.kind == "rest" and one.low_c is not None and one.high_c is not None
        ),
    )


def yeast_maximum_c(engine: Engine, rule: Rule) -> float:
    """Return what the yeast stands at most, as the owner has set the alarm that minds it."""
    return current_limits(engine, {YEAST_RULE: rule})[YEAST_RULE].limit


def _stands_c(set_c: float | None, yeast: str | None) -> float | None:
    """Say what the yeast stands: as the owner has set it, else by its name in the record."""
    was_set = set_c is not None and set_c != YEAST_MAXIMUM_C["ordinary"]
    return set_c if was_set else maximum_c(yeast) or set_c


def _said(engine: Engine, held: Occupancy) -> Sequence[StageEntry]:
    """Read what was entered of a batch; of one in several vessels, without the others'."""
    found = facts.all_current(engine, StageEntry, col(StageEntry.batch) == held.batch)
    stages = facts.all_current(engine, Occupancy, col(Occupancy.batch) == held.batch)
    others = {one.vessel for one in stages if one.stage == held.stage} - {held.vessel}
    return [one for one in found if one.vessel not in others]


def _batches(engine: Engine, held: Occupancy) -> Sequence[Batch]:
    return facts.all_current(engine, Batch, col(Batch.name) == held.batch)


def _gravities(
    said: Sequence[StageEntry], pitched: StageEntry | None
) -> tuple[list[StageEntry], list[StageEntry]]:
    """Part the gravities into those before the yeast worked and those after."""
    found = [one for one in said if one.kind == "gravity" and sg_of(one) is not None]
    if pitched is None:
        return found[:1], found[1:]
    until = pitched.effective_at + AFTER_PITCHING
    early = [one for one in found if one.effective_at <= until]
    return early, [one for one in found if one.effective_at > until]


def _reading(one: StageEntry, slot_of: SlotOf) -> GravityReading:
    return GravityReading(slot_of(one.effective_at), _measured(one))


def _measured(one: StageEntry) -> Measured:
    return Measured(sg_of(one) or 1.0, GRAVITY_ERROR_SG)


def _volume_l(said: Sequence[StageEntry]) -> float | None:
    """Return the volume read last, else that of the liquor."""
    read = [one.volume_l for one in said if one.kind == "volume" and one.volume_l is not None]
    liquor_l = sum(one.volume_l or 0.0 for one in said if one.kind == "liquor")
    return read[-1] if read else (liquor_l or None)
