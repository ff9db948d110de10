"""The key numbers of a batch. Pure."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from api.reviews.batch_read import BatchRead
from api.reviews.bodies import KeyBody


@dataclass(frozen=True, slots=True)
class BatchKey:
    """One number of a batch: its name (ends in the unit), words for it, and its decimals."""

    name: str
    label: str
    unit: str
    decimals: int
    of: Callable[[BatchRead], float | None]


def _share(part: float | None, whole: float | None, times: float = 1.0) -> float | None:
    return None if part is None or not whole else times * part / whole


def _ferment_days(one: BatchRead) -> float | None:
    ended = [held.ended_at for held in one.held if held.stage == "ferment" and held.ended_at]
    if one.pitched_at is None or not ended or max(ended) <= one.pitched_at:
        return None
    return (max(ended) - one.pitched_at).total_seconds() / 86_400.0


def _alarms(one: BatchRead) -> float | None:
    """Count what came up; that nothing did is only known where every run was watched."""
    came = sum(len(run.ground.alarms) for run in one.runs)
    is_known = came or (one.runs and all(run.ground.is_watched for run in one.runs))
    return float(came) if is_known else None


KEYS: Final[Mapping[str, BatchKey]] = {
    one.name: one
    for one in (
        BatchKey("bill_kg", "Bill", "kg", 1, lambda one: one.bill_kg),
        BatchKey("original_sg", "Original gravity", "", 4, lambda one: one.original_sg),
        BatchKey("final_sg", "Final gravity", "", 4, lambda one: one.final_sg),
        BatchKey("ferment_days", "Ferment", "d", 1, _ferment_days),
        BatchKey(
            "expected_pure_alcohol_l", "Alcohol the bill can give", "L", 2,
            lambda one: one.expected_l,
        ),
        BatchKey(
            "spirit_pure_alcohol_l", "Alcohol of the spirit", "L", 2, lambda one: one.spirit_l
        ),
        BatchKey(
            "hearts_pure_alcohol_l", "Alcohol of the hearts", "L", 2, lambda one: one.hearts_l
        ),
        BatchKey(
            "yield_l_per_100_kg", "Yield, pure alcohol from 100 kg", "L", 1,
            lambda one: _share(one.spirit_l, one.bill_kg, 100.0),
        ),
        BatchKey(
            "efficiency", "Efficiency, of what the bill can give", "", 3,
            lambda one: _share(one.spirit_l, one.expected_l),
        ),
        BatchKey("energy_kwh", "Energy of its runs", "kWh", 1, lambda one: one.energy_kwh),
        BatchKey(
            "energy_kwh_per_l", "Energy, a litre of its pure alcohol", "kWh/L", 2,
            lambda one: _share(one.energy_kwh, one.spirit_l),
        ),
        BatchKey("bottles", "Bottles", "", 0, lambda one: float(one.bottles)),
        BatchKey("alarms", "Alarms in its runs", "", 0, _alarms),
    )
}  # fmt: skip


def batch_numbers(one: BatchRead) -> dict[str, float | None]:
    """Give all key numbers of a batch."""
    return {name: key.of(one) for name, key in KEYS.items()}


def batch_key_bodies() -> list[KeyBody]:
    """Show what the key numbers are."""
    return [
        KeyBody(name=one.name, label=one.label, unit=one.unit, decimals=one.decimals)
        for one in KEYS.values()
    ]
