"""Notices on their way: order, waits, marks of what may be a repeat, and calling again."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from sqlmodel import Session, select

from api.alarms import events
from api.alarms.notices.letters import Answer, Outcome
from api.alarms.notices.outbox import LONGEST_WAIT_S, Outbox, notices_for, wait_s
from api.alarms.notices.repeats import call_again
from api.alarms.notices.sender import Sender
from api.alarms.notices.words import MAYBE_REPEAT, Speaker
from api.alarms.words import RULES
from logger.errors import StoreError
from logger.store import database, facts
from logger.store.alarm_tables import AlarmEvent, Notice, NoticeTarget

NOON = datetime(2026, 9, 21, 12, 0, tzinfo=UTC)
WORDS = RULES["coolant_out_hot"]
SPEAKER = Speaker(ZoneInfo("Europe/Vienna"), "http://still.local:8080")
TITLE = f"HIGH: {WORDS.name}, Still coolant out"
BODY = f"""\
Still coolant out: 71.2 °C (limit 70 °C)
{WORDS.first_action}
Since 14:00 on 21 September.
http://still.local:8080/alarms.html"""


class Trial:
    """A store with an outbox, a clock to turn, and a post that answers as it is told."""

    def __init__(self, data) -> None:
        database.prepare(data)
        self.engine = database.engine(data)
        self.now = NOON
        self.outbox = Outbox(self.engine, self.engine, lambda: self.now)
        self.sent, self.answers = [], {}
        self.sender = Sender(self.outbox, self)

    def send(self, letter, answered):
        self.sent.append(letter)
        outcome = self.answers.get(letter.address, Outcome.TAKEN)
        if outcome is not None:
            says = "" if outcome is Outcome.TAKEN else "It did not."
            answered(Answer(letter.id, outcome, says))

    def target(self, name="phone", **more):
        made = NoticeTarget.first(
            name=name, address=f"json://{name}", site=uuid4(), who="me", effective_at=NOON, **more
        )
        facts.record(self.engine, made)
        return made

    def came_up(self, priority="high", subject="coolant-out", *, before="normal", **more):
        fields = {
            "rule": "coolant_out_hot",
            "subject": subject,
            "where": "Still coolant out",
            "slot": int(self.now.timestamp()),
            "at": self.now,
            "what": "raise",
            "state_before": before,
            "state_after": "unacknowledged",
            "who": "alarms",
            "value": 71.2,
            "limit": 70.0,
            "unit": "°C",
            "priority": priority,
            "recorded_at": self.now,
        } | more
        event = AlarmEvent(**fields)
        owed = [event] if event.state_after == "unacknowledged" else []
        events.keep(
            self.engine, [event], owed=owed, notices_for=lambda e, t: notices_for(e, t, SPEAKER)
        )

    def passes(self, **time):
        self.now += timedelta(**time)

    def again(self):
        return call_again(self.engine, self.engine, lambda: SPEAKER, self.now)

    def look(self):
        """Send what is due, and note the answers; gives what was handed over."""
        known = len(self.sent)
        self.sender.look()
        self.sender._note_answers()
        return self.sent[known:]

    def kept(self):
        with Session(self.engine) as session:
            found = session.exec(select(Notice).order_by(Notice.created_at, Notice.round)).all()
            session.expunge_all()
        return found


@pytest.fixture
def trial(tmp_path):
    made = Trial(tmp_path)
    yield made
    made.engine.dispose()


def test_a_notice_says_place_value_limit_first_action_and_a_link(trial):
    trial.target()
    trial.came_up()
    [letter] = trial.look()
    assert (letter.title, letter.body) == (TITLE, BODY)
    assert letter.urgent
    [kept] = trial.kept()
    assert (kept.sent_at, kept.attempts, kept.started_at) == (NOON, 1, None)
    assert trial.look() == []


def test_places_in_us_units_and_alarms_without_a_number(trial):
    us = Speaker(ZoneInfo("America/New_York"), "http://x", us_units=True)
    event = AlarmEvent(
        rule="left_behind", where="Still", at=NOON, priority="low", value=71.2, unit="°C"
    )
    event.limit = 70.0
    assert us.body(event).startswith("Still: 160.2 °F (limit 158 °F)\n")
    event.value = None
    event.why = "the probe is silent"
    assert us.body(event).startswith("Still: the probe is silent\nSince")
    assert us.title(event) == "Low: Left behind, Still"
    demo = Speaker(ZoneInfo("UTC"), "http://x", simulated=True)
    assert demo.title(event) == "Simulated: Low: Left behind, Still"


def test_targets_are_told_by_priority_and_later_ones_not_yet(trial):
    trial.target("all", least_priority="low")
    trial.target("most", least_priority="medium")
    trial.target("worst", least_priority="high")
    trial.target("neighbour", least_priority="low", after_min=5)
    trial.came_up("low")
    assert [letter.address for letter in trial.look()] == ["json://all"]
    trial.came_up("medium", subject="b")
    assert {letter.address for letter in trial.look()} == {"json://all", "json://most"}
    trial.came_up("high", subject="c")
    assert {letter.address for letter in trial.look()} == {
        "json://all",
        "json://most",
        "json://worst",
    }


def test_the_most_urgent_goes_first_and_a_target_is_told_one_at_a_time(trial):
    trial.target(least_priority="low")
    trial.came_up("low", subject="a")
    trial.passes(seconds=1)
    trial.came_up("high", subject="b")
    first = [trial.look()[0].title[:4] for _ in range(2)]
    assert first == ["HIGH", "Low:"]


def test_a_target_that_does_not_answer_holds_up_nobody(trial):
    trial.target("deaf")
    trial.target("phone")
    trial.answers["json://deaf"] = None
    trial.came_up(subject="a")
    trial.came_up(subject="b")
    assert sorted(one.address for one in trial.look()) == ["json://deaf", "json://phone"]
    assert [one.address for one in trial.look()] == ["json://phone"]


def test_it_is_tried_again_after_longer_and_longer_waits_until_it_is_gone(trial):
    trial.target()
    trial.answers["json://phone"] = Outcome.NOT_TAKEN
    trial.came_up()
    waits = []
    for _ in range(8):
        assert len(trial.look()) == 1
        assert trial.look() == []
        [kept] = trial.kept()
        assert kept.problem == "It did not."
        waits.append((kept.next_attempt_at - trial.now).total_seconds())
        trial.now = kept.next_attempt_at
    assert waits == [5, 10, 20, 40, 60, 60, 60, 60]
    del trial.answers["json://phone"]
    [letter] = trial.look()
    assert "repeat" not in letter.title  # it surely never arrived
    assert trial.kept()[0].problem == ""


@pytest.mark.parametrize("priority", LONGEST_WAIT_S)
def test_waits_are_bounded(priority):
    assert wait_s(1, priority) == 5
    assert wait_s(1000, priority) == LONGEST_WAIT_S[priority]


def test_what_may_have_arrived_says_so_when_it_is_sent_again(trial):
    trial.target()
    trial.answers["json://phone"] = Outcome.UNSURE
    trial.came_up()
    trial.look()
    trial.answers["json://phone"] = Outcome.NOT_TAKEN  # which proves nothing about the first
    trial.passes(minutes=1)
    trial.look()
    trial.passes(minutes=1)
    [letter] = trial.look()
    assert letter.title == f"{TITLE} (may be a repeat)"
    assert letter.body == f"{MAYBE_REPEAT}\n{BODY}"


def test_what_was_under_way_at_the_end_is_sent_again_and_says_so(trial):
    trial.target()
    trial.answers["json://phone"] = None
    trial.came_up()
    trial.look()
    trial.passes(hours=1)
    assert trial.look() == []  # while the same service waits for the answer
    trial.sender = Sender(trial.outbox, trial)
    assert trial.outbox.recover() == 1
    [letter] = trial.look()
    assert letter.title.endswith("(may be a repeat)")


def test_an_answer_that_cannot_be_noted_is_noted_later(trial, monkeypatch):
    trial.target()
    trial.came_up()

    def full(*_):
        raise StoreError("The disk is full.")

    with monkeypatch.context() as patched:
        patched.setattr(Outbox, "finish", full)
        trial.sender.look()
        with pytest.raises(StoreError):
            trial.sender._note_answers()
    assert trial.kept()[0].sent_at is None
    assert trial.look() == []
    assert trial.kept()[0].sent_at == NOON


def test_a_clock_set_back_holds_no_notice_back(trial):
    trial.target()
    trial.answers["json://phone"] = Outcome.NOT_TAKEN
    trial.came_up()
    trial.look()
    trial.passes(days=-3)
    assert len(trial.look()) == 1


def test_a_target_taken_away_is_told_no_more(trial):
    target = trial.target()
    trial.came_up()
    facts.record(trial.engine, target.correction(who="me", withdrawn=True))
    assert trial.look() == []
    assert trial.kept()[0].dropped_at == NOON
    assert trial.outbox.next_in_s() is None


def test_a_high_alarm_calls_again_and_calls_others_until_it_is_acknowledged(trial):
    trial.target("phone")
    trial.target("neighbour", after_min=5)
    trial.came_up()
    told = {"json://phone": [0], "json://neighbour": []}
    trial.look()
    for minute in range(1, 31):
        trial.passes(minutes=1)
        trial.again()
        for letter in trial.look():
            told[letter.address].append(minute)
            assert f"Nobody has acknowledged this yet, after {minute} min." in letter.body
    assert told["json://phone"] == [0, 2, 4, 6, 8, 18, 28]
    assert told["json://neighbour"] == [5, 7, 9, 11, 13, 23]
    trial.came_up(before="unacknowledged", what="acknowledge", state_after="acknowledged")
    trial.passes(hours=1)
    assert trial.again() == 0


def test_one_that_went_back_by_itself_is_told_seldom_and_says_so(trial):
    trial.target()
    trial.came_up()
    trial.look()
    trial.passes(minutes=1)
    trial.came_up(before="unacknowledged", what="clear", state_after="returned")
    trial.passes(minutes=8)
    assert trial.again() == 0
    trial.passes(minutes=1)
    assert trial.again() == 1
    [letter] = trial.look()
    assert letter.body.startswith("It has gone back to normal by itself; nobody has acknowledged")


def test_nothing_is_piled_up_for_a_target_that_takes_nothing(trial):
    trial.target()
    trial.answers["json://phone"] = Outcome.NOT_TAKEN
    trial.came_up()
    for _ in range(20):
        trial.passes(minutes=1)
        trial.look()
        assert trial.again() == 0
    assert len(trial.kept()) == 1


def test_covered_and_lesser_alarms_do_not_call_again(trial):
    trial.target(least_priority="low")
    trial.came_up("medium", subject="a")
    trial.came_up("high", subject="b", covers="shelved", state_after="held")
    trial.look()
    trial.passes(hours=1)
    assert trial.again() == 0
