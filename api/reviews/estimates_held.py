"""A run's estimates as they were kept, their scores as they are sent."""

from array import array
from collections.abc import Sequence
from math import nan
from typing import Final

import numpy as np
from sqlalchemy import select

from api.estimates.quantities import UNITS
from api.house import House
from api.reviews.bodies import EstimatesBody, ScoreBody
from api.reviews.figures import Figures
from api.reviews.scoring import NAMES, Pair, Score, Telling, Tellings, Told, digits, scores
from logger.store.estimate_tables import IssuedEstimate
from logger.store.failures import file_of, told
from logger.store.tables import table
from logger.store.timeline import SECOND_US, EpochTable

TOGETHER: Final = 500  # rows read at once
MOSTLY: Final = 0.75


def estimates_body(house: House, run: Figures) -> EstimatesBody | None:
    """Hold what was told of a run against what was measured; None where nothing was kept."""
    kept, versions = _told(house, run)
    if not kept:
        return None
    found = scores(run, kept)
    inside, banded = (
        (sum(one) for one in zip(*(s.inside for s in found), strict=True)) if (found) else (0, 0)
    )
    return EstimatesBody(
        model_versions=versions,
        scores=[_score(one) for one in found],
        says=_says(found, inside, banded),
    )


def _told(house: House, run: Figures) -> tuple[Tellings, list[int]]:
    """Read the quantities that can be scored."""
    engine, ground = house.reader.engine, run.ground
    columns = table(IssuedEstimate).c
    chosen = (
        select(
            columns.slot, columns.quantity, columns.value, columns.low, columns.high,
            columns.model_version,
        )
        .where(columns.run == ground.run.about, columns.quantity.in_(NAMES))
        .where(columns.value.is_not(None))
        .order_by(columns.slot)
    )  # fmt: skip
    columns_of: dict[str, _Columns] = {}
    versions: set[int] = set()
    with told(file_of(engine)), engine.connect() as connection:
        epochs = EpochTable.read(connection)
        for part in connection.execute(chosen).partitions(TOGETHER):
            for slot, quantity, value, low, high, version in part:
                columns_of.setdefault(quantity, _Columns()).add(slot, value, low, high)
                versions.add(version)
    return {name: own.told(epochs) for name, own in columns_of.items()}, sorted(versions)


class _Columns:
    """Tellings as they are read: columns of plain numbers, NaN where there is none."""

    def __init__(self) -> None:
        self._slots, self._values = array("q"), array("d")
        self._lows, self._highs = array("d"), array("d")

    def add(self, slot: int, value: float, low: float | None, high: float | None) -> None:
        self._slots.append(slot)
        self._values.append(value)
        self._lows.append(nan if low is None else low)
        self._highs.append(nan if high is None else high)

    def told(self, epochs: EpochTable) -> Told:
        starts = np.array([piece.from_slot for piece in epochs.pieces])
        offsets_us = np.array([piece.offset_us for piece in epochs.pieces])
        slots = np.array(self._slots)
        times = slots + offsets_us[np.searchsorted(starts, slots, side="right") - 1] / SECOND_US
        return Told(array("d", times.tobytes()), self._values, self._lows, self._highs)


def _score(one: Score) -> ScoreBody:
    unit = UNITS.get(one.quantity, "")
    inside, banded = one.inside
    return ScoreBody(
        quantity=one.quantity,
        name=NAMES[one.quantity],
        unit=unit,
        n=len(one.pairs),
        bias=one.bias,
        mean_absolute_error=one.mean_absolute_error,
        decimals=one.decimals,
        inside_band=inside / banded if banded else None,
        before_end=_before_end(one.before_end, unit) if one.before_end else None,
        says=_score_says(one),
    )


def _score_says(one: Score) -> str:
    """Tell which way it was off, and how often the band held; by how much, its numbers tell."""
    inside, banded = one.inside
    held = f"; {inside} of {banded} within the band." if banded else "."
    return _way(one.pairs) + held


def _way(pairs: Sequence[Pair]) -> str:
    errors = [_rounded(one.error, one.told) for one in pairs]
    high, low = sum(one > 0 for one in errors), sum(one < 0 for one in errors)
    if high == low == 0:
        return "As it was measured"
    way = "too high" if high > low else "too low"
    if len(pairs) == max(high, low):
        return way.capitalize() + (" each time" if len(pairs) > 1 else "")
    mostly = max(high, low) >= MOSTLY * len(pairs)
    return f"Mostly {way}" if mostly else "Sometimes too high, sometimes too low"


def _before_end(pair: Pair, unit: str) -> str:
    told, band = pair.told, ""
    value, measured = _number(told.value, told), _number(pair.measured, told)
    if told.low is not None and told.high is not None:
        band = f" ({_number(told.low, told)} to {_number(told.high, told)})"
    return (
        f"Twenty minutes before, {value} {unit}{band} was told; it was {measured} {unit}."
    ).replace("  ", " ").replace(" .", ".").replace(" ;", ";")  # fmt: skip


def _number(value: float, told: Telling) -> str:
    return f"{_rounded(value, told):.6g}"


def _rounded(value: float, told: Telling) -> float:
    """Round as the band is worth; bandless, to three significant digits."""
    if told.half_band <= 0.0:
        return float(f"{value:.3g}")
    return round(value, digits(told.half_band))


def _says(found: Sequence[Score], inside: int, banded: int) -> str:
    if not found:
        return "Estimates were kept, and nothing was measured to hold against them."
    if not banded:
        return "No estimate that was measured had a band."
    return f"{inside} of {banded} measurements lay within the 95 % band of what had been told."
