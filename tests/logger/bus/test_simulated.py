"""The simulated bus: the kernel's files, faults on command, and nothing torn."""

import subprocess
import sys
from threading import Thread

import pytest
from w1thermsensor import SensorNotReadyError, W1ThermSensor  # conftest made this safe

from logger.bus import control
from logger.bus.faults import Fault
from logger.bus.simulated import SimulatedBarometer, SimulatedProbe
from logger.errors import BusError

SOON_S = 10.0


@pytest.fixture
def w1(lab, monkeypatch):
    """The reference reader, pointed at the simulated folder."""
    monkeypatch.setattr(W1ThermSensor, "BASE_DIRECTORY", lab.folder)
    return W1ThermSensor


def test_a_reader_of_the_kernels_files_reads_it(lab, make_probe, ids, w1):
    lab.simulate(make_probe(0, 21.5), make_probe(1, -10.125, resolution_bits=11))
    sensors = sorted(w1.get_available_sensors(), key=lambda sensor: sensor.id)
    assert [(s.name, f"28-{s.id}") for s in sensors] == [("DS18B20", ids[0]), ("DS18B20", ids[1])]
    assert [s.get_temperature() for s in sensors] == [21.5, -10.125]
    assert [s.get_resolution() for s in sensors] == [12, 11]


def test_the_text_is_the_kernels(lab, make_probe, ids):
    lab.simulate(make_probe(0, 25.0625))
    text = (lab.folder / ids[0] / "w1_slave").read_text()
    assert text == ("91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n")


def test_the_other_files_are_the_kernels(lab, make_probe, ids):
    lab.simulate(
        make_probe(0),
        make_probe(1, external=False, resolution_bits=9),
        barometer=SimulatedBarometer(lambda _: 1013.25),
        bulk=[1],
    )
    master = lab.folder / "w1_bus_master1"
    read = {
        path.relative_to(lab.folder.parent).as_posix(): path.read_text()
        for path in [
            master / "w1_master_slaves",
            master / "w1_master_slave_count",
            master / "therm_bulk_read",
            lab.folder / ids[1] / "ext_power",
            lab.folder / ids[1] / "resolution",
            lab.folder / ids[1] / "conv_time",
            lab.folder.parent / "iio" / "iio:device0" / "name",
            lab.folder.parent / "iio" / "iio:device0" / "in_pressure_input",
        ]
    }
    assert list(read.values()) == [
        f"{ids[0]}\n{ids[1]}\n",
        "2\n",
        "0\n",
        "0\n",
        "9\n",
        "95\n",
        "bmp280\n",
        "101.325000000\n",
    ]
    assert (lab.folder / ids[0]).resolve() == master.resolve() / ids[0]


def test_every_fault_can_be_had(lab, make_probe, ids, w1):
    simulated = lab.simulate(make_probe(0, 21.5))
    file = lab.folder / ids[0] / "w1_slave"
    for fault in Fault:
        simulated.fault(ids[0], fault)
        simulated.step(1.0)
        expected = {Fault.VANISHED: False, Fault.SLOW: "pipe", Fault.HANG: "pipe"}.get(fault, True)
        assert ("pipe" if file.is_fifo() else file.is_file()) == expected
        simulated.fault(ids[0], None)
        assert w1.get_available_sensors()[0].get_temperature() == 21.5


def test_the_kernel_keeps_the_last_good_bytes_beside_hurt_ones(lab, make_probe, ids, w1):
    simulated = lab.simulate(make_probe(0, 25.0625))
    simulated.fault(ids[0], Fault.CRC)
    sent, kept = (lab.folder / ids[0] / "w1_slave").read_text().splitlines()
    assert sent == "81 01 4b 46 7f ff 0f 10 25 : crc=0e NO"[: len(sent) - 6] + sent[-6:]
    assert sent.endswith("NO")
    assert kept.startswith("91 01 4b 46 7f ff 0f 10 25 t=")
    with pytest.raises(SensorNotReadyError):
        w1.get_available_sensors()[0].get_temperature()


def test_bits_below_the_resolution_hold_anything(lab, make_probe, ids):
    simulated = lab.simulate(make_probe(0, 21.5, resolution_bits=9))
    lows = set()
    for second in range(40):
        simulated.step(float(second))
        lows.add(int((lab.folder / ids[0] / "w1_slave").read_text()[1], 16))
    assert len(lows) > 2


def test_a_resolution_written_is_taken_and_a_wrong_one_is_not(lab, make_probe, ids, w1):
    simulated = lab.simulate(make_probe(0))
    for written, held in (("10\n", 10), ("12\n", 12), ("7\n", 12), ("\n", 12), ("11", 11)):
        (lab.folder / ids[0] / "resolution").write_text(written)
        simulated.step(1.0)
        assert w1.get_available_sensors()[0].get_resolution() == held
        assert (lab.folder / ids[0] / "resolution").read_text() == f"{held}\n"


def test_a_probe_that_returns_has_the_resolution_it_was_made_with(lab, make_probe, ids, w1):
    simulated = lab.simulate(make_probe(0))
    (lab.folder / ids[0] / "resolution").write_text("9\n")
    simulated.step(1.0)
    simulated.fault(ids[0], Fault.VANISHED)
    simulated.step(2.0)
    assert w1.get_available_sensors() == []
    simulated.fault(ids[0], None)
    assert w1.get_available_sensors()[0].get_resolution() == 12


def test_a_bulk_trigger_is_answered_and_anything_else_is_not(lab, make_probe):
    simulated = lab.simulate(make_probe(0), bulk=[1])
    file = lab.folder / "w1_bus_master1" / "therm_bulk_read"
    file.write_bytes(b"trigger")
    simulated.answer()
    assert file.read_bytes() == b"trigger"
    file.write_bytes(b"trigger\n")
    simulated.answer()
    assert file.read_bytes() == b"1\n"


def test_a_slow_probe_answers_after_a_conversion(lab, make_probe, ids, until):
    now = [0.0]
    simulated = lab.simulate(make_probe(0, 21.5), now_s=lambda: now[0])
    simulated.fault(ids[0], Fault.SLOW)
    read = []
    reader = Thread(target=lambda: read.append((lab.folder / ids[0] / "w1_slave").read_bytes()))
    reader.start()
    pipe = simulated._probes[ids[0]]._pipe
    until(lambda: simulated.answer() or pipe._met)
    now[0] = 0.74
    simulated.answer()
    assert read == []
    now[0] = 0.75
    simulated.answer()
    reader.join(SOON_S)
    assert read[0].endswith(b"t=21500\n")


def test_noise_is_the_same_for_the_same_seed(lab):
    def texts(seed):
        probe = SimulatedProbe("28-0000075a1b2c", lambda _: 20.0, seed=seed)
        return [probe.raw_at(t / 4, 12) for t in range(100)]

    assert texts(1) == texts(1) != texts(2)
    assert 2 <= len(set(texts(1))) <= 6


def test_it_measures_no_further_than_the_part(make_probe):
    assert make_probe(0, 500.0).raw_at(0.0, 12) == 125 * 16
    assert make_probe(0, -500.0).raw_at(0.0, 12) == -55 * 16


class TestControl:
    def test_a_file_dropped_is_a_fault_and_its_removal_heals(self, lab, make_probe, ids):
        simulated = lab.simulate(make_probe(0))
        file = lab.folder / ids[0] / "w1_slave"
        (simulated.control / ids[0]).write_text("empty\n")
        simulated.obey()
        assert file.read_bytes() == b""
        (simulated.control / ids[0]).unlink()
        simulated.obey()
        assert file.read_bytes() != b""

    def test_a_word_that_is_no_fault_is_none(self, lab, make_probe, ids):
        simulated = lab.simulate(make_probe(0))
        (simulated.control / ids[0]).write_text("explode\n")
        simulated.obey()
        assert (lab.folder / ids[0] / "w1_slave").read_bytes() != b""

    def test_a_fault_set_in_the_process_is_left_alone(self, lab, make_probe, ids):
        simulated = lab.simulate(make_probe(0), make_probe(1))
        simulated.fault(ids[0], Fault.EMPTY)
        simulated.obey()
        assert (lab.folder / ids[0] / "w1_slave").read_bytes() == b""

    def test_asked_for_over_processes(self, lab, make_probe, ids):
        lab.simulate(make_probe(0))
        control.ask(lab.folder, ids[0], Fault.CRC)
        assert control.wanted(control.folder_beside(lab.folder), ids) == {ids[0]: Fault.CRC}
        control.ask(lab.folder, ids[0], None)
        assert control.wanted(control.folder_beside(lab.folder), ids) == {}

    def test_an_unknown_probe_is_one_sentence(self, lab, make_probe, ids, tmp_path):
        simulated = lab.simulate(make_probe(0))
        with pytest.raises(BusError, match=f"there is {ids[0]}"):
            control.ask(lab.folder, "28-nonsense", Fault.CRC)
        with pytest.raises(BusError, match="wormtub simulate"):
            control.ask(tmp_path / "nowhere", ids[0], Fault.CRC)
        with pytest.raises(BusError, match=f"there are {ids[0]}"):
            simulated.fault("28-nonsense", Fault.CRC)

    def test_a_vanished_probe_can_be_healed(self, lab, make_probe, ids):
        simulated = lab.simulate(make_probe(0))
        control.ask(lab.folder, ids[0], Fault.VANISHED)
        simulated.obey()
        assert not (lab.folder / ids[0]).exists()
        control.ask(lab.folder, ids[0], None)
        simulated.obey()
        assert (lab.folder / ids[0] / "w1_slave").exists()

    def test_an_unknown_fault_is_one_sentence_that_lists_them(self):
        with pytest.raises(BusError, match="crc, empty, torn"):
            control.fault_named("explode")
        assert control.fault_named("none") is None


def test_closed_it_leaves_nothing_to_be_read(lab, make_probe, ids):
    simulated = lab.simulate(
        make_probe(0), make_probe(1), barometer=SimulatedBarometer(lambda _: 1000.0), bulk=[1]
    )
    simulated.fault(ids[0], Fault.HANG)
    control.ask(lab.folder, ids[1], Fault.CRC)
    simulated.close()
    assert list(lab.folder.iterdir()) == []
    assert list(simulated.control.iterdir()) == []
    assert list((lab.folder.parent / "iio").iterdir()) == []
    again = lab.simulate(make_probe(0))
    assert (again.folder / ids[0] / "w1_slave").exists()


def test_it_starts_over_what_a_killed_one_left(lab, make_probe, ids):
    program = (
        "import sys\nfrom pathlib import Path\n"
        "from logger.bus.faults import Fault\n"
        "from logger.bus.simulated import SimulatedBus, SimulatedProbe\n"
        "bus = SimulatedBus(Path(sys.argv[1]), [SimulatedProbe(sys.argv[2], lambda _: 9.0)])\n"
        "bus.fault(sys.argv[2], Fault.HANG)\n"
    )
    subprocess.run([sys.executable, "-c", program, str(lab.folder), ids[0]], check=True)
    assert (lab.folder / ids[0] / "w1_slave").is_fifo()
    lab.simulate(make_probe(0, 21.5))
    assert (lab.folder / ids[0] / "w1_slave").read_text().endswith("t=21500\n")
