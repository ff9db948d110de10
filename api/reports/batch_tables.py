"""All data of a batch as tables, with the units in the names of the columns."""

from collections.abc import Callable, Iterator, Mapping
from typing import Final

import orjson

from api.house import House
from api.record.entries import EntryBody
from api.record.stages import RestBody
from api.reports.gathering import BatchTold, Cell
from api.reports.order import BATCH_TABLES, BatchTableName
from api.reports.tables import NUMBERS, Table, local_time, made_by, run_data
from api.reports.terms import term_name
from api.reviews.bodies_batch import LotRowBody

READ: Final = (
    "mass_kg", "tare_kg", "volume_l", "temperature_c", "reading_sg", "reference_temperature_c",
    "sg", "reading_abv", "abv", "ph", "percent", "low_c", "high_c", "planned_min",
)  # fmt: skip
RENAMED: Final = {"sg": "sg_at_20_c", "abv": "abv_at_20_c", "percent": "extract_percent"}
HELD: Final = ("in_range_min", "below_min", "above_min", "unknown_min", "lowest_c", "highest_c")
ENTRIES: Final = (
    "time", "ended_time", "kind", "vessel", "lot", "name",
    *(RENAMED.get(one, one) for one in READ), *HELD,
    "count", "starch_left", "smell", "text", "who",
)  # fmt: skip
BALANCE: Final = ("side", "name", "label", "pure_alcohol_l", "pure_alcohol_error_l")
LOTS: Final = (
    "name", "kind", "vessel", "since_time", "origin", "came_from", "volume_at_20_c_l", "abv",
    "pure_alcohol_l",
)  # fmt: skip


def of_batch(told: BatchTold, name: BatchTableName) -> Table:
    """Make one table of a batch."""
    return MADE[name](told)


def _entries(told: BatchTold) -> Table:
    rests = {one.entry_id: one for one in told.stages.rests}
    rows = [list(_entry(told, one, rests.get(one.id))) for one in told.stages.entries]
    return Table(ENTRIES, rows)


def _entry(told: BatchTold, one: EntryBody, rest: RestBody | None) -> Iterator[Cell]:
    yield local_time(one.at, told.zone)
    yield local_time(one.ended_at, told.zone)
    yield one.kind
    yield told.vessels.get(one.vessel_id) if one.vessel_id else None
    yield told.lots.get(one.lot_id) if one.lot_id else None
    yield one.name
    yield from (getattr(one, column) for column in READ)
    yield from (getattr(rest, column) if rest else None for column in HELD)
    yield from (one.count, one.starch_left, "; ".join(one.smell), one.text, one.who)


def _balance(told: BatchTold) -> Table:
    """Put what was expected and what came over beside the two sides; they are in neither sum."""
    balance = told.story.balance
    rows: list[list[Cell]] = [
        [side, one.name, term_name(one.name), one.pure_alcohol_l, one.error_l]
        for side, terms in (("came", balance.came), ("found", balance.found))
        for one in terms
    ]
    for side, name, label, amount in (
        ("came", "total", "in all", balance.came_total),
        ("found", "total", "in all", balance.found_total),
        ("beside", "collected", "collected over all runs", balance.collected),
    ):
        rows.append([side, name, label, amount.pure_alcohol_l, amount.error_l])
    if balance.expected:
        known = balance.expected
        rows += [
            ["beside", "expected", "the bill can give", known.pure_alcohol_l, None],
            ["beside", "expected_low", "at least", known.pure_alcohol_low_l, None],
            ["beside", "expected_high", "at most", known.pure_alcohol_high_l, None],
        ]
    return Table(BALANCE, rows)


def _lots(told: BatchTold) -> Table:
    return Table(LOTS, [_lot(told, one) for one in told.story.lots])


def _lot(told: BatchTold, one: LotRowBody) -> list[Cell]:
    return [
        one.name, one.kind, one.vessel, local_time(one.since, told.zone), one.origin,
        "; ".join(one.came_from), one.volume_l, one.abv, one.pure_alcohol_l,
    ]  # fmt: skip


def _numbers(told: BatchTold) -> Table:
    values = told.story.batch.numbers
    rows = [[one.name, one.label, values.get(one.name), one.unit] for one in told.story.keys]
    return Table(NUMBERS, rows)


MADE: Final[Mapping[BatchTableName, Callable[[BatchTold], Table]]] = {
    "entries": _entries,
    "balance": _balance,
    "lots": _lots,
    "numbers": _numbers,
}


def batch_json(house: House, told: BatchTold) -> bytes:
    """Write all data of a batch and of its runs."""
    return orjson.dumps({
        "made": made_by(house),
        "simulated": told.simulated,
        "batch": told.story.model_dump(mode="json"),
        "tables": {name: of_batch(told, name).as_data() for name in BATCH_TABLES},
        "runs": [run_data(house, one) for one in told.runs],
    })  # fmt: skip
