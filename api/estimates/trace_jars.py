"""A file of jars beside a trace: what was collected by when, corrected to 20 °C."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from api.alarms.traces import JAR_COLUMNS, Tell, TraceRow, rows
from api.estimates.ground import Measured
from calc.alcoholometer import true_strength
from calc.contents import contents_by_volume
from calc.errors import OutOfRangeError
from logger.store.gauging import INSTRUMENTS, USUAL, VOLUME_ERROR_FRACTION

STRENGTH_ERROR_ABV: Final = INSTRUMENTS[USUAL].error_abv
VOLUME_ERROR: Final = VOLUME_ERROR_FRACTION  # of the volume


@dataclass(frozen=True, slots=True)
class TraceJar:
    """What was collected by a slot since the jar before, at 20 °C."""

    slot: int
    volume_l: Measured
    abv: Measured | None


def read_jars(file: Path, tell: Tell) -> Sequence[TraceJar]:
    """Read them in their order; `tell` is given a sentence for every row that does not serve."""
    found = []
    for row in rows(file, tell, JAR_COLUMNS):
        where = f"{file.name}, line {row.line}"
        if row.values["volume_l"] is None:
            tell(f"{where} has no volume_l; the jar is left out.")
            continue
        found.append(_jar(row, where, tell))
    return found


def _jar(row: TraceRow, where: str, tell: Tell) -> TraceJar:
    volume_l, warmth_c = row.values["volume_l"] or 0.0, row.values["temperature_c"]
    abv = _abv(row, where, tell)
    if abv is not None and warmth_c is not None:
        volume_l = contents_by_volume(volume_l, abv, warmth_c).volume_at_20_c_l
    measured = None if abv is None else Measured(abv, STRENGTH_ERROR_ABV)
    slot = int(row.at.timestamp())
    return TraceJar(slot, Measured(volume_l, VOLUME_ERROR * volume_l), measured)


def _abv(row: TraceRow, where: str, tell: Tell) -> float | None:
    """Correct the strength that was read to 20 °C; what cannot be is told, and left out."""
    reading_abv, warmth_c = row.values["reading_abv"], row.values["temperature_c"]
    if reading_abv is None:
        return None
    if warmth_c is None:
        tell(
            f"{where} has a reading_abv and no temperature_c to correct it by; the strength is "
            "left out, its volume counts."
        )
        return None
    try:
        return true_strength(reading_abv, warmth_c).abv_at_20_c
    except OutOfRangeError as error:
        tell(f"{where}: {error} The strength is left out, its volume counts.")
        return None
