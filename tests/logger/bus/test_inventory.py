import pytest

from logger.bus.faults import Fault
from logger.bus.inventory import ProbeFacts, is_likely_copy, probes_on
from logger.bus.simulated import SimulatedProbe

PLENTY_S = 2.0


def test_facts_of_each_probe(lab):
    lab.simulate(
        SimulatedProbe("28-0000075a1b2c", lambda _: 20.0),
        SimulatedProbe("28-3ce104572b9a", lambda _: 20.0, external=False, resolution_bits=9),
        SimulatedProbe("22-00000034ab12", lambda _: 20.0, master=2),
        bulk=[2],
    )
    assert probes_on(lab.folder) == (
        ProbeFacts(
            probe_id="22-00000034ab12",
            kind="DS1822",
            master="w1_bus_master2",
            resolution_bits=12,
            supply="external",
            likely_copy=False,
            bulk=True,
        ),
        ProbeFacts(
            probe_id="28-0000075a1b2c",
            kind="DS18B20",
            master="w1_bus_master1",
            resolution_bits=12,
            supply="external",
            likely_copy=False,
            bulk=False,
        ),
        ProbeFacts(
            probe_id="28-3ce104572b9a",
            kind="DS18B20",
            master="w1_bus_master1",
            resolution_bits=9,
            supply="parasite",
            likely_copy=True,
            bulk=False,
        ),
    )


def test_asking_the_parts_takes_no_reading(lab, make_probe, ids):
    simulated = lab.simulate(make_probe(0))
    simulated.fault(ids[0], Fault.HANG)  # a reading would never return
    (facts,) = probes_on(lab.folder)
    assert facts.resolution_bits == 12


def test_an_older_kernel_is_asked_by_a_reading(lab, make_probe, ids):
    lab.simulate(make_probe(0, resolution_bits=10))
    for file in ("resolution", "ext_power"):
        (lab.folder / ids[0] / file).rename(lab.folder / ids[0] / f"no_{file}")
    (facts,) = probes_on(lab.folder)
    assert (facts.resolution_bits, facts.supply) == (10, "unknown")


def test_one_that_hangs_has_facts_unknown_and_holds_nobody_up(lab, make_probe, ids):
    simulated = lab.simulate(make_probe(0), make_probe(1))
    simulated.fault(ids[0], Fault.HANG)
    (lab.folder / ids[0] / "resolution").rename(lab.folder / ids[0] / "no_resolution")
    hanging, good = probes_on(lab.folder, deadline_s=0.3)
    assert (hanging.probe_id, hanging.resolution_bits, hanging.supply) == (ids[0], None, "unknown")
    assert (good.resolution_bits, good.supply) == (12, "external")


def test_one_that_says_nothing_has_no_resolution(lab, make_probe, ids):
    simulated = lab.simulate(make_probe(0), make_probe(1))
    for name, fault in zip(ids, (Fault.EMPTY, Fault.TORN), strict=False):
        simulated.fault(name, fault)
        (lab.folder / name / "resolution").rename(lab.folder / name / "no_resolution")
    assert [facts.resolution_bits for facts in probes_on(lab.folder)] == [None, None]


def test_a_bus_learns_the_same_facts_from_its_sweeps(lab, make_probe):
    lab.simulate(make_probe(0), make_probe(1, external=False), bulk=[])
    bus = lab.read()
    assert {facts.supply for facts in bus.facts()} == {"unknown"}
    bus.read_scan(deadline_s=PLENTY_S)
    assert bus.facts() == probes_on(lab.folder)


def test_an_unknown_folder_is_an_error(tmp_path):
    with pytest.raises(FileNotFoundError):
        probes_on(tmp_path / "nowhere")


def test_two_kinds_that_share_a_family_are_both_named(lab):
    lab.simulate(SimulatedProbe("3b-0c98b9bf0a12", lambda _: 20.0))
    assert probes_on(lab.folder)[0].kind == "DS1825/MAX31850K"


def test_likely_copies_by_number():
    assert not is_likely_copy("28-0000075a1b2c")
    assert is_likely_copy("28-3ce104572b9a")
    assert is_likely_copy("28-011927fdb603")
    assert not is_likely_copy("10-0008019462ab")
