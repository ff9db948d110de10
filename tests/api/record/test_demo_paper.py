"""The demonstration's paper: a wash in two strips, low wines of two batches, a cask over days."""

from datetime import UTC, datetime, timedelta

import pytest

from api.commands import demo_paper, demo_store
from api.commands.demo_cask import CASK_L, FILLED_ABV, TOP_UP_L
from api.commands.demo_reading import Told
from api.commands.demo_store import BACKSET, BLEND, PARTS_L
from api.record.balancing import balance
from api.record.books_read import read_books
from logger.store import database, facts
from logger.store.record_tables import Lot
from logger.store.tables import Vessel

READ_HOT = "rye c"
BEGAN = datetime(2026, 9, 1, 6, tzinfo=UTC)


@pytest.fixture
def books(stillhouse):
    engine = database.engine(stillhouse.data)
    common = {"site": database.identity(engine).site, "who": "demo"}
    told = Told(common | {"effective_at": BEGAN}, BEGAN + timedelta(days=1))
    older = BEGAN - timedelta(days=demo_paper.FIRST_DAY)
    still = told.first(Vessel, older, name="still", kind="still", volume_l=250.0)
    pool = told.first(Lot, older, kind="feints", name=demo_paper.POOL)
    facts.record(engine, still, pool, *demo_paper.runs(told, still.about, pool))
    facts.record(engine, *demo_store.closed(told, engine))
    read = read_books(engine)
    engine.dispose()
    return read


@pytest.fixture
def held(books):
    return {books.name_of(lot): book[-1].held for lot, book in books.books.items()}


def came_into(books, name):
    [goal] = [lot.about for lot in books.lots.values() if lot.name == name]
    return [books.name_of(one.from_lot) for one in books.transfers if one.to_lot == goal]


def test_every_batch_balances(books):
    for name in {one.batch for one in books.runs.values()} - {READ_HOT}:
        found = balance(books, name, None)
        assert abs(found.unaccounted_l) <= 1e-6
        assert found.doubts == []


def test_the_batch_that_was_read_hot_is_pointed_out(books):
    found = balance(books, READ_HOT, None)
    [doubt] = found.doubts
    assert "more than the charge" in doubt.sentence
    assert doubt.slips[0].kind == "not_corrected"


def test_backset_is_used_and_the_rest_destroyed(books, held):
    [backset] = [lot.about for lot in books.lots.values() if lot.kind == "backset"]
    ways = [one.kind for one in books.transfers if backset in {one.from_lot, one.to_lot}]
    assert ways == ["collect", "use", "destroy"]
    assert held[BACKSET].volume_l == pytest.approx(0.0, abs=1e-9)


def test_two_hearts_are_blended(books, held):
    assert came_into(books, BLEND) == list(PARTS_L)
    assert 6.5 < held[BLEND].volume_l < 7.5


def test_a_wash_is_split_over_two_strips_and_low_wines_of_two_batches_merge(books, held):
    strips = [one for one in books.runs.values() if (one.batch, one.stage) == ("rye a", "strip")]
    [wash] = [lot.about for lot in books.lots.values() if lot.name == "wash rye a"]
    charged = {one.to_lot for one in books.transfers if one.from_lot == wash}
    assert charged == {one.about for one in strips}
    assert len(charged) == 2
    assert came_into(books, "low wines rye a") == ["rye a, strip run"] * 2
    merged = came_into(books, "low wines rye a and b")
    assert merged == ["low wines rye a", "low wines rye b"]
    assert held["wash rye a"].volume_l == pytest.approx(0.0, abs=1e-9)


def test_a_cask_is_sampled_weighed_and_topped_up(books, held):
    hearts = held["hearts rye a and b"]
    assert hearts.volume_l == pytest.approx(
        24.0 * 74.0 / FILLED_ABV - CASK_L - TOP_UP_L - PARTS_L["hearts rye a and b"],
        abs=0.3,  # the hearts' cut, brought down
    )
    assert came_into(books, "cask 2") == ["hearts rye a and b"] * 2
    assert 19.5 < held["cask 2"].volume_l < 20.0
    [cask] = [lot.about for lot in books.lots.values() if lot.name == "cask 2"]
    assert sum(one.lot == cask for one in books.measures) == 4


def test_a_locked_period_is_put_right_after_it(books, held):
    assert held["gin, as run"].volume_l == pytest.approx(16.42, abs=0.15)
