"""What was entered of a batch's stages, one line each, in the words of the batch's page."""

from collections.abc import Iterator, Mapping
from typing import Final

from api.record.entries import EntryBody
from api.record.stages import RestBody
from api.reports.gathering import BatchTold
from api.reports.parts import moment, table, text

KINDS: Final[Mapping[str, str]] = {
    "grain": "Grain or sugar",
    "liquor": "Liquor",
    "rest": "Rest",
    "volume": "Volume",
    "gravity": "Gravity",
    "spout": "Read at the spout",
    "iodine": "Iodine test",
    "yeast": "Yeast",
    "nutrient": "Nutrient",
    "ph": "pH",
    "smell": "Smell and taste",
    "cask_weight": "Cask on the scale",
    "sample": "Sample",
    "top_up": "Top-up",
    "water_added": "Water added",
    "bottle_fill": "Bottles filled",
    "correction": "Correction",
}
STARCH: Final = {True: "starch left", False: "no starch left"}
HEADINGS: Final = ("When", "What", "Where", "How much", "Said of it", "Who")


def entered(told: BatchTold) -> str:
    """Make the table of what was entered, oldest first; what the program notes itself stays out."""
    rests = {one.entry_id: one for one in told.stages.rests}
    rows = [
        [
            moment(one.at, told.zone).replace(" ", "\u00a0"),
            text(_title(one)),
            text(_where(told, one)),
            text(_much(told, one)),
            text(" ".join(_said(told, one, rests.get(one.id)))),
            text(one.who),
        ]
        for one in told.stages.entries
        if one.kind in KINDS
    ]
    return table(HEADINGS, rows)


def _title(one: EntryBody) -> str:
    own = one.name.replace("_", " ").replace("-", " ") if one.kind == "grain" else one.name
    return f"{KINDS[one.kind]}: {own}" if own and own != "rest" else KINDS[one.kind]


def _where(told: BatchTold, one: EntryBody) -> str:
    lot = told.lots.get(one.lot_id) if one.lot_id else None
    vessel = told.vessels.get(one.vessel_id) if one.vessel_id else None
    return ", ".join(filter(None, (lot, vessel)))


def _much(told: BatchTold, one: EntryBody) -> str:
    """Give the number that matters of an entry."""
    sg = one.sg if one.sg is not None else one.reading_sg
    if one.kind == "rest" and one.low_c is not None and one.high_c is not None:
        return f"{_warm(told, one.low_c, with_unit=False)} to {_warm(told, one.high_c)}"
    if one.kind == "bottle_fill":
        return f"{one.count or 0} × {one.volume_l or 0:g} L"
    every = (
        (f"{sg:.4f}" if sg is not None else ""),
        (f"{one.abv:.1f} % vol at 20 °C" if one.abv is not None else ""),
        (f"{one.ph:.2f}" if one.ph is not None else ""),
        (STARCH[one.starch_left] if one.starch_left is not None else ""),
        (f"{one.mass_kg:g} kg" if one.mass_kg is not None else ""),
        (f"{one.volume_l:g} L" if one.volume_l is not None else ""),
    )
    return ", ".join(filter(None, every))


def _said(told: BatchTold, one: EntryBody, rest: RestBody | None) -> Iterator[str]:
    if rest is not None:
        planned = "" if rest.planned_min is None else f" of {rest.planned_min:.0f} planned"
        unknown = rest.unknown_min
        unread = f", {unknown:.0f} min without a reading" if unknown > 0.5 else ""
        yield f"Held in range {rest.in_range_min:.0f} min{planned}{unread}."
    if one.temperature_c is not None:
        warm = _warm(told, one.temperature_c)
        if one.reading_sg is None:
            yield f"At {warm}."
        else:
            reading = f"{one.reading_sg:.4f}".removesuffix("0")
            yield f"Read {reading} at {warm}, corrected to 20 °C."
    yield from (", ".join(one.smell), one.text)


def _warm(told: BatchTold, celsius: float, *, with_unit: bool = True) -> str:
    degrees = f"{round(told.degrees.turned(celsius), 1):g}".replace("-", "−")
    return f"{degrees} {told.degrees.sign}" if with_unit else degrees
