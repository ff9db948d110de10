"""Every state the alarms can be in, and every way between two of them, walked one by one."""

from itertools import product

import pytest

from api.alarms.model import COVERS, REST, Process, Shelf, State, Trigger, after

UP = {Process.UNACKNOWLEDGED, Process.ACKNOWLEDGED}
UNSEEN = {Process.UNACKNOWLEDGED, Process.RETURNED}
BY_A_PERSON = {
    Trigger.ACKNOWLEDGE, Trigger.RESET, Trigger.SHELVE, Trigger.SHELVE_ONCE,
    Trigger.TAKE_OUT_OF_SERVICE,
}  # fmt: skip


def walked(*, latching):
    """Find all states that can be reached, and all transitions between them."""
    seen, todo, ways = {REST}, [REST], []
    while todo:
        state = todo.pop()
        for trigger in Trigger:
            now = after(state, trigger, latching=latching)
            ways.append((state, trigger, now))
            if now not in seen:
                seen.add(now)
                todo.append(now)
    return seen, ways


# The numbers are those of public descriptions of ISA-18.2 / IEC 62682 with three covers, one of
# them a shelf that is timed or one-shot.
@pytest.mark.parametrize(("latching", "states"), [(False, 26), (True, 27)])
def test_there_are_as_many_states_as_the_model_says(latching, states):
    seen, _ = walked(latching=latching)
    assert len(seen) == states


@pytest.mark.parametrize("latching", [False, True])
def test_nothing_sounds_while_covered(latching):
    seen, _ = walked(latching=latching)
    assert not [one for one in seen if one.covered and (one.sounds or one.standing)]
    assert not [one for one in seen if one.covered and one.process in UP]


@pytest.mark.parametrize("latching", [False, True])
def test_what_came_up_is_never_gone_until_a_person_says_so(latching):
    _, ways = walked(latching=latching)
    gone = [
        (trigger, now) for before, trigger, now in ways
        if before.process in UNSEEN and now.process not in UNSEEN
    ]  # fmt: skip
    assert {trigger for trigger, _ in gone} == BY_A_PERSON - {Trigger.RESET}


@pytest.mark.parametrize("latching", [False, True])
def test_going_back_never_acknowledges(latching):
    _, ways = walked(latching=latching)
    cleared = {
        now.process for before, trigger, now in ways
        if trigger is Trigger.CLEAR and before.process is Process.UNACKNOWLEDGED
    }  # fmt: skip
    assert cleared == {Process.RETURNED}


@pytest.mark.parametrize("latching", [False, True])
def test_the_last_cover_to_come_off_lets_it_come_up_as_new(latching):
    _, ways = walked(latching=latching)
    uncovered = [(before, now) for before, _, now in ways if before.covered and not now.covered]
    assert uncovered
    for before, now in uncovered:
        if before.shelf is Shelf.ONCE and now.process is Process.NORMAL:
            continue  # it has come and gone
        assert now.process is (Process.UNACKNOWLEDGED if before.holds else Process.NORMAL)


@pytest.mark.parametrize("latching", [False, True])
def test_every_transition_is_reached_and_named_by_what_caused_it(latching):
    _, ways = walked(latching=latching)
    used = {trigger for before, trigger, now in ways if before != now}
    assert used == set(Trigger) - (set() if latching else {Trigger.RESET})


@pytest.mark.parametrize("latching", [False, True])
def test_covers_are_independent_of_each_other(latching):
    seen, ways = walked(latching=latching)
    combinations = {(one.shelf, one.suppressed, one.out_of_service) for one in seen}
    assert combinations == set(product(Shelf, (False, True), (False, True)))
    for before, trigger, now in ways:
        if trigger in {Trigger.TAKE_OUT_OF_SERVICE, Trigger.PUT_IN_SERVICE}:
            assert (before.shelf, before.suppressed) == (now.shelf, now.suppressed)


def test_a_shelf_for_once_lets_go_when_it_has_come_and_gone():
    state = after(REST, Trigger.SHELVE_ONCE)
    state = after(state, Trigger.RAISE)
    assert state.covered
    assert not state.sounds
    assert after(state, Trigger.CLEAR) == REST


def test_a_latching_alarm_stays_until_it_is_reset():
    state = after(REST, Trigger.RAISE, latching=True)
    state = after(state, Trigger.ACKNOWLEDGE, latching=True)
    state = after(state, Trigger.CLEAR, latching=True)
    assert state.process is Process.LATCHED
    assert after(state, Trigger.SUPPRESS, latching=True) == state
    assert after(state, Trigger.RESET, latching=True) == REST


def test_a_shelf_for_once_ends_at_the_latest_with_its_longest_time():
    assert after(State(shelf=Shelf.ONCE), Trigger.SHELF_EXPIRES) == REST
    held = State(Process.HELD, Shelf.ONCE)
    assert after(held, Trigger.SHELF_EXPIRES).sounds
    assert set(COVERS) < set(Trigger)
