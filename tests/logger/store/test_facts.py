"""Facts are added, corrected and withdrawn; what contradicts is refused, and nothing is lost."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from sqlalchemy import func, select
from uuid_utils.compat import uuid7

from calc.errors import OutOfRangeError
from logger.errors import ConflictError, NotFoundError, RangeError
from logger.store import facts, standing
from logger.store.tables import (
    Calibration,
    Place,
    Placement,
    ProbeCard,
    Setting,
    Vessel,
    table,
)

SITE = uuid7()
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture
def engine(store):
    return store.engine


def first(model, effective_at=NOON, /, **fields):
    return model.first(site=SITE, who="Anna", effective_at=effective_at, **fields)


@pytest.fixture
def still(engine):
    """Record a still with a head and a pot."""
    vessel = first(Vessel, name="still", kind="still")
    head, pot = (first(Place, name=name, vessel=vessel.about) for name in ("head", "pot"))
    facts.record(engine, vessel, head, pot)
    return head.about, pot.about


def rows(engine, kind):
    with engine.connect() as connection:
        return connection.execute(select(func.count()).select_from(table(kind))).scalar_one()


def test_ids_are_made_by_the_client_and_sort_by_time(engine):
    made = [first(Vessel, name=str(number), kind="still") for number in range(3)]
    assert [one.id.version for one in made] == [7, 7, 7]
    assert sorted(one.id for one in made) == [one.id for one in made]
    facts.record(engine, *made)
    facts.record(engine, *made)  # sent again: stored once
    assert [one.id for one in facts.vessels(engine)] == [one.id for one in made]


def test_a_correction_supersedes_and_nothing_is_erased(engine):
    vessel = first(Vessel, name="still", kind="still", volume_l=100.0)
    facts.record(engine, vessel)
    corrected = vessel.correction(who="Bo", volume_l=95.0)
    facts.record(engine, corrected)
    [found] = facts.vessels(engine)
    assert (found.volume_l, found.who, found.version) == (95.0, "Bo", 2)
    assert (found.about, found.supersedes, found.name) == (vessel.id, vessel.id, "still")
    assert facts.get(engine, Vessel, vessel.about).id == corrected.id
    facts.record(engine, found.correction(who="Bo", withdrawn=True))
    assert facts.vessels(engine) == []
    assert rows(engine, Vessel) == 3
    with pytest.raises(NotFoundError, match="no vessel"):
        facts.get(engine, Vessel, vessel.about)


def test_two_corrections_of_one_record_conflict(engine):
    vessel = first(Vessel, name="still", kind="still")
    facts.record(engine, vessel)
    facts.record(engine, vessel.correction(who="Anna", name="big still"))
    with pytest.raises(ConflictError, match="corrected by somebody else"):
        facts.record(engine, vessel.correction(who="Bo", name="small still"))
    assert [one.name for one in facts.vessels(engine)] == ["big still"]


def test_a_correction_says_what_it_corrects_and_which_version(engine):
    vessel = first(Vessel, name="still", kind="still")
    with pytest.raises(NotFoundError, match="to correct is not stored"):
        facts.record(engine, vessel.correction(who="Anna"))
    facts.record(engine, vessel)
    wrong = vessel.correction(who="Anna")
    wrong.version = 7
    with pytest.raises(ConflictError, match=r"says version 7 .* must be version 2"):
        facts.record(engine, wrong)


def test_names_are_unique(engine, still):
    with pytest.raises(ConflictError, match="a vessel named still already"):
        facts.record(engine, first(Vessel, name="still", kind="still"))
    vessel = facts.vessels(engine)[0].about
    with pytest.raises(ConflictError, match="a place named head already"):
        facts.record(engine, first(Place, name="head", vessel=vessel))
    other = first(Vessel, name="second still", kind="still")
    facts.record(engine, other, first(Place, name="head", vessel=other.about))


def test_two_probes_on_one_place_at_once_are_refused(engine, still):
    head, _ = still
    facts.record(engine, first(Placement, place=head, probe_id="28-a"))
    with pytest.raises(ConflictError, match="28-a and 28-b would both be on head at 2026-03-02T13"):
        facts.record(engine, first(Placement, NOON + HOUR, place=head, probe_id="28-b"))
    with pytest.raises(ConflictError, match="both be on head"):
        facts.record(engine, first(Placement, NOON - HOUR, place=head, probe_id="28-b"))
    assert rows(engine, Placement) == 1


def test_one_probe_on_two_places_at_once_is_refused(engine, still):
    head, pot = still
    facts.record(engine, first(Placement, place=head, probe_id="28-a"))
    with pytest.raises(ConflictError, match="28-a would be on head and on pot"):
        facts.record(engine, first(Placement, NOON + HOUR, place=pot, probe_id="28-a"))
    other = first(Placement, place=pot, probe_id="28-a", quantity="pressure_hpa")
    facts.record(engine, other)  # another quantity may be elsewhere


def test_places_may_be_used_one_after_the_other(engine, still):
    head, pot = still
    one = first(Placement, place=head, probe_id="28-a")
    facts.record(engine, one)
    later = NOON + HOUR
    facts.record(
        engine,
        one.correction(who="Anna", ended_at=later),
        first(Placement, later, place=head, probe_id="28-b"),
        first(Placement, later, place=pot, probe_id="28-a"),
    )

    def placed(at):
        return {(one.probe_id, one.place) for one in facts.placements(engine, at)}

    assert placed(NOON - HOUR) == set()
    assert placed(NOON) == {("28-a", head)}
    assert placed(later) == {("28-b", head), ("28-a", pot)}
    assert len(facts.placements(engine)) == 3


def test_swapped_probes_are_put_right_afterwards_in_one_step(engine, still):
    head, pot = still
    wrong = [
        first(Placement, place=head, probe_id="28-a"),
        first(Placement, place=pot, probe_id="28-b"),
    ]
    facts.record(engine, *wrong)
    with pytest.raises(ConflictError):
        facts.record(engine, wrong[0].correction(who="Anna", probe_id="28-b"))
    facts.record(
        engine,
        wrong[0].correction(who="Anna", probe_id="28-b"),
        wrong[1].correction(who="Anna", probe_id="28-a"),
    )
    placed = {one.place: one.probe_id for one in facts.placements(engine, NOON)}
    assert placed == {head: "28-b", pot: "28-a"}


def test_a_placement_that_cannot_be_is_refused(engine, still):
    with pytest.raises(RangeError, match="not after its begin"):
        facts.record(engine, first(Placement, place=still[0], probe_id="28-a", ended_at=NOON))
    with pytest.raises(NotFoundError, match="There is no place"):
        facts.record(engine, first(Placement, place=UUID(int=9), probe_id="28-a"))


@pytest.mark.parametrize(
    ("rule", "quantity"),
    [
        ({"slope": 0.0}, "slope"),
        ({"slope": -1.0}, "slope"),
        ({"slope": float("nan")}, "slope"),
        ({"offset": float("inf")}, "offset"),
    ],
)
def test_a_calibration_that_cannot_be_is_refused(engine, rule, quantity):
    with pytest.raises(OutOfRangeError, match=f"The calibration's {quantity} is") as refused:
        facts.record(engine, first(Calibration, probe_id="28-a", **rule))
    assert refused.value.quantity == quantity
    assert rows(engine, Calibration) == 0


def test_the_latest_calibration_and_setting_hold(engine):
    facts.record(
        engine,
        first(Calibration, NOON, probe_id="28-a", offset=0.1),
        first(Calibration, NOON + HOUR, probe_id="28-a", offset=0.2),
        first(Setting, NOON, key="time_zone", value='"Europe/Oslo"'),
        first(Setting, NOON + HOUR, key="time_zone", value='"Europe/Riga"'),
    )
    assert facts.calibrations(engine, NOON - HOUR) == []
    assert [one.offset for one in facts.calibrations(engine, NOON)] == [0.1]
    assert [one.offset for one in facts.calibrations(engine, NOON + 2 * HOUR)] == [0.2]
    assert facts.settings(engine, NOON) == {"time_zone": '"Europe/Oslo"'}
    assert facts.settings(engine, NOON + HOUR) == {"time_zone": '"Europe/Riga"'}


def test_times_come_back_aware_and_exact(engine):
    at = datetime(2026, 3, 29, 1, 59, 59, 999_999, tzinfo=UTC)
    facts.record(engine, first(ProbeCard, at, probe_id="28-a", name="blue tape"))
    [card] = facts.probe_cards(engine)
    assert card.effective_at == at
    assert card.effective_at.utcoffset() == timedelta(0)
    with engine.connect() as connection:
        stored = connection.exec_driver_sql("SELECT effective_at FROM probe_cards").scalar_one()
    assert stored == 1_774_749_599_999_999


def test_the_question_of_what_stands_is_put_together_once(engine, still, monkeypatch):
    head, _ = still
    before = facts.places(engine)

    def asked_anew(*_):
        raise AssertionError

    monkeypatch.setattr(standing, "select", asked_anew)
    assert facts.places(engine) == before
    assert facts.get(engine, Place, head).name == "head"
