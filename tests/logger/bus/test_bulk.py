"""Bulk conversion: exactly the kernel's word, confirmed, and given up where it does not answer."""

import os
from threading import Event, Thread

import pytest

from logger.bus import control
from logger.bus.bulk import Bulk
from logger.bus.faults import Fault
from logger.reading import Grade

PLENTY_S = 2.0


@pytest.fixture
def served(lab):
    """Simulates with a thread that answers and obeys as the simulating process does."""
    stop, threads = Event(), []

    def serve(*probes, **options):
        simulated = lab.simulate(*probes, **options)
        threads.append(Thread(target=answer, args=(simulated,)))
        threads[-1].start()
        return simulated

    def answer(simulated):
        while not stop.wait(0.01):
            simulated.obey()
            simulated.answer()

    yield serve
    stop.set()
    for thread in threads:
        thread.join()


def kernel(trigger, answer):
    """Take one write as the kernel would, and answer the read after it; gives what it was told."""
    told = []

    def run():
        with trigger.open("rb", buffering=0) as file:
            told.append(file.read(100))
            told.append(file.read(100))
        trigger.write_bytes(answer)  # waits until somebody reads

    os.mkfifo(trigger)
    thread = Thread(target=run)
    thread.start()
    return told, thread


def test_writes_exactly_trigger_in_one_write(tmp_path, monkeypatch):
    real, written = os.write, []
    monkeypatch.setattr(
        "logger.bus.files.os.write", lambda fd, text: written.append(text) or real(fd, text)
    )
    (tmp_path / "therm_bulk_read").write_bytes(b"0\n")
    Bulk(tmp_path).convert()
    assert written == [b"trigger\n"]


def test_a_kernel_sees_the_eight_bytes_and_its_1_is_taken(tmp_path):
    told, thread = kernel(tmp_path / "therm_bulk_read", b"1\n")
    confirmed = Bulk(tmp_path).convert()
    thread.join()
    assert (told, confirmed) == ([b"trigger\n", b""], True)


def test_a_kernel_that_says_0_has_converted_nothing(tmp_path):
    _, thread = kernel(tmp_path / "therm_bulk_read", b"0\n")
    confirmed = Bulk(tmp_path).convert()
    thread.join()
    assert not confirmed


def test_no_file_no_bulk(tmp_path):
    bulk = Bulk(tmp_path)
    assert not bulk.present()
    assert not bulk.offered()
    assert not bulk.convert()


def test_after_three_failures_it_is_left_alone_for_a_minute_of_sweeps(tmp_path):
    (tmp_path / "therm_bulk_read").write_bytes(b"0\n")
    bulk = Bulk(tmp_path)
    for _ in range(3):
        assert bulk.offered()
        bulk.learn(confirmed=False)
    assert [bulk.offered() for _ in range(61)] == [False] * 60 + [True]


def test_a_success_between_failures_counts(tmp_path):
    (tmp_path / "therm_bulk_read").write_bytes(b"0\n")
    bulk = Bulk(tmp_path)
    for confirmed in (False, False, True, False, False):
        assert bulk.offered()
        bulk.learn(confirmed=confirmed)
    assert bulk.offered()


def test_a_sweep_in_bulk_reads_everything(served, lab, make_probe, ids):
    served(make_probe(0, 21.5), make_probe(1, 78.25), bulk=[1])
    bus = lab.read()
    for _ in range(3):
        assert [r.value for r in bus.read_scan(deadline_s=PLENTY_S)] == [21.5, 78.25]
    assert all(facts.bulk for facts in bus.facts())


def test_masters_with_and_without_bulk_share_a_sweep(served, lab, make_probe, ids):
    served(make_probe(0), make_probe(1, master=2), bulk=[1])
    bus = lab.read()
    assert [r.grade for r in bus.read_scan(deadline_s=PLENTY_S)] == [Grade.OK, Grade.OK]
    assert [facts.bulk for facts in bus.facts()] == [True, False]


def test_a_bulk_file_that_never_answers_does_not_cost_a_reading(lab, make_probe, ids):
    lab.simulate(make_probe(0), make_probe(1))
    (lab.folder / "w1_bus_master1" / "therm_bulk_read").write_bytes(b"0\n")
    bus = lab.read()
    assert [r.grade for r in bus.read_scan(deadline_s=PLENTY_S)] == [Grade.OK, Grade.OK]


def test_probes_without_a_supply_take_turns_where_time_is_short(
    served, lab, make_probe, ids, until
):
    # Two reads of a whole conversion each, and a sweep with room for one.
    served(*(make_probe(n, external=False) for n in range(2)))
    bus = lab.read()
    assert {r.grade for r in bus.read_scan(deadline_s=PLENTY_S)} == {Grade.OK}
    for name in ids[:2]:
        control.ask(lab.folder, name, Fault.SLOW)
    until(lambda: all((lab.folder / name / "w1_slave").is_fifo() for name in ids[:2]))
    heard = []
    for _ in range(4):  # the first learns how long a read takes now
        heard += [r.series.probe_id for r in bus.read_scan(deadline_s=1.2) if r.grade is Grade.OK]
    assert set(heard) == set(ids[:2])
