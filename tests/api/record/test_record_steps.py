"""Two people enter, change, undo and send again, in any order: the record says the same as a model.

The model is a list of what was said about each thing: marks and jars, lots, what was measured of
one, what passed between two, and samples taken, which move liquid by a transfer of their own. The
two keep what they enter in a queue of their own, as a browser without reception does, and send it
later, some of it twice. At the end the books hold what the model says is in them, too.
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
from api.record import entries, jars, lots, marks, measures, transfers
from api.record.entering import Withdrawal
from api.record.lot_book import LotBook
from api.record.runs_read import run_read
from api.record.stage_words import Sample
from logger.clock import MICRO, FakeClock
from logger.errors import RangeError
from logger.settings import Settings
from logger.store import facts
from logger.store.record_tables import Jar, Lot, Mark, Measure, StageEntry, Transfer
from logger.store.tables import Vessel

STEPS = int(os.environ.get("WORMTUB_TEST_RECORD_STEPS", "10000"))
AT_ONCE = 100
NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
NUMBERS = count(1)
TABLES = {
    "mark": Mark,
    "jar": Jar,
    "lot": Lot,
    "measure": Measure,
    "transfer": Transfer,
    "sample": StageEntry,
}
ROOMS = {
    "mark": marks,
    "jar": jars,
    "lot": lots,
    "measure": measures,
    "transfer": transfers,
    "sample": entries,
}
WAYS_BACK = {  # what the routes call
    kind: {route.endpoint.__name__: route.endpoint for route in room.router.routes}
    for kind, room in ROOMS.items()
}
WORD = {"lot": "origin", "measure": "volume_l", "transfer": "volume_l"}  # what changes; else text
CHANGES = {
    "mark": marks.MarkChange,
    "jar": jars.JarChange,
    "lot": lots.LotChange,
    "measure": measures.MeasureChange,
    "transfer": transfers.TransferChange,
}
SAMPLE_L = 0.001


def word_of(kind, number):
    """Return what a change says: litres where an amount is what changes."""
    field = WORD.get(kind, "text")
    return {field: number / 1024 if field == "volume_l" else f"word {number}"}


@dataclass
class Scene:
    """One example's own run, and three lots that are not taken back."""

    run_id: object
    batch: str
    source: object
    goal: object
    gauged: object


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
                blank = {WORD.get(request.kind, "text"): ""}
                self.said[about] = [blank | request.says | {"withdrawn": False}]
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
    steps: int = 0

    def begin(self):
        self.steps -= 1  # seen once before its first step
        base = {"site": self.house.identity.site, "who": "Anna", "effective_at": NOW}
        number = next(NUMBERS)
        still = Vessel.first(name=f"still {number}", kind="still", volume_l=60.0, **base)
        tubs = [Lot.first(kind="spirit", name=f"tub {number}.{n}", **base) for n in range(3)]
        facts.record(self.house.engine, still, *tubs)
        batch = "rye"
        body = {"vessel_id": still.about, "batch": batch, "stage": "spirit", "started_at": NOW}
        run = take(self.house, Visitor("Anna", Role.OPERATE), NewOccupancy(**body))
        return Scene(run.id, batch, *(one.about for one in tubs))

    def send(self, request, scene):
        """Say it to the functions the routes call; the record as it stands, or None if stale."""
        asking, house, kind = Visitor(request.who, Role.OPERATE), self.house, request.kind
        room, own = ROOMS[kind], {"id": request.id} if request.id else {}
        try:
            if request.word == "enter":
                return self.enter(request, scene, asking)
            if request.word == "change":
                versioned = {"version": request.version} | own
                if kind == "sample":
                    said = sample(scene, request.says)
                    body = entries.EntryChange(said=said, **versioned)
                else:
                    fixed = {"lot": {"kind": "other", "name": "some"}, "transfer": moved(scene)}
                    body = CHANGES[kind](**fixed.get(kind, {}) | request.says | versioned)
                return room.correct(house, asking, request.about, body)
            name = "withdraw" if request.word == "withdraw" else "take_last_change_back"
            body = Withdrawal(version=request.version, **own)
            return WAYS_BACK[kind][name](house, asking, request.about, body)
        except StaleError:
            return None

    def enter(self, request, scene, asking):
        house, own = self.house, {"id": request.about} | request.says
        match request.kind:
            case "mark":
                return marks.place(house, asking, scene.run_id, marks.NewMark(**own))
            case "jar":
                return jars.begin(house, asking, scene.run_id, jars.NewJar(**own))
            case "lot":
                return lots.begin(house, asking, lots.NewLot(kind="other", name="some", **own))
            case "measure":
                body = measures.NewMeasure(**own)
                return measures.measure(house, asking, scene.gauged, body)
            case "transfer":
                return transfers.enter(house, asking, transfers.NewTransfer(**moved(scene) | own))
            case _:
                return entries.enter(house, asking, sample(scene, own))


def moved(scene):
    return {"kind": "move", "from_lot": scene.source, "to_lot": scene.goal}


def sample(scene, said):
    own = {"kind": "sample", "batch": scene.batch, "lot_id": scene.source, "volume_l": SAMPLE_L}
    return Sample(**own | said)


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
            self.scene = ground.begin()
            self.model = Model()
            self.people = [Person("Anna"), Person("Bo")]
            self.sent = []
            self.number = 0

        @rule(
            who=st.integers(0, 1),
            kind=st.sampled_from(list(TABLES)),
            minutes=st.integers(0, 600),
        )
        def enter(self, who, kind, minutes):
            self.number += 1
            at = NOW + timedelta(minutes=minutes)
            says = {"at": at} | {
                "mark": {"kind": "note"},
                "jar": {"number": self.number},
                "measure": word_of("measure", self.number),
                "transfer": word_of("transfer", self.number),
            }.get(kind, {})
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
            kind = self.model.kinds[about]
            says = word_of(kind, self.number) if word == "change" else {}
            own = uuid7() if named else None
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
            version, kind = len(self.model.said[about]), self.model.kinds[about]
            if kind == "lot":  # it has no time to be wrong in
                return
            in_run = kind in {"mark", "jar"}
            wrong = {"at": NOW - timedelta(minutes=1) if in_run else NOW + timedelta(days=2)}
            request = Request("Bo", "change", kind, about, version, wrong)
            with pytest.raises(RangeError, match="before the run" if in_run else "future"):
                ground.send(request, self.scene)

        @invariant()
        def the_run_shows_what_the_model_says(self):
            ground.steps += 1
            if not self.sent or self.number % 5:
                return
            read = run_read(ground.house.reader.engine, self.scene.run_id)
            shown = {one.about: (one.version, one.text) for one in read.marks}
            shown |= {one.jar.about: (one.jar.version, one.jar.text) for one in read.jars}
            assert shown == {
                about: (len(said), said[-1]["text"])
                for about, said in self.model.said.items()
                if self.model.kinds[about] in {"mark", "jar"} and not said[-1]["withdrawn"]
            }

        def teardown(self):
            """See that every word said is in the record once, in order, and no other."""
            if not hasattr(self, "scene"):
                return
            stored = {}
            with Session(ground.house.reader.engine) as session:
                for name, kind in TABLES.items():
                    chosen = select(kind).where(col(kind.about).in_(list(self.model.said)))
                    for row in session.exec(chosen.order_by(col(kind.version))):
                        word = getattr(row, WORD.get(name, "text"))
                        stored.setdefault(row.about, []).append((word, row.withdrawn))
                self._see_books(session)
            assert stored == {
                about: [
                    (one[WORD.get(self.model.kinds[about], "text")], one["withdrawn"])
                    for one in said
                ]
                for about, said in self.model.said.items()
            }

        def _standing(self, kind):
            """What stands of a kind, as the model has it."""
            kinds = self.model.kinds
            newest = [said[-1] for about, said in self.model.said.items() if kinds[about] == kind]
            return [one for one in newest if not one["withdrawn"]]

        def _see_books(self, session):
            """See that the lots hold what stands, and that each sample moved once."""
            book, scene = LotBook(session), self.scene
            moved_l = sum(one["volume_l"] for one in self._standing("transfer"))
            assert book.held(scene.goal).volume_l == pytest.approx(moved_l, abs=1e-9)
            sampled_l = SAMPLE_L * len(self._standing("sample"))
            left_l = book.held(scene.source).volume_l
            assert left_l == pytest.approx(-moved_l - sampled_l, abs=1e-9)
            found = self._standing("measure")
            latest = max((one["at"] for one in found), default=None)
            last = [one["volume_l"] for one in found if one["at"] == latest]
            assert book.held(scene.gauged).volume_l in (last or [0.0])

        def _queue(self, who, request):
            request.who = self.people[who].name
            self.people[who].queue.append(request)

        def _send(self, person, request):
            taken, version = self.model.send(request)
            answer = ground.send(request, self.scene)
            self.sent.append(request)
            assert (answer is not None) == taken
            if answer is not None:
                assert answer.version == version
            if person is not None:
                person.seen[request.about] = version

    return Steps


@pytest.mark.timeout(900)  # it takes many steps, each of them through the store
def test_whatever_two_people_do_the_record_says_what_the_model_says(ground):
    while ground.steps < STEPS:  # some end early
        run_state_machine_as_test(
            machine_on(ground),
            settings=settings(
                max_examples=(STEPS - ground.steps) // AT_ONCE + 1,
                stateful_step_count=AT_ONCE,
                deadline=None,
                suppress_health_check=list(HealthCheck),
                database=None,
                phases=[Phase.generate],  # a store cannot be wound back to shrink on
            ),
        )
