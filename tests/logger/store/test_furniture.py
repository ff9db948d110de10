"""What the facts about vessels may not say, whoever records them."""

from datetime import UTC, datetime, timedelta

import pytest
from uuid_utils.compat import uuid7

from calc.errors import OutOfRangeError
from logger.errors import ConflictError, NotFoundError, RangeError
from logger.store import facts
from logger.store.tables import Condenser, Occupancy, Place, Vessel

SITE = uuid7()
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def first(model, effective_at=NOON, /, **fields):
    return model.first(site=SITE, who="Anna", effective_at=effective_at, **fields)


@pytest.fixture
def engine(store):
    return store.engine


@pytest.fixture
def still(engine):
    vessel = first(Vessel, name="still", kind="still", volume_l=60.0)
    facts.record(engine, vessel)
    return vessel


@pytest.mark.parametrize("volume_l", [0.0, -1.0, float("nan"), float("inf")])
def test_a_vessel_of_no_size_is_refused(engine, volume_l):
    with pytest.raises(OutOfRangeError, match="give what it holds, more than 0 L"):
        facts.record(engine, first(Vessel, name="still", kind="still", volume_l=volume_l))
    assert facts.vessels(engine) == []


def test_a_condenser_is_on_a_still(engine, still):
    tun = first(Vessel, name="tun", kind="mash_tun")
    facts.record(engine, tun)
    with pytest.raises(ConflictError, match="only a still has condensers"):
        facts.record(engine, first(Condenser, vessel=tun.about, kind="reflux", name="one"))
    with pytest.raises(NotFoundError, match="There is no vessel"):
        facts.record(engine, first(Condenser, vessel=uuid7(), kind="reflux", name="one"))
    made = first(Condenser, vessel=still.about, kind="reflux", name="one")
    facts.record(engine, made)
    with pytest.raises(ConflictError, match="a condenser named one already"):
        facts.record(engine, first(Condenser, vessel=still.about, kind="product", name="one"))
    with pytest.raises(NotFoundError, match="There is no condenser"):
        facts.record(engine, first(Place, name="head", vessel=still.about, condenser=uuid7()))
    with pytest.raises(ConflictError, match="a condenser of another vessel"):
        facts.record(engine, first(Place, name="coolant_in", condenser=made.about))


def test_a_vessel_holds_one_batch_at_a_time(engine, still):
    base = {"vessel": still.about, "stage": "strip"}
    one = first(Occupancy, batch="rye 1", ended_at=NOON + 2 * HOUR, **base)
    facts.record(engine, one)
    with pytest.raises(ConflictError, match=r"rye 1 \(strip\) and rye 2 \(strip\) at 2026"):
        facts.record(engine, first(Occupancy, NOON + HOUR, batch="rye 2", **base))
    facts.record(engine, first(Occupancy, NOON + 2 * HOUR, batch="rye 2", **base))
    found = facts.occupancies(engine, NOON + 2 * HOUR)
    assert [held.batch for held in found] == ["rye 2"]
    with pytest.raises(ConflictError, match="would hold"):
        facts.record(engine, one.correction(who="Bo", ended_at=None))
    with pytest.raises(RangeError, match="The occupancy would end at"):
        facts.record(engine, one.correction(who="Bo", ended_at=NOON))
    with pytest.raises(NotFoundError, match="There is no vessel"):
        facts.record(engine, first(Occupancy, batch="rye 3", vessel=uuid7(), stage="mash"))


def test_what_is_taken_back_is_still_in_the_record(engine, still):
    made = first(Condenser, vessel=still.about, kind="reflux", name="one")
    facts.record(engine, made)
    facts.record(engine, made.correction(who="Bo", withdrawn=True))
    assert facts.condensers(engine) == []
    [kept] = facts.with_withdrawn(engine, Condenser)
    assert (kept.withdrawn, kept.version, kept.who) == (True, 2, "Bo")
