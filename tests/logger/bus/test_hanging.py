"""A probe that hangs: its own master loses one sweep, the others nothing, and then nobody."""

import os
from time import monotonic

import pytest

from logger.bus.faults import Fault
from logger.reading import Grade

SHORT_S = 0.3
LONG_S = 2.0
SOON_S = 10.0


def grades(bus, deadline_s):
    return {r.series.probe_id: r.grade for r in bus.read_scan(deadline_s=deadline_s)}


def seconds_of(work):
    began_s = monotonic()
    work()
    return monotonic() - began_s


def sweep_until(bus, wanted):
    """Sweep until the grades are as wanted; give how many sweeps it took."""
    give_up_s, sweeps = monotonic() + SOON_S, 0
    while monotonic() < give_up_s:
        sweeps += 1
        if grades(bus, LONG_S) == wanted:
            return sweeps
    raise AssertionError(f"not within {SOON_S} s: {grades(bus, LONG_S)}")


def all_ok(ids, but=()):
    return dict.fromkeys(ids, Grade.OK) | dict.fromkeys(but, Grade.TIMED_OUT)


def test_side_by_side_it_costs_itself_alone(lab, make_probe, ids):
    simulated = lab.simulate(*(make_probe(n) for n in range(4)))
    bus = lab.read()
    assert grades(bus, LONG_S) == all_ok(ids[:4])
    simulated.fault(ids[1], Fault.HANG)
    for _ in range(5):
        assert grades(bus, SHORT_S) == all_ok(ids[:4], but=[ids[1]])


def test_one_by_one_its_master_loses_one_sweep_and_the_others_nothing(lab, make_probe, ids):
    parasites = [make_probe(n, external=False, master=1) for n in range(3)]
    others = [make_probe(n, master=2) for n in range(3, 6)]
    simulated = lab.simulate(*parasites, *others)
    bus = lab.read()
    for _ in range(2):  # the first sweep learns how they are supplied
        assert grades(bus, LONG_S) == all_ok(ids)
    simulated.fault(ids[0], Fault.HANG)
    first = grades(bus, SHORT_S)
    assert first[ids[0]] is Grade.TIMED_OUT
    assert [first[name] for name in ids[3:]] == [Grade.OK] * 3
    for _ in range(5):
        assert grades(bus, SHORT_S) == all_ok(ids, but=[ids[0]])


def test_afterwards_it_costs_no_time(lab, make_probe, ids):
    simulated = lab.simulate(*(make_probe(n) for n in range(3)))
    bus = lab.read()
    simulated.fault(ids[0], Fault.HANG)
    assert grades(bus, SHORT_S) == all_ok(ids[:3], but=[ids[0]])
    # Fifty sweeps within the time that a single wait for it would take.
    seen = []
    assert seconds_of(lambda: seen.extend(grades(bus, LONG_S) for _ in range(50))) < LONG_S
    assert seen == [all_ok(ids[:3], but=[ids[0]])] * 50


def test_a_sweep_is_over_by_its_deadline_and_never_above_two_seconds(lab, make_probe, ids):
    simulated = lab.simulate(make_probe(0), make_probe(1, master=2))
    bus = lab.read()
    simulated.fault(ids[0], Fault.HANG)
    assert SHORT_S <= seconds_of(lambda: grades(bus, SHORT_S)) < LONG_S
    simulated.fault(ids[0], None)
    sweep_until(bus, all_ok(ids[:2]))
    simulated.fault(ids[0], Fault.HANG)
    assert LONG_S <= seconds_of(lambda: grades(bus, 60.0)) < 30.0


def test_it_rejoins_once_its_read_returns(lab, make_probe, ids):
    simulated = lab.simulate(make_probe(0, 61.5), make_probe(1))
    bus = lab.read()
    simulated.fault(ids[0], Fault.HANG)
    assert grades(bus, SHORT_S) == all_ok(ids[:2], but=[ids[0]])
    simulated.fault(ids[0], None)  # and its stuck read is let go, with an empty text
    sweep_until(bus, all_ok(ids[:2]))
    assert [r.value for r in bus.read_scan(deadline_s=LONG_S)] == [61.5, 20.0]


def test_what_a_stuck_read_brings_at_last_is_no_reading(lab, make_probe, ids):
    now = [0.0]
    simulated = lab.simulate(make_probe(0, lambda t_s: 20.0 + t_s), now_s=lambda: now[0])
    simulated.fault(ids[0], Fault.SLOW)
    bus = lab.read()
    assert grades(bus, SHORT_S) == {ids[0]: Grade.TIMED_OUT}
    simulated.answer()  # meets the reader at 20 °C
    now[0] = 3600.0
    simulated.answer()  # and lets it go an hour later
    simulated.fault(ids[0], None)
    simulated.step(50.0)
    sweep_until(bus, {ids[0]: Grade.OK})
    assert bus.read_scan(deadline_s=LONG_S)[0].value == 70.0


def test_one_that_vanishes_while_it_hangs_is_gone_and_returns(lab, make_probe, ids):
    simulated = lab.simulate(make_probe(0), make_probe(1))
    bus = lab.read()
    simulated.fault(ids[0], Fault.HANG)
    assert grades(bus, SHORT_S)[ids[0]] is Grade.TIMED_OUT
    simulated.fault(ids[0], Fault.VANISHED)
    assert grades(bus, SHORT_S) == {ids[0]: Grade.GONE, ids[1]: Grade.OK}
    simulated.fault(ids[0], None)
    sweep_until(bus, all_ok(ids[:2]))


def test_hanging_again_and_again_leaks_neither_threads_nor_files(lab, make_probe, ids, held):
    simulated = lab.simulate(make_probe(0), make_probe(1))
    bus = lab.read()
    assert grades(bus, LONG_S) == all_ok(ids[:2])

    before = held()
    for _ in range(10):
        simulated.fault(ids[0], Fault.HANG)
        assert grades(bus, 0.05)[ids[0]] is Grade.TIMED_OUT
        simulated.fault(ids[0], None)
        sweep_until(bus, all_ok(ids[:2]))
    assert held() == before


def test_all_of_them_hanging_ends_the_sweep_as_well(lab, make_probe, ids):
    simulated = lab.simulate(*(make_probe(n, master=1 + n) for n in range(3)))
    bus = lab.read()
    for name in ids[:3]:
        simulated.fault(name, Fault.HANG)
    assert grades(bus, SHORT_S) == dict.fromkeys(ids[:3], Grade.TIMED_OUT)
    assert seconds_of(lambda: [grades(bus, LONG_S) for _ in range(20)]) < LONG_S
    bus.close()  # does not wait for them


@pytest.mark.parametrize("master_file", ["w1_bus_master1/therm_bulk_read"])
def test_a_bulk_conversion_that_hangs_costs_one_sweep(lab, make_probe, ids, master_file):
    simulated = lab.simulate(make_probe(0), make_probe(1), make_probe(2, master=2))
    bus = lab.read()
    trigger = lab.folder / master_file
    os.mkfifo(trigger)  # nobody reads it: a write to it never returns
    assert grades(bus, SHORT_S) == all_ok(ids[:3], but=ids[:2])
    for _ in range(5):
        assert grades(bus, SHORT_S) == all_ok(ids[:3])
    assert simulated.folder == lab.folder
    trigger.rename(aside := trigger.with_name("aside"))
    aside.read_bytes()  # lets the stuck write go
