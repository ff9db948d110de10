"""What else the demonstration's crew did in its store: backset used, lots blended, books closed."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import Engine

from api.commands.demo_cask import FILLED_ABV
from api.commands.demo_reading import CELLAR_C, Reading, Told
from api.record.beside import beside_id
from logger.store import facts
from logger.store.record_tables import Lot, Measure, StageEntry, StockLock, Transfer
from logger.store.tables import Fact, Vessel

BACKSET: Final = "backset rye b"
BACKSET_USED_L: Final = 40.0
BLEND: Final = "rye blend"
TRIAL_HEARTS: Final = "hearts rye trial"
OLDER_HEARTS: Final = "hearts rye a and b"
PARTS_L: Final = {TRIAL_HEARTS: 4.0, OLDER_HEARTS: 3.0}
BLEND_ABV: Final = FILLED_ABV  # the one was brought to it, the other came near it
TUB_L: Final = 300.0
GIN: Final = "gin, as run"
GIN_FOUND: Final = (16.42, 79.0)  # litres and % vol
LOCKED_DAYS_BEFORE: Final = 9.6  # the probes; nothing is put down later of what lies before it


def kept(told: Told, lots: Mapping[str, Lot]) -> Iterator[Fact]:
    """Write down what became of the paper's lots, in the days before the probes."""
    day = told.began - timedelta(days=8)
    yield from _backset(told, lots[BACKSET], day)
    yield from _blended(told, lots, told.began - timedelta(days=1))


def closed(told: Told, engine: Engine) -> Iterator[Fact]:
    """Close the books of the first days, all written down by now; and put right what was wrong."""
    until = told.began - timedelta(days=LOCKED_DAYS_BEFORE)
    yield told.first(StockLock, until, note="Reckoned up for the first return.")
    [lot] = [one for one in facts.all_current(engine, Lot) if one.name == GIN]
    [wrong] = [one for one in facts.all_current(engine, Transfer) if one.to_lot == lot.about]
    at = told.began - timedelta(days=2)
    entry = told.first(
        StageEntry, at, kind="correction", batch=lot.batch, lot=lot.about, refers=wrong.about,
        text="Measured again: the jug stood askew.",
    )  # fmt: skip
    yield entry
    found = told.spirit(*GIN_FOUND, CELLAR_C, 0.002)
    yield told.first(Measure, at, id=beside_id(entry), lot=lot.about, **found.columns)


def tub(told: Told, at: datetime) -> Vessel:
    """Give the tub in which feints gather."""
    return told.first(
        Vessel, at, name="feints tub", kind="tank", volume_l=TUB_L, material="stainless-steel"
    )


def _backset(told: Told, backset: Lot, at: datetime) -> Iterator[Fact]:
    """Put some of it into a mash; the rest turns sour and goes."""
    used = Reading(
        volume_l=BACKSET_USED_L, volume_temperature_c=CELLAR_C, volume_error_l=0.5
    ).columns
    yield told.first(
        Transfer, at, from_lot=backset.about, kind="use", text="Into the liquor of a mash.", **used
    )
    yield told.first(
        Transfer, at + timedelta(days=2), from_lot=backset.about, kind="destroy",
        text="Turned sour.",
    )  # fmt: skip


def _blended(told: Told, lots: Mapping[str, Lot], at: datetime) -> Iterator[Fact]:
    """Blend the hearts of two batches, and measure what that gave."""
    blend = told.first(Lot, at, kind="blend", name=BLEND)
    yield blend
    for name, litres in PARTS_L.items():
        part = Reading(volume_l=litres, volume_temperature_c=CELLAR_C, volume_error_l=0.02)
        yield told.first(
            Transfer, at, from_lot=lots[name].about, to_lot=blend.about, kind="blend",
            **part.columns,
        )  # fmt: skip
    found = told.spirit(sum(PARTS_L.values()), BLEND_ABV, CELLAR_C, 0.002)
    yield told.first(Measure, at + timedelta(hours=1), lot=blend.about, **found.columns)
