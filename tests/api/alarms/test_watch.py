"""The alarms at work: nothing is lost, nothing sounds twice, and a restart finds all as it was."""

from dataclasses import dataclass, field
from datetime import timedelta

import pytest
from sqlmodel import Session, select

from api.alarms import events, past
from api.alarms import watch as watch_module
from api.alarms.events import Key
from api.alarms.ground import Charge
from api.alarms.model import Process, Shelf, Trigger
from api.alarms.reports import AT_STILL, MASH_COOKED
from api.alarms.watch import Watch
from logger.clock import MICRO
from logger.errors import NotFoundError, StoreError
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.sounder import Call
from logger.store import database, facts
from logger.store.alarm_tables import AlarmEvent, Notice, NoticeTarget
from logger.store.scans import ScanReader
from logger.store.tables import Occupancy, Place, Placement, Vessel
from logger.store.types import to_datetime

START = 1_790_000_000
PLACES = ("pot", "head", "coolant_in", "coolant_out", "spout", "room")
COOL = {"pot": 20, "head": 20, "coolant_in": 12, "coolant_out": 12, "spout": 19, "room": 20}
BOILS = {"pot": 92, "head": 91, "coolant_in": 12, "coolant_out": 35, "spout": 19, "room": 20}
LOST = BOILS | {"coolant_out": 80}


@dataclass
class Bench:
    """A store with a still in it, and as many services on it as a test wants, one by one."""

    stillhouse: object
    slot: int = START
    watches: list = field(default_factory=list)
    told: list = field(default_factory=list)
    heard: list = field(default_factory=list)

    def furnish(self):
        self.stillhouse.log(self.scan(COOL))
        self.engine = database.engine(self.stillhouse.data)
        self.reading = database.engine(self.stillhouse.data, read_only=True)
        base = {
            "site": database.identity(self.engine).site,
            "who": "Anna",
            "effective_at": to_datetime((START - 100) * MICRO),
        }
        self.still = Vessel.first(name="still", kind="still", volume_l=100.0, **base)
        made = [self.still]
        for name in PLACES:
            vessel = None if name == "room" else self.still.about
            place = Place.first(name=name, vessel=vessel, **base)
            made += [place, Placement.first(place=place.about, probe_id=name, **base)]
        self.run = run = Occupancy.first(
            vessel=self.still.about, batch="rye 1", stage="strip", **base
        )
        target = NoticeTarget.first(name="phone", address="json://x", **base)
        facts.record(self.engine, *made, run, target)
        return self

    def scan(self, values):
        self.slot += 1
        return Scan(self.slot, 1, tuple(self.reading_of(*one) for one in values.items()))

    def reading_of(self, probe, value):
        key = SeriesKey(probe, "temperature_c", 16)
        return Reading(key, Grade.OK, round(value * 16)) if value is not None else Reading(
            key, Grade.CRC, None
        )  # fmt: skip

    def log(self, values, seconds):
        scans = [self.scan(values) for _ in range(seconds)]
        self.stillhouse.log(*scans)
        self.stillhouse.clock.boottime_us += seconds * MICRO
        return scans

    def open(self):
        """Start a service's alarms on what is stored."""
        watch = Watch(self.engine, ScanReader(self.reading), self.stillhouse.clock)
        watch.ledger.notices_for = self.notices
        watch.ledger.changed.append(lambda _: self.heard.append(watch.call))
        watch.start(self.slot)
        assert watch.wait_ready(30)
        self.watches.append(watch)
        return watch

    def notices(self, event, targets):
        self.told.append((event.rule, event.slot))
        return [
            Notice(event_id=event.id, target_id=one.about, priority=event.priority, text="x")
            for one in targets
        ]

    def live(self, watch, values, seconds):
        for scan in self.log(values, seconds):
            watch.see([scan])

    def rows(self, kind):
        with Session(self.reading) as session:
            return session.exec(select(kind)).all()

    @property
    def hot(self):
        return Key("coolant_out_hot", f"{self.still.about}~condenser")

    def close(self):
        for watch in self.watches:
            watch.stop()
        self.engine.dispose()
        self.reading.dispose()


@pytest.fixture
def bench(stillhouse):
    made = Bench(stillhouse).furnish()
    yield made
    made.close()


def boiling(bench, watch):
    bench.live(watch, BOILS | {"coolant_out": 12}, 20)
    bench.live(watch, BOILS, 700)


def state(watch, key):
    return watch.evaluation.judges[key].state


def test_an_event_its_notice_and_the_judged_scan_are_one_transaction(bench):
    watch = bench.open()
    boiling(bench, watch)
    bench.live(watch, LOST, 10)
    assert state(watch, bench.hot).process is Process.UNACKNOWLEDGED
    raised = [one for one in bench.rows(AlarmEvent) if one.rule == "coolant_out_hot"]
    assert [one.what for one in raised] == ["raise"]
    notices = {one.event_id for one in bench.rows(Notice)}
    assert raised[0].id in notices
    assert raised[0].who == "alarms"
    assert (raised[0].value, raised[0].limit, raised[0].unit) == (80.0, 70.0, "°C")


def test_what_cannot_be_kept_now_is_kept_with_the_next(bench, monkeypatch):
    watch = bench.open()
    boiling(bench, watch)
    kept = events.keep

    def full(*_args, **_options):
        raise StoreError("The disk is full.")

    judged = []
    watch.judged.append(judged.append)
    monkeypatch.setattr(events, "keep", full)
    bench.live(watch, LOST, 10)
    assert [one for one in bench.rows(AlarmEvent) if one.rule == "coolant_out_hot"] == []
    assert judged[-1:] != [bench.slot]  # nothing feeds the watchdog that is not kept
    monkeypatch.setattr(events, "keep", kept)
    bench.live(watch, LOST, 1)
    raised = [one for one in bench.rows(AlarmEvent) if one.rule == "coolant_out_hot"]
    assert [one.what for one in raised] == ["raise"]
    assert raised[0].id in {one.event_id for one in bench.rows(Notice)}
    assert judged[-1] == bench.slot


def test_a_restart_keeps_states_and_what_is_left_of_a_shelf(bench):
    watch = bench.open()
    boiling(bench, watch)
    bench.live(watch, LOST, 10)
    surge = Key("coolant_surge", bench.hot.subject)
    watch.act(bench.hot, Trigger.ACKNOWLEDGE, who="Ben", why="seen")
    watch.act(surge, Trigger.SHELVE, who="Ben", why="known", minutes=30)
    until = watch.ledger.cards[surge].shelved_until
    watch.stop()
    told = len(bench.told)
    again = bench.open()
    assert state(again, bench.hot).process is Process.ACKNOWLEDGED
    assert again.ledger.cards[bench.hot].acknowledged_by == "Ben"
    assert state(again, surge).shelf is Shelf.TIMED
    assert again.ledger.cards[surge].shelved_until == until
    assert len(bench.told) == told  # nothing is told twice
    bench.stillhouse.clock.utc_us = (until + timedelta(seconds=1) - to_datetime(0)) // timedelta(
        microseconds=1
    )
    again.tick()
    assert state(again, surge).shelf is Shelf.NONE
    assert events.latest(bench.engine)[surge].what == "shelf_expires"


def test_a_backlog_is_judged_in_order_and_what_has_returned_is_not_sounded(bench, monkeypatch):
    watch = bench.open()
    boiling(bench, watch)
    watch.stop()
    told = len(bench.told)
    monkeypatch.setattr(past, "BACKLOG_AT_ONCE", 20)
    bench.log(LOST, 30)  # while the service is away
    bench.log(BOILS, 90)
    bench.heard.clear()
    again = bench.open()
    assert state(again, bench.hot).process is Process.RETURNED
    assert Call.HIGH not in bench.heard  # what has returned was never sounded
    mine = [one for one in bench.rows(AlarmEvent) if one.rule == "coolant_out_hot"]
    assert [(one.what, one.state_after) for one in mine] == [
        ("raise", "unacknowledged"),
        ("clear", "returned"),
    ]
    assert mine[0].slot < mine[1].slot < bench.slot
    assert "coolant_out_hot" not in {rule for rule, _ in bench.told[told:]}
    assert any(rule == "service_was_down" for rule, _ in bench.told[told:])


def test_what_still_stands_at_the_end_of_a_backlog_is_told(bench):
    watch = bench.open()
    boiling(bench, watch)
    watch.stop()
    bench.log(LOST, 40)
    again = bench.open()
    assert state(again, bench.hot).process is Process.UNACKNOWLEDGED
    assert "coolant_out_hot" in {rule for rule, _ in bench.told}
    once = bench.told.count(next(one for one in bench.told if one[0] == "coolant_out_hot"))
    assert once == 1


def test_scans_handed_on_twice_are_judged_once(bench):
    watch = bench.open()
    boiling(bench, watch)
    scans = bench.log(LOST, 10)
    watch.see(scans)
    before = len(bench.rows(AlarmEvent))
    watch.see(scans)
    assert len(bench.rows(AlarmEvent)) == before


def test_where_the_alarms_began_is_kept(bench):
    bench.log(COOL, 30)
    began = bench.slot
    bench.live(bench.open(), COOL, 10)
    bench.watches.pop().stop()
    bench.log(COOL, 30)  # a backlog, which is judged as well
    bench.open()
    assert events.first_judged_after(bench.reading) == began
    assert events.judged_slot(bench.reading) >= began + 10


def test_detectors_are_warm_after_a_restart(bench):
    watch = bench.open()
    boiling(bench, watch)
    watch.stop()
    again = bench.open()
    assert again.evaluation.vessels[str(bench.still.about)].still.settled(bench.slot)
    bench.live(again, LOST, 8)
    assert state(again, bench.hot).process is Process.UNACKNOWLEDGED


def test_a_logger_that_falls_silent_is_told_and_returns(bench):
    watch = bench.open()
    bench.live(watch, COOL, 3)
    silent = Key("logger_silent", "system")
    bench.stillhouse.clock.pass_time(31 * MICRO)
    watch.tick()
    assert state(watch, silent).process is Process.UNACKNOWLEDGED
    assert ("logger_silent", watch.slot) in bench.told
    watch.stop()
    watch, told = bench.open(), len(bench.told)
    watch.tick()  # as silent as before, and told already
    assert state(watch, silent).process is Process.UNACKNOWLEDGED
    assert len(bench.told) == told
    bench.live(watch, COOL, 1)
    watch.tick()
    assert state(watch, silent).process is Process.RETURNED


def test_a_report_at_the_still_is_kept_and_restored(bench):
    watch = bench.open()
    boiling(bench, watch)
    watch.at_the_still("Anna", "button")
    sight = watch.evaluation.vessels[str(bench.still.about)]
    assert sight.touched_slot >= bench.slot
    assert [one.what for one in bench.rows(AlarmEvent) if one.rule == "report"] == [AT_STILL]
    watch.report(bench.still.about, MASH_COOKED, "Anna")
    assert sight.cooked_slot >= bench.slot
    watch.stop()
    again = bench.open().evaluation.vessels[str(bench.still.about)]
    assert (again.touched_slot, again.cooked_slot) == (sight.touched_slot, sight.cooked_slot)


def test_the_record_is_asked_for_charge_and_for_hands_at_the_still(bench):
    class Told:
        def charge(self, run_id):
            return Charge(abv=55.0) if run_id == str(bench.run.about) else None

        def last_hand_at(self, run_id):
            return to_datetime((START + 5) * MICRO) if run_id else None

    watch = bench.open()
    watch.record.charges = Told()
    bench.live(watch, COOL | {"pot": 35}, 40)
    strong = Key("charge_too_strong", str(bench.still.about))
    assert state(watch, strong).process is Process.UNACKNOWLEDGED
    assert watch.evaluation.vessels[str(bench.still.about)].touched_slot >= START + 5


def test_a_disk_that_cannot_be_asked_does_not_stop_the_time(bench, monkeypatch, caplog, until):
    def gone(_):
        raise OSError("no such device")

    monkeypatch.setattr(watch_module.shutil, "disk_usage", gone)
    monkeypatch.setattr(watch_module, "TICK_S", 0.001)
    watch = bench.open()
    until(lambda: "cannot keep the time" in caplog.text, says="it to be told once")
    assert watch._thread.is_alive()


def test_an_alarm_that_is_not_there_is_told(bench):
    with pytest.raises(NotFoundError, match="There is no alarm"):
        bench.open().act(Key("spout_hot", "nowhere"), Trigger.ACKNOWLEDGE, who="x")
