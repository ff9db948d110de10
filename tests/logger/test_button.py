"""The jar button on mock pins: kept before it beeps, told once, and told later where it must be."""

import json
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from http import HTTPStatus
from threading import Event, Thread

import pytest
from gpiozero import Device
from gpiozero.pins.mock import MockFactory
from typer.testing import CliRunner

from logger import button
from logger.button import TROUBLE, ButtonWatch
from logger.errors import SettingsError
from logger.pressed import FILE_NAME, REFUSED_NAME, Pressed, Waiting
from logger.presses import Press
from logger.settings import Settings
from logger.telling import AT_THE_STILL, Answer, Teller

AT = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
RUN = "0190a000-0000-7000-8000-000000000001"
NOW = {
    "runs": [
        {
            "id": RUN,
            "vessel": "still",
            "started_at": "2026-03-01T09:00:00+00:00",
            "next_number": 7,
            "fitting_mark": "hearts",
        }
    ]
}


class Service:
    """Answers as the service does: a body sent again under its id changes nothing."""

    def __init__(self) -> None:
        self.answers, self.kept, self.asked = True, {}, []
        self.now, self.refuses, self.loses_answers = NOW, None, 0

    def ask(self, method, path, body=None):
        if not self.answers:
            raise ConnectionRefusedError
        self.asked.append((method, path))
        if method == "GET":
            return Answer(HTTPStatus.OK, self.now)
        if self.refuses is not None:
            return self.refuses
        said = json.loads(body)
        self.kept.setdefault(said.get("id", path), (path, said))
        if self.loses_answers:
            self.loses_answers -= 1
            raise TimeoutError
        return Answer(HTTPStatus.CREATED, said)


@pytest.fixture
def service():
    return Service()


def pressed(press, at=AT):
    return Pressed.now(press, at)


def test_each_press_becomes_what_it_means(tmp_path, service):
    waiting = Waiting(tmp_path)
    for press in Press:
        waiting.add(pressed(press))
    assert Teller(waiting, service).tell(AT + timedelta(seconds=2))
    jar, mark, here = service.kept.values()
    assert jar[0] == f"/api/runs/{RUN}/jars"
    assert (jar[1]["number"], jar[1]["at"]) == (7, AT.isoformat())
    assert mark[0] == f"/api/runs/{RUN}/marks"
    assert (mark[1]["kind"], mark[1]["source"]) == ("hearts", "button")
    assert here == (AT_THE_STILL, {"source": "button"})
    assert len(waiting) == 0


def test_what_could_not_be_told_is_told_later_even_after_a_restart(tmp_path, service):
    service.answers = False
    waiting = Waiting(tmp_path)
    for seconds in (0, 60):
        waiting.add(pressed(Press.SHORT, AT + timedelta(seconds=seconds)))
    assert not Teller(waiting, service).tell(AT)
    service.answers = True
    again = Waiting(tmp_path)
    assert Teller(again, service).tell(AT + timedelta(hours=2))
    times = [body["at"] for _, body in service.kept.values()]
    assert times == [AT.isoformat(), (AT + timedelta(seconds=60)).isoformat()]
    assert len(Waiting(tmp_path)) == 0


def test_an_answer_that_is_lost_makes_no_second_jar(tmp_path, service):
    waiting = Waiting(tmp_path)
    waiting.add(pressed(Press.SHORT))
    service.loses_answers = 1
    assert not Teller(waiting, service).tell(AT)
    service.now = {"runs": [NOW["runs"][0] | {"next_number": 8}]}  # the first has arrived
    assert Teller(Waiting(tmp_path), service).tell(AT)
    [(_, body)] = service.kept.values()
    assert body["number"] == 7
    assert [path for method, path in service.asked if method == "POST"] == [
        f"/api/runs/{RUN}/jars"
    ] * 2


def test_what_the_service_will_never_take_is_laid_aside(tmp_path, service):
    waiting = Waiting(tmp_path)
    waiting.add(pressed(Press.SHORT))
    why = {"error": {"kind": "range", "sentence": "That lies before the run.", "field": "at"}}
    service.refuses = Answer(HTTPStatus.UNPROCESSABLE_ENTITY, why)
    teller = Teller(waiting, service)
    assert teller.tell(AT)
    assert teller.refused == 1
    [line] = (tmp_path / REFUSED_NAME).read_text().splitlines()
    assert json.loads(line)["why"] == "That lies before the run."


@pytest.mark.parametrize("status", [401, 403, 429, 500, 503])
def test_what_may_pass_is_tried_again(tmp_path, service, status):
    waiting = Waiting(tmp_path)
    waiting.add(pressed(Press.DOUBLE))
    service.refuses = Answer(status, None)
    assert not Teller(waiting, service).tell(AT)
    assert len(waiting) == 1


def test_without_a_run_then_a_press_is_laid_aside(tmp_path, service):
    waiting = Waiting(tmp_path)
    waiting.add(pressed(Press.SHORT, AT - timedelta(hours=5)))
    assert Teller(waiting, service).tell(AT)
    assert "No run" in (tmp_path / REFUSED_NAME).read_text()
    assert not service.kept


def test_a_cut_where_none_fits_is_laid_aside(tmp_path, service):
    service.now = {"runs": [NOW["runs"][0] | {"fitting_mark": None}]}
    waiting = Waiting(tmp_path)
    waiting.add(pressed(Press.DOUBLE))
    assert Teller(waiting, service).tell(AT)
    assert "No cut fits" in (tmp_path / REFUSED_NAME).read_text()


def test_i_am_here_is_not_said_of_an_earlier_time(tmp_path, service):
    waiting = Waiting(tmp_path)
    waiting.add(pressed(Press.LONG))
    Teller(waiting, service).tell(AT + timedelta(minutes=10))
    assert not service.kept
    assert len(waiting) == 0


def test_a_button_belongs_to_the_still_it_is_set_to(tmp_path, service):
    later = NOW["runs"][0] | {
        "id": "0190a000-0000-7000-8000-000000000002",
        "vessel": "second still",
        "started_at": "2026-03-01T10:00:00+00:00",
    }
    service.now = {"runs": [*NOW["runs"], later]}
    waiting = Waiting(tmp_path)
    waiting.add(pressed(Press.SHORT))
    assert Teller(waiting, service, "still").tell(AT)
    [(path, _)] = service.kept.values()
    assert path == f"/api/runs/{RUN}/jars"
    waiting.add(pressed(Press.SHORT))
    third = Teller(waiting, service, "third still")
    assert third.tell(AT)
    assert third.refused == 1


def test_a_torn_line_costs_only_itself(tmp_path, service):
    waiting = Waiting(tmp_path)
    waiting.add(pressed(Press.SHORT))
    with (tmp_path / FILE_NAME).open("a") as out:
        out.write('{"id": "0190')  # the power went
    again = Waiting(tmp_path)
    again.add(pressed(Press.DOUBLE))
    assert [one.press for one in Waiting(tmp_path)._presses] == [Press.SHORT, Press.DOUBLE]


@pytest.fixture
def pins():
    factory = Device.pin_factory = MockFactory()
    yield factory
    factory.close()
    Device.pin_factory = None


@contextmanager
def followed(tmp_path, service, beeps):
    stop = Event()
    watch = ButtonWatch(Waiting(tmp_path), service, lambda *beep: beeps.append(beep))
    thread = Thread(target=watch.run, args=(stop,))
    thread.start()
    try:
        yield watch
    finally:
        stop.set()
        thread.join()


def test_a_press_of_the_pin_arrives_and_beeps(tmp_path, service, pins, until):
    beeps = []
    with followed(tmp_path, service, beeps) as watch, button._button("GPIO27") as contact:
        contact.when_pressed = lambda: watch.edge(down=True)
        contact.when_released = lambda: watch.edge(down=False)
        pin = pins.pin("GPIO27")
        pin.drive_low()
        until(lambda: service.kept, says="the long press")  # held: I am here
        pin.drive_high()
    [(path, _)] = service.kept.values()
    assert path == AT_THE_STILL
    assert beeps == [button.BEEPS[Press.LONG]]


def test_a_refusal_is_heard(tmp_path, service, until):
    beeps = []
    service.refuses = Answer(HTTPStatus.CONFLICT, None)
    Waiting(tmp_path).add(pressed(Press.SHORT, datetime.now(UTC)))
    with followed(tmp_path, service, beeps):
        until(lambda: beeps, says="the trouble")
    assert beeps == [TROUBLE]


def test_a_press_that_cannot_be_kept_is_heard(tmp_path, service):
    beeps = []
    gone = tmp_path / "gone"
    watch = ButtonWatch(Waiting(gone), service, lambda *beep: beeps.append(beep))
    watch._act(Press.SHORT)
    assert beeps == [TROUBLE]


def test_the_buzzer_is_a_pin_too(pins):
    with button._buzzer("GPIO22") as buzzer:
        button._beeping(buzzer)(1, 0.01)
        assert pins.pin("GPIO22").state


@pytest.mark.parametrize(("pin", "says"), [(None, "No button is set"), ("GPIO99", "no such pin")])
def test_a_pin_that_cannot_be_had_is_one_sentence(tmp_path, pins, pin, says):
    with pytest.raises(SettingsError, match=says):
        button.run(Settings(data=tmp_path, button_pin=pin))


def test_the_word_says_what_it_needs(tmp_path):
    from api.cli import app  # noqa: PLC0415 - the command as a person meets it

    done = CliRunner().invoke(app, ["button", "--data", str(tmp_path)])
    assert done.exit_code == 2
    assert "No button is set" in done.output
