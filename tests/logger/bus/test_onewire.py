"""The sweep over real files: every fault, probes that come and go, several masters."""

import os
import threading
from pathlib import Path

import pytest

from logger.bus.faults import Fault
from logger.bus.scratchpad import crc8
from logger.reading import Grade

# So long that only a wait for something stuck could use it up.
PLENTY_S = 2.0


def grades(bus, deadline_s=PLENTY_S):
    return {r.series.probe_id: r.grade for r in bus.read_scan(deadline_s=deadline_s)}


def values(bus):
    return {r.series.probe_id: r.value for r in bus.read_scan(deadline_s=PLENTY_S)}


def test_reads_what_the_probes_feel(lab, make_probe, ids):
    lab.simulate(make_probe(0, 21.5), make_probe(1, 78.3125), make_probe(2, -3.25))
    assert values(lab.read()) == {ids[0]: 21.5, ids[1]: 78.3125, ids[2]: -3.25}


def test_a_reading_says_what_it_is(lab, make_probe, ids):
    lab.simulate(make_probe(0, 21.5))
    (reading,) = lab.read().read_scan(deadline_s=PLENTY_S)
    assert reading.series.probe_id == ids[0]
    assert reading.series.quantity == "temperature_c"
    assert (reading.series.counts_per_unit, reading.count) == (16, 344)


@pytest.mark.parametrize(
    ("fault", "grade"),
    [
        (Fault.CRC, Grade.CRC),
        (Fault.EMPTY, Grade.EMPTY),
        (Fault.TORN, Grade.TORN),
        (Fault.POWER_ON, Grade.POWER_ON),
        (Fault.LOW_SUPPLY, Grade.LOW_SUPPLY),
        (Fault.ZEROS, Grade.BUS_LOW),
        (Fault.VANISHED, Grade.GONE),
    ],
)
@pytest.mark.parametrize("true_c", [0.0, 21.5, 84.9375, 85.0, 85.0625, 125.0])
def test_each_fault_is_a_grade_and_no_number_and_heals(lab, make_probe, ids, fault, grade, true_c):
    simulated = lab.simulate(make_probe(0, true_c), make_probe(1, 30.0))
    bus = lab.read()
    assert values(bus) == {ids[0]: true_c, ids[1]: 30.0}
    simulated.fault(ids[0], fault)
    for _ in range(3):
        failed, good = bus.read_scan(deadline_s=PLENTY_S)
        assert (failed.grade, failed.count, failed.value) == (grade, None, None)
        assert good.value == 30.0
    simulated.fault(ids[0], None)
    assert values(bus) == {ids[0]: true_c, ids[1]: 30.0}


def test_a_genuine_85_is_kept(lab, make_probe, ids):
    simulated = lab.simulate(make_probe(0, 20.0))
    simulated.fault(ids[0], Fault.GENUINE_85)
    assert values(lab.read()) == {ids[0]: 85.0}


@pytest.mark.parametrize("genuine", [True, False])
def test_a_column_head_passes_through_85_without_a_gap(lab, make_probe, ids, genuine):
    simulated = lab.simulate(make_probe(0, lambda t_s: 84.0 + t_s / 16, genuine=genuine))
    bus = lab.read()
    for second in range(33):
        simulated.step(float(second))
        assert values(bus) == {ids[0]: 84.0 + second / 16}


def test_a_copy_is_not_believed_a_power_on_85_long_after_its_last_reading(lab, make_probe, ids):
    now = [0.0]
    simulated = lab.simulate(make_probe(0, 84.5, genuine=False))
    bus = lab.read(now_s=lambda: now[0])
    assert grades(bus) == {ids[0]: Grade.OK}
    simulated.fault(ids[0], Fault.GENUINE_85)
    assert grades(bus) == {ids[0]: Grade.OK}
    now[0] = 60.0
    assert grades(bus) == {ids[0]: Grade.POWER_ON}


def test_a_stuck_probe_still_says_what_it_said(lab, make_probe, ids):
    simulated = lab.simulate(make_probe(0, lambda t_s: 20.0 + t_s))
    simulated.fault(ids[0], Fault.STUCK)
    simulated.step(50.0)
    assert values(lab.read()) == {ids[0]: 20.0}


def test_a_probe_that_comes_is_read_from_the_next_scan_on(lab, make_probe, ids):
    simulated = lab.simulate(make_probe(0), make_probe(1))
    simulated.fault(ids[1], Fault.VANISHED)
    bus = lab.read()
    assert grades(bus) == {ids[0]: Grade.OK}
    simulated.fault(ids[1], None)
    assert grades(bus) == {ids[0]: Grade.OK, ids[1]: Grade.OK}


def test_a_folder_that_vanishes_leaves_every_probe_gone(lab, make_probe, ids, caplog):
    simulated = lab.simulate(make_probe(0), make_probe(1))
    bus = lab.read()
    grades(bus)
    aside = lab.folder.rename(lab.folder.with_name("aside"))
    for _ in range(3):
        assert grades(bus) == {ids[0]: Grade.GONE, ids[1]: Grade.GONE}
    assert [r.message for r in caplog.records if "cannot be read" in r.message] == [
        f"{lab.folder} cannot be read (No such file or directory)."
    ]
    aside.rename(lab.folder)
    assert grades(bus) == {ids[0]: Grade.OK, ids[1]: Grade.OK}
    assert simulated.folder == lab.folder


def test_a_plain_copy_of_the_tree_reads_as_well(lab, make_probe, ids):
    # No links, no masters: nothing but folders with the kernel's text in them.
    text = b"91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n"
    for name in ids[:2]:
        (lab.folder / name).mkdir(parents=True)
        (lab.folder / name / "w1_slave").write_bytes(text)
    assert values(lab.read()) == {ids[0]: 25.0625, ids[1]: 25.0625}


def test_what_is_no_thermometer_is_left_alone(lab, make_probe, ids):
    lab.simulate(make_probe(0))
    for name in ("01-0000075a1b2c", "28", "28-", "10", "readme", "zz-12"):
        (lab.folder / name).mkdir()
        (lab.folder / name / "w1_slave").write_bytes(b"")
    (lab.folder / "28-0000075affff").mkdir()  # its file is still to come
    assert grades(lab.read()) == {ids[0]: Grade.OK}


def test_a_probe_whose_file_is_a_folder_is_a_grade(lab, make_probe, ids):
    lab.simulate(make_probe(0))
    (lab.folder / ids[1] / "w1_slave").mkdir(parents=True)
    assert grades(lab.read()) == {ids[0]: Grade.OK, ids[1]: Grade.TORN}


@pytest.mark.parametrize(
    ("name", "text", "temperature_c"),
    [
        (
            "10-0008019462ab",
            "32 00 4b 46 ff ff 0c 10 {} : crc={} YES\n32 00 4b 46 ff ff 0c 10 {} t=25000\n",
            25.0,
        ),
        (
            "3b-0c98b9bf0a12",
            "90 3e 90 19 f3 ff ff ff {} : crc={} YES\n90 3e 90 19 f3 ff ff ff {} t=1001000\n",
            1001.0,
        ),
        (
            "22-00000034ab12",
            "d0 07 4b 46 7f ff 10 10 {} : crc={} YES\nd0 07 4b 46 7f ff 10 10 {} t=125000\n",
            125.0,
        ),
    ],
)
def test_other_families_are_read(lab, name, text, temperature_c):
    crc = f"{crc8(bytes.fromhex(text.split('{')[0])):02x}"
    (lab.folder / name).mkdir(parents=True)
    (lab.folder / name / "w1_slave").write_text(text.format(crc, crc, crc))
    assert values(lab.read()) == {name: temperature_c}


class TestResolution:
    def bits(self, lab, probe_id):
        return int((lab.folder / probe_id / "resolution").read_text())

    def writes(self, lab, probe_id, monkeypatch):
        """Count writes to a probe's resolution from now on."""
        written = []
        real = os.write
        target = (lab.folder / probe_id / "resolution").resolve()

        def write(handle, content):
            if Path(f"/proc/self/fd/{handle}").readlink() == target:
                written.append(content)
            return real(handle, content)

        monkeypatch.setattr("logger.bus.files.os.write", write)
        return written

    def test_is_set_where_it_differs(self, lab, make_probe, ids):
        simulated = lab.simulate(make_probe(0, 21.5, resolution_bits=9))
        bus = lab.read()
        assert values(bus) == {ids[0]: 21.5}
        assert self.bits(lab, ids[0]) == 12
        simulated.step(1.0)
        assert bus.read_scan(deadline_s=PLENTY_S)
        assert bus.facts()[0].resolution_bits == 12

    def test_is_not_written_where_it_holds(self, lab, make_probe, ids, monkeypatch):
        simulated = lab.simulate(make_probe(0))
        bus = lab.read()
        written = self.writes(lab, ids[0], monkeypatch)
        for second in range(5):
            simulated.step(float(second))
            grades(bus)
        simulated.fault(ids[0], Fault.VANISHED)
        grades(bus)
        simulated.fault(ids[0], None)
        grades(bus)
        assert written == []

    def test_is_asserted_again_on_a_probe_that_returns(self, lab, make_probe, ids, monkeypatch):
        simulated = lab.simulate(make_probe(0))  # comes up with 12 bit each time
        bus = lab.read(bits=10)
        grades(bus)
        simulated.step(1.0)
        grades(bus)
        assert self.bits(lab, ids[0]) == 10
        simulated.fault(ids[0], Fault.VANISHED)
        assert grades(bus) == {ids[0]: Grade.GONE}
        simulated.fault(ids[0], None)
        assert self.bits(lab, ids[0]) == 12
        written = self.writes(lab, ids[0], monkeypatch)
        grades(bus)
        assert (self.bits(lab, ids[0]), written) == (10, [b"10\n"])
        simulated.step(2.0)
        grades(bus)
        assert written == [b"10\n"]

    def test_is_asserted_each_time_a_part_has_lost_its_power(self, lab, make_probe, ids):
        simulated = lab.simulate(make_probe(0))  # wakes with 12 bit each time
        bus = lab.read(bits=10)
        for second in range(10):
            simulated.fault(ids[0], Fault.POWER_ON)
            assert self.bits(lab, ids[0]) == 12
            assert grades(bus) == {ids[0]: Grade.POWER_ON}
            simulated.fault(ids[0], None)
            simulated.step(float(second))
            assert grades(bus) == {ids[0]: Grade.OK}
            assert self.bits(lab, ids[0]) == 10

    def test_that_does_not_take_is_given_up(self, lab, make_probe, ids, monkeypatch):
        lab.simulate(make_probe(0))  # never stepped: it goes on saying 12 bit
        bus = lab.read(bits=11)
        written = self.writes(lab, ids[0], monkeypatch)
        for _ in range(10):
            assert grades(bus) == {ids[0]: Grade.OK}
        assert written == [b"11\n"] * 3

    def test_that_may_not_be_written_is_said_once(self, lab, make_probe, ids, caplog):
        lab.simulate(make_probe(0))
        (lab.folder / ids[0] / "resolution").rename(lab.folder / ids[0] / "aside")
        bus = lab.read(bits=11)
        for _ in range(10):
            assert grades(bus) == {ids[0]: Grade.OK}
        assert [r.message for r in caplog.records if "11 bit" in r.message] == [
            f"{ids[0]} stays at its resolution: 11 bit cannot be set (No such file or directory)."
        ]
        (lab.folder / ids[0] / "aside").rename(lab.folder / ids[0] / "resolution")


def test_nothing_leaks_over_many_sweeps_and_faults(lab, make_probe, ids, held):
    simulated = lab.simulate(*(make_probe(n, master=1 + n % 2) for n in range(6)))
    bus = lab.read()
    grades(bus)

    before = held()
    for round_ in range(300):
        simulated.fault(ids[round_ % 6], [Fault.VANISHED, Fault.CRC, Fault.EMPTY, None][round_ % 4])
        simulated.step(float(round_))
        grades(bus)
    assert held() == before


def test_close_ends_the_threads(lab, make_probe):
    before = threading.active_count()
    lab.simulate(make_probe(0), make_probe(1))
    bus = lab.read()
    grades(bus)
    assert threading.active_count() > before
    bus.close()
    assert threading.active_count() == before


def test_the_sweep_is_measured(lab, make_probe):
    lab.simulate(make_probe(0))
    bus = lab.read()
    assert bus.sweep_s == 0.0
    grades(bus)
    assert 0.0 < bus.sweep_s < PLENTY_S
