"""A judged scan feeds the watchdog and tells the logger; a heartbeat beats only on judged scans."""

import pytest

from api.alarms.notices import pulse as pulses
from api.alarms.notices.heartbeat import AGAIN_S, Heartbeat, asked
from api.alarms.notices.pulse import EVERY_S, Pulse
from logger.errors import StoreError
from logger.service_state import FILE_NAME, ServiceState
from logger.sounder import Call

NOON = 1_790_000_000


@pytest.fixture
def fed(monkeypatch):
    messages = []
    monkeypatch.setattr(pulses, "notify", messages.append)
    return messages


@pytest.fixture
def pulse(tmp_path):
    return Pulse(tmp_path, lambda slot: NOON + 100 - slot)


def test_only_a_fresh_judged_scan_feeds_the_watchdog(pulse, fed):
    assert not pulse.fresh
    pulse.loud(Call.HIGH)
    pulse.attempt()
    pulse.judged(NOON, Call.NONE)  # of a backlog
    assert fed == []
    pulse.judged(NOON + 70, Call.NONE)
    assert fed == ["WATCHDOG=1"]
    assert pulse.fresh


def test_the_logger_is_told_of_a_change_at_once_and_else_now_and_then(pulse, fed, tmp_path):
    pulse.judged(NOON, Call.NONE)
    for slot in range(NOON + 1, NOON + EVERY_S):
        pulse.judged(slot, Call.NONE)
    assert ServiceState.read(tmp_path).judged_slot == NOON
    pulse.judged(NOON + EVERY_S, Call.NONE)
    assert ServiceState.read(tmp_path).judged_slot == NOON + EVERY_S
    pulse.judged(NOON + EVERY_S + 1, Call.HIGH)
    state = ServiceState.read(tmp_path)
    assert (state.judged_slot, state.call) == (NOON + EVERY_S + 1, "high")
    pulse.loud(Call.NONE)
    assert ServiceState.read(tmp_path).call == ""


def test_a_press_is_counted_on_over_a_restart(pulse, tmp_path):
    pulse.attempt()
    Pulse(tmp_path, lambda _: 0.0).attempt()
    assert ServiceState.read(tmp_path).tries == 2


def test_a_folder_that_cannot_be_written(pulse, tmp_path):
    (tmp_path / f"{FILE_NAME}.new").mkdir()
    with pytest.raises(StoreError, match=r"cannot be written .* the sounder cannot be told"):
        pulse.attempt()


class Heart:
    """A heartbeat on a clock to turn."""

    def __init__(self) -> None:
        self.now_s, self.fresh, self.problem, self.at_s = 0.0, True, "", []
        self.made = Heartbeat(lambda: self.fresh, ask=self.ask, clock_s=lambda: self.now_s)

    def ask(self, _address):
        self.at_s.append(self.now_s)
        return self.problem

    def passes(self, seconds):
        for _ in range(seconds):
            self.made.look()
            self.now_s += 1.0


def test_it_beats_at_least_every_minute_while_scans_are_judged():
    heart = Heart()
    heart.passes(100)
    assert heart.at_s == []  # no address yet
    heart.made.set("http://x", 60)
    heart.passes(300)
    assert heart.at_s == [100, 160, 220, 280, 340]
    heart.fresh = False
    heart.passes(300)
    assert len(heart.at_s) == 5
    heart.fresh = True
    heart.passes(1)
    assert len(heart.at_s) == 6
    heart.made.set("http://x", 3600)
    assert heart.made.beat.every_s == 60


def test_a_beat_that_was_not_answered_is_told_once_and_tried_sooner(caplog):
    heart = Heart()
    heart.made.set("http://x", 60)
    heart.problem = "It did not answer."
    heart.passes(25)
    assert heart.at_s == [0, AGAIN_S, 2 * AGAIN_S]
    assert heart.made.beat.problem == "It did not answer."
    assert caplog.text.count("It did not answer.") == 1
    heart.problem = ""
    heart.passes(10)
    assert (heart.made.beat.problem, heart.made.beat.beats) == ("", 4)


def test_addresses_that_answer_refuse_and_are_not_there(listener, free_port):
    assert asked(f"{listener}/beat") == ""
    assert asked(f"{listener}/gone") == "The heartbeat's address answered 404; check the address."
    said = asked(f"http://127.0.0.1:{free_port}/")
    assert said.startswith("The heartbeat's address did not answer (")
    assert said.endswith("); check it and the network.")
    assert asked("http://[").startswith("The heartbeat's address did not answer (")


def test_its_thread_beats_by_itself(until):
    heart = Heart()
    heart.made.set("http://x", 60)
    heart.made.start()
    until(lambda: heart.at_s, says="a beat")
    heart.made.stop()
