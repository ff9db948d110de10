"""The key numbers of a run: what lists, comparisons and trends show of it. Pure."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from api.reviews.alarms_told import count_by_priority
from api.reviews.figures import Figures
from api.reviews.words import MomentKey


@dataclass(frozen=True, slots=True)
class Key:
    """One number of a run: its name (ends in the unit), words for it, and how many decimals."""

    name: str
    label: str
    unit: str
    decimals: int
    of: Callable[[Figures], float | None]


def _charge(part: str) -> Callable[[Figures], float | None]:
    def told(run: Figures) -> float | None:
        charge = run.charge
        if charge is None:
            return None
        if part == "abv":
            return charge.strength.abv if charge.strength else None
        return charge.volume_l if part == "volume_l" else charge.pure_alcohol_l

    return told


def _cut(cut: str, part: str) -> Callable[[Figures], float | None]:
    def told(run: Figures) -> float | None:
        found = run.cut(cut)
        if found is None:
            return None
        if part == "share":
            pure_l = found.pure_alcohol_l
            return None if pure_l is None or not run.has_alcohol else pure_l / run.pure_alcohol_l
        value: float | None = getattr(found, part)
        return value

    return told


def _between(first: MomentKey, last: MomentKey) -> Callable[[Figures], float | None]:
    def told(run: Figures) -> float | None:
        begin, end = run.when(first), run.when(last)
        if begin is None or end is None or end < begin:
            return None
        return (end - begin).total_seconds() / 60.0

    return told


def _whole_min(run: Figures) -> float | None:
    return (run.ground.until - run.ground.run.effective_at).total_seconds() / 60.0


def _alarms(priority: str | None = None) -> Callable[[Figures], float | None]:
    def told(run: Figures) -> float | None:
        found = run.ground.alarms
        if not run.ground.is_watched:
            return None
        return float(len(found) if priority is None else count_by_priority(found)[priority])

    return told


def _rate(run: Figures) -> float | None:
    minutes = _between("first_drop", "end")(run)
    return 1000.0 * run.came_l / minutes if minutes and run.came_l else None


KEYS: Final[Mapping[str, Key]] = {
    one.name: one
    for one in (
        Key("duration_min", "Whole run", "min", 0, _whole_min),
        Key("heat_up_min", "Heat on to first drop", "min", 0, _between("heat_on", "first_drop")),
        Key("collecting_min", "First drop to end", "min", 0, _between("first_drop", "end")),
        Key("hearts_min", "Hearts to tails", "min", 0, _between("hearts", "tails")),
        Key("charge_volume_l", "Charge", "L", 1, _charge("volume_l")),
        Key("charge_abv", "Strength of the charge", "% vol", 1, _charge("abv")),
        Key("charge_pure_alcohol_l", "Alcohol charged", "L", 2, _charge("pure_alcohol_l")),
        Key("collected_volume_l", "Collected", "L", 2, lambda run: run.came_l or None),
        Key(
            "collected_pure_alcohol_l", "Alcohol collected", "L", 2,
            lambda run: run.pure_alcohol_l if run.has_alcohol else None,
        ),
        Key("recovered", "Alcohol recovered", "", 3, lambda run: run.recovered),
        Key("foreshots_volume_l", "Foreshots", "L", 2, _cut("foreshots", "volume_l")),
        Key("heads_volume_l", "Heads", "L", 2, _cut("heads", "volume_l")),
        Key("hearts_volume_l", "Hearts", "L", 2, _cut("hearts", "volume_l")),
        Key("hearts_abv", "Strength of the hearts", "% vol", 1, _cut("hearts", "abv")),
        Key("hearts_share", "Hearts, of the alcohol collected", "", 3, _cut("hearts", "share")),
        Key("tails_volume_l", "Tails", "L", 2, _cut("tails", "volume_l")),
        Key("feints_volume_l", "Feints", "L", 2, _cut("feints", "volume_l")),
        Key("rate_ml_min", "Mean rate", "mL/min", 1, _rate),
        Key("energy_kwh", "Energy", "kWh", 1, lambda run: run.energy.amount),
        Key(
            "energy_kwh_per_l", "Energy, a litre of pure alcohol", "kWh/L", 2,
            lambda run: run.per_litre(run.energy),
        ),
        Key("alarms", "Alarms", "", 0, _alarms()),
        Key("alarms_high", "High alarms", "", 0, _alarms("high")),
    )
}  # fmt: skip


def numbers(run: Figures) -> dict[str, float | None]:
    """Give all key numbers of a run."""
    return {name: key.of(run) for name, key in KEYS.items()}
