from threading import Event
from time import monotonic

import pytest

from logger.bus.lanes import Lane, Lanes

PLENTY_S = 10.0


@pytest.fixture
def lane():
    lane = Lane("test")
    yield lane
    lane.close()


def ends():
    return monotonic() + PLENTY_S


def test_an_answer_goes_to_who_asked(lane):
    heard, lanes = [], Lanes()
    lanes.begin()
    lanes.ask(lane, lambda: 7, heard.append)
    lanes.run_until(ends())
    assert (heard, lane.busy) == ([7], False)


def test_an_answer_may_ask_again(lane):
    heard, lanes = [], Lanes()
    lanes.begin()
    lanes.ask(lane, lambda: 1, lambda _: lanes.ask(lane, lambda: 2, heard.append))
    lanes.run_until(ends())
    assert heard == [2]


def test_time_is_up(lane):
    let_go, heard, lanes = Event(), [], Lanes()
    lanes.begin()
    lanes.ask(lane, let_go.wait, heard.append)
    lanes.run_until(monotonic())
    assert (heard, lane.busy) == ([], True)
    let_go.set()


def test_a_late_answer_frees_its_lane_and_is_not_heard(lane):
    let_go, heard, lanes = Event(), [], Lanes()
    lanes.begin()
    lanes.ask(lane, let_go.wait, heard.append)
    lanes.run_until(monotonic())
    let_go.set()
    give_up_s = ends()
    while lane.busy and monotonic() < give_up_s:
        lanes.begin()
    assert (heard, lane.busy) == ([], False)


def test_what_a_job_raises_is_raised_where_it_was_asked(lane):
    lanes = Lanes()
    lanes.begin()
    lanes.ask(lane, lambda: 1 / 0, print)
    with pytest.raises(ZeroDivisionError):
        lanes.run_until(ends())
    lanes.begin()
    heard = []
    lanes.ask(lane, lambda: "still works", heard.append)
    lanes.run_until(ends())
    assert heard == ["still works"]


def test_what_a_late_job_raises_is_not_lost(lane):
    let_go, lanes = Event(), Lanes()

    def job():
        let_go.wait()
        raise LookupError

    lanes.begin()
    lanes.ask(lane, job, print)
    lanes.run_until(monotonic())
    let_go.set()
    with pytest.raises(LookupError):
        sweep_until(lanes, ends())


def sweep_until(lanes, give_up_s):
    while monotonic() < give_up_s:
        lanes.begin()
