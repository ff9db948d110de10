"""Two people enter, change, undo and send again, in any order: the record says the same as a model.

The model is a list of what was said about each thing. The two keep what they enter in a queue of
their own, as a browser without reception does, and send it later, some of it twice.
"""

import os
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import count

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlmodel import Session, col, select
from uuid_utils.compat import uuid7

from api.access import Role, Visitor
from api.errors import StaleError
from api.house import House
from api.occupancies import NewOccupancy
from api.occupancies import add as take
from api.record import jars, marks
from api.record.entering import Withdrawal
from api.record.runs_read import run_read
from logger.clock import MICRO, FakeClock
from logger.errors import RangeError
from logger.settings import Settings
from logger.store import facts
from logger.store.record_tables import Jar, Mark
from logger.store.tables import Vessel

# tests/bench/record_steps.py takes 10,000
STEPS = int(os.environ.get("WORMTUB_TEST_RECORD_STEPS", "2500"))
AT_ONCE = 100
NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
NUMBERS = count(1)
TABLES = {"mark": Mark, "jar": Jar}


@dataclass
class Request:
    """What one of the two wants said: sent once, or again."""

    who: str
    word: str  # enter, change, withdraw, undo
    kind: str
    about: object
    version: int = 0
    says: dict = field(default_factory=dict)
    id: object = None  # the change's own, where it has one


@dataclass
class Person:
    """One of the two: what they saw last, and what waits to be sent."""

    name: str
    seen: dict = field(default_factory=dict)  # about -> version
    queue: list = field(default_factory=list)


class Model:
    """What was said about each thing, in order; what was taken is never taken again."""

    def __init__(self) -> None:
        self.said = {}  # about -> [what it says]
        self.kinds = {}
        self.taken = set()

    def send(self, request):
        """Return what must be answered: whether refused, and the version that stands."""
        about = request.about
        if request.word == "enter":
            if about not in self.said:
                self.said[about] = [{"text": ""} | request.says | {"withdrawn": False}]
                self.kinds[about] = request.kind
            return True, len(self.said[about])
        said = self.said[about]
        wanted = self.wanted(request)
        if said[-1] == said[-1] | wanted or self.was_taken(request, said, wanted):
            return True, len(said)
        if request.version != len(said):
            return False, len(said)
        self.taken.add(request.id)
        said.append(said[-1] | wanted)
        return True, len(said)

    def wanted(self, request):
        said = self.said[request.about]
        if request.word == "change":
            return request.says | {"withdrawn": False}
        if request.word == "withdraw" or not 2 <= request.version <= len(said) + 1:
            return {"withdrawn": True}
        return said[request.version - 2]

    def was_taken(self, request, said, wanted):
        """Known by its own id; else the version after the one it came from says what it wants."""
        if request.id is not None:
            return request.id in self.taken
        after = said[request.version : request.version + 1]
        return any(one == one | wanted for one in after)


@dataclass
class Ground:
    """One service's record, for all examples: each has a run of its own."""

    house: House

    def run(self):
        base = {"site": self.house.identity.site, "who": "Anna", "effective_at": NOW}
        still = Vessel.first(name=f"still {next(NUMBERS)}", kind="still", volume_l=60.0, **base)
        facts.record(self.house.engine, still)
        body = {"vessel_id": still.about, "batch": "rye", "stage": "spirit", "started_at": NOW}
        return take(self.house, Visitor("Anna", Role.OPERATE), NewOccupancy(**body)).id

    def send(self, request, run_id):
        """Say it to the functions the routes call; the record as it stands, or None if stale."""
        asking, house = Visitor(request.who, Role.OPERATE), self.house
        room = {"mark": marks, "jar": jars}[request.kind]
        own = {"id": request.id} if request.id else {}
        try:
            if request.word == "enter":
                new, enter = {
                    "mark": (marks.NewMark, marks.place),
                    "jar": (jars.NewJar, jars.begin),
                }[request.kind]
                return enter(house, asking, run_id, new(id=request.about, **request.says))
            if request.word == "change":
                body = {"mark": marks.MarkChange, "jar": jars.JarChange}[request.kind]
                said = body(version=request.version, **request.says, **own)
                return room.correct(house, asking, request.about, said)
            end = room.withdraw if request.word == "withdraw" else room.take_last_change_back
            return end(house, asking, request.about, Withdrawal(version=request.version, **own))
        except StaleError:
            return None


@pytest.fixture(scope="module")
def ground(tmp_path_factory):
    clock = FakeClock(int((NOW + timedelta(days=1)).timestamp()) * MICRO)
    house = House.open(Settings(data=tmp_path_factory.mktemp("record")), clock)
    yield Ground(house)
    house.close()


def machine_on(ground):  # noqa: C901 - the rules are the machine's own methods
    class Steps(RuleBasedStateMachine):
        @initialize()
        def begin(self):
            self.run_id = ground.run()
            self.model = Model()
            self.people = [Person("Anna"), Person("Bo")]
            self.sent = []
            self.number = 0

        @rule(
            who=st.integers(0, 1),
            kind=st.sampled_from(["mark", "jar"]),
            minutes=st.integers(0, 600),
        )
        def enter(self, who, kind, minutes):
            self.number += 1
            at = NOW + timedelta(minutes=minutes)
            says = (
                {"at": at, "kind": "note"} if kind == "mark" else {"at": at, "number": self.number}
            )
            self._queue(who, Request("", "enter", kind, uuid7(), 0, says))

        @precondition(lambda self: any(one.seen for one in self.people))
        @rule(
            data=st.data(),
            word=st.sampled_from(["change", "change", "withdraw", "undo", "undo"]),
            named=st.booleans(),
        )
        def change(self, data, word, named):
            who = data.draw(st.sampled_from([n for n, one in enumerate(self.people) if one.seen]))
            person = self.people[who]
            about = data.draw(st.sampled_from(list(person.seen)))
            self.number += 1
            says = {"text": f"word {self.number}"} if word == "change" else {}
            own = uuid7() if named else None
            kind = self.model.kinds[about]
            self._queue(who, Request("", word, kind, about, person.seen[about], says, own))
            person.seen[about] += 1  # the next stands on this one

        @precondition(lambda self: any(one.queue for one in self.people))
        @rule(data=st.data(), times=st.sampled_from([1, 1, 2]))
        def send_what_waits(self, data, times):
            person = data.draw(st.sampled_from([one for one in self.people if one.queue]))
            subjects = data.draw(st.permutations(list({one.about: None for one in person.queue})))
            for about in subjects:  # one thing's changes in order, things in any order
                for request in [one for one in person.queue if one.about == about]:
                    for _ in range(times):
                        self._send(person, request)
            person.queue.clear()

        @precondition(lambda self: self.sent)
        @rule(data=st.data())
        def send_again(self, data):
            request = data.draw(st.sampled_from(self.sent))
            self._send(None, request)

        @rule(who=st.integers(0, 1))
        def look(self, who):
            if not self.people[who].queue:
                self.people[who].seen = {one: len(said) for one, said in self.model.said.items()}

        @precondition(lambda self: self.model.said)
        @rule(data=st.data())
        def say_what_cannot_be(self, data):
            about = data.draw(st.sampled_from(list(self.model.said)))
            version = len(self.model.said[about])
            early = {"at": NOW - timedelta(minutes=1)}
            request = Request("Bo", "change", self.model.kinds[about], about, version, early)
            with pytest.raises(RangeError, match="before the run"):
                ground.send(request, self.run_id)

        @invariant()
        def the_run_shows_what_the_model_says(self):
            if not self.sent or self.number % 5:
                return
            read = run_read(ground.house.reader.engine, self.run_id)
            shown = {one.about: (one.version, one.text) for one in read.marks}
            shown |= {one.jar.about: (one.jar.version, one.jar.text) for one in read.jars}
            assert shown == {
                about: (len(said), said[-1]["text"])
                for about, said in self.model.said.items()
                if not said[-1]["withdrawn"]
            }

        def teardown(self):
            """See that every word said is in the record once, in order, and no other."""
            if not hasattr(self, "run_id"):
                return
            stored = {}
            with Session(ground.house.reader.engine) as session:
                for kind in TABLES.values():
                    chosen = select(kind).where(col(kind.run) == self.run_id)
                    for row in session.exec(chosen.order_by(col(kind.version))):
                        stored.setdefault(row.about, []).append((row.text, row.withdrawn))
            assert stored == {
                about: [(one["text"], one["withdrawn"]) for one in said]
                for about, said in self.model.said.items()
            }

        def _queue(self, who, request):
            request.who = self.people[who].name
            self.people[who].queue.append(request)

        def _send(self, person, request):
            taken, version = self.model.send(request)
            answer = ground.send(request, self.run_id)
            self.sent.append(request)
            assert (answer is not None) == taken
            if answer is not None:
                assert answer.version == version
            if person is not None:
                person.seen[request.about] = version

    return Steps


def test_whatever_two_people_do_the_record_says_what_the_model_says(ground):
    run_state_machine_as_test(
        machine_on(ground),
        settings=settings(
            max_examples=max(1, STEPS // AT_ONCE),
            stateful_step_count=AT_ONCE,
            deadline=None,
            suppress_health_check=list(HealthCheck),
            database=None,
            phases=[Phase.generate],  # a store cannot be wound back to shrink on
        ),
    )
