"""The logger's ear on the service: it sounds what the service says, and its silence."""

import gpiozero
import pytest
from gpiozero.pins.mock import MockFactory

from logger.alarm_if_silent import SILENT_AFTER_S, AlarmIfSilent
from logger.service_state import FILE_NAME, ServiceState
from logger.settings import Settings
from logger.sounder import Call

FIRST = 1_790_000_000


class Ear:
    """A logger's watch on a data folder, with a service that can be made to speak."""

    def __init__(self, data) -> None:
        self.data = data
        self.watch = AlarmIfSilent.open(Settings(data=data, sounder_pin="GPIO17"))

    def stored(self, after_s, *, hot=True):
        self.watch.stored(FIRST + after_s, hot=hot)
        return self.watch.look()

    def service(self, after_s, call="", tries=0):
        ServiceState(1, FIRST + after_s, call, tries).write(self.data)


@pytest.fixture
def pins(monkeypatch):
    factory = MockFactory()
    monkeypatch.setattr(gpiozero.Device, "pin_factory", factory)
    yield factory
    factory.reset()


@pytest.fixture
def ear(tmp_path, pins):
    made = Ear(tmp_path)
    yield made
    made.watch.stop()


def test_what_the_service_says_is_sounded(ear, pins):
    ear.service(0, "high")
    assert ear.stored(1) is Call.HIGH
    assert pins.pin(17).state or len(pins.pin(17).states) > 1
    ear.service(1)
    assert ear.stored(2) is Call.NONE
    assert not pins.pin(17).state


@pytest.mark.parametrize(("hot", "call"), [(True, Call.HIGH), (False, Call.CHIRP)])
def test_a_service_that_judges_no_more_is_sounded(ear, hot, call, caplog):
    ear.service(10)
    assert ear.stored(0, hot=hot) is Call.NONE
    assert ear.stored(10 + SILENT_AFTER_S, hot=hot) is Call.NONE
    assert ear.stored(11 + SILENT_AFTER_S, hot=hot) is call
    assert ear.stored(12 + SILENT_AFTER_S, hot=hot) is call
    assert caplog.text.count("The service has judged no scan for") == 1
    ear.service(12 + SILENT_AFTER_S)
    assert ear.stored(13 + SILENT_AFTER_S, hot=hot) is Call.NONE


def test_a_service_that_never_came_is_sounded_after_its_time_to_start(ear):
    assert ear.watch.look() is Call.NONE
    assert ear.stored(0) is Call.NONE
    assert ear.stored(SILENT_AFTER_S) is Call.NONE
    assert ear.stored(SILENT_AFTER_S + 1) is Call.HIGH


def test_what_a_service_said_yesterday_counts_from_the_loggers_own_start(ear):
    ear.service(-86_400)
    assert ear.stored(0) is Call.NONE
    assert ear.stored(SILENT_AFTER_S + 1) is Call.HIGH


def test_a_press_is_tried_once_and_an_old_one_not_at_all(ear, pins, until):
    ear.service(0, tries=4)
    ear.stored(1)
    assert len(pins.pin(17).states) == 1
    ear.service(1, tries=5)
    ear.stored(2)
    sounded = [level for _, level in pins.pin(17).states].count(True)
    ear.stored(3)
    assert sounded == [level for _, level in pins.pin(17).states].count(True) == 3


def test_half_a_file_is_no_state(ear):
    (ear.data / FILE_NAME).write_text('{"process": 1')
    assert ear.stored(0) is Call.NONE


def test_a_pin_that_cannot_be_had_stops_no_logging(tmp_path, pins, caplog):
    watch = AlarmIfSilent.open(Settings(data=tmp_path, sounder_pin="GPIO99"))
    watch.start()
    watch.stored(FIRST, hot=True)
    assert watch.problem.startswith("sounder_pin = GPIO99 cannot be used: this machine has no")
    assert watch.problem in caplog.text
    watch.stop()


def test_its_thread_follows_by_itself(ear, until):
    ear.watch.start()
    ear.watch.stored(FIRST, hot=True)
    ear.service(0, "medium")
    until(lambda: ear.watch._sounder._call is Call.MEDIUM, says="the sounder")
