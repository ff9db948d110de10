"""The record's tables: an older store's batches are named, and facts of runs stay inside them."""

import sqlite3
from datetime import UTC, datetime, timedelta

import pytest
from uuid_utils.compat import uuid7

from logger.errors import ConflictError, NotFoundError, RangeError
from logger.store import database, facts, migrating
from logger.store.record_tables import Batch, Jar, Lot, Mark, Measure, Transfer
from logger.store.tables import Occupancy, Vessel

SITE = uuid7()
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def first(model, effective_at=NOON, /, **fields):
    return model.first(site=SITE, who="Anna", effective_at=effective_at, **fields)


@pytest.fixture
def run(store):
    """Make a strip of two hours."""
    still = first(Vessel, name="still", kind="still", volume_l=60.0)
    made = first(
        Occupancy, vessel=still.about, batch="rye 1", stage="strip", ended_at=NOON + 2 * HOUR
    )
    facts.record(store.engine, still, made)
    return made


def test_a_migrated_store_names_a_batch_for_every_name_in_use(tmp_path):
    (tmp_path / database.FILE_NAME).touch()
    maker = database._maker(tmp_path)
    with maker.begin() as connection:
        migrating.upgrade(connection, tmp_path / database.FILE_NAME, "0002")
    maker.dispose()
    connection = sqlite3.connect(tmp_path / database.FILE_NAME)
    told = [("rye 1", 2, 0, None), ("rye 1", 1, 0, None), ("rye 2", 5, 1, None)]
    with connection:
        for batch, at_us, withdrawn, supersedes in told:
            row = (uuid7().hex, uuid7().hex, SITE.hex, "Anna", at_us, at_us, supersedes, 1)
            connection.execute(
                "INSERT INTO occupancies VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 'mash', NULL)",
                (*row, withdrawn, uuid7().hex, batch),
            )
    connection.close()
    database.migrate(tmp_path)
    engine = database.engine(tmp_path)
    [batch] = facts.all_current(engine, Batch)
    assert (batch.name, batch.who, batch.kind_of_wash) == ("rye 1", "Anna", "other")
    assert batch.effective_at == datetime.fromtimestamp(1e-6, UTC)
    facts.record(engine, batch.correction(who="Bo", kind_of_wash="grain"))
    engine.dispose()


def test_marks_and_jars_lie_within_their_run(store, run):
    facts.record(store.engine, first(Mark, NOON + HOUR, run=run.about, kind="hearts"))
    for kind in (
        first(Mark, NOON - HOUR, run=run.about, kind="tails"),
        first(Mark, NOON + 3 * HOUR, run=run.about, kind="tails"),
        first(Jar, NOON - HOUR, run=run.about, number=1),
        first(Jar, NOON, run=run.about, number=1, ended_at=NOON + 3 * HOUR),
    ):
        with pytest.raises(RangeError, match="the run"):
            facts.record(store.engine, kind)
    with pytest.raises(RangeError, match=r"Its mark at .* after the run"):
        facts.record(store.engine, run.correction(who="Bo", ended_at=NOON + HOUR / 2))
    with pytest.raises(NotFoundError, match="There is no run"):
        facts.record(store.engine, first(Mark, run=uuid7(), kind="tails"))
    with pytest.raises(ConflictError, match=r"rye 1 \(mash\) is no run"):
        facts.record(store.engine, run.correction(who="Bo", stage="mash"))
    assert len(facts.all_current(store.engine, Mark)) == 1


def test_what_refers_to_nothing_is_refused_whole(store, run):
    lot = first(Lot, kind="spirit", name="hearts")
    bad = first(Transfer, from_lot=run.about, to_lot=uuid7(), kind="collect")
    with pytest.raises(NotFoundError, match="There is no lot"):
        facts.record(store.engine, lot, bad)
    assert facts.all_current(store.engine, Lot) == []
    with pytest.raises(NotFoundError, match="There is no vessel"):
        facts.record(store.engine, first(Lot, kind="spirit", name="x", vessel=uuid7()))
    with pytest.raises(NotFoundError, match="There is no lot"):
        facts.record(store.engine, first(Measure, lot=uuid7(), volume_l=1.0))


def test_two_batches_do_not_share_a_name(store):
    facts.record(store.engine, first(Batch, name="rye 1"))
    with pytest.raises(ConflictError, match="a batch named rye 1 already"):
        facts.record(store.engine, first(Batch, name="rye 1"))
    [batch] = facts.all_current(store.engine, Batch)
    facts.record(store.engine, batch.correction(who="Bo", withdrawn=True))
    facts.record(store.engine, first(Batch, name="rye 1"))
