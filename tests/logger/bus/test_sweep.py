"""Opening a site's buses, and reading several side by side."""

import os
import tempfile
from dataclasses import dataclass
from pathlib import Path
from threading import Event
from time import monotonic

import pytest

from logger.bus.faults import Fault
from logger.bus.iio import Channel
from logger.bus.simulated import SimulatedBarometer
from logger.bus.sweep import CompositeBus, open_bus
from logger.errors import BusError
from logger.reading import Grade, Reading, SeriesKey

PLENTY_S = 2.0


@dataclass
class Chosen:
    bus: Path
    iio: tuple[Channel, ...] = ()
    resolution_bits: object = "auto"


@pytest.fixture
def opened():
    buses = []

    def open_(settings):
        buses.append(open_bus(settings))
        return buses[-1]

    yield open_
    for bus in buses:
        bus.close()


def barometer(lab):
    return Channel("bmp280", "pressure", folder=lab.folder.parent / "iio")


def test_one_wire_alone(lab, make_probe, ids, opened):
    lab.simulate(make_probe(0, 21.5))
    bus = opened(Chosen(lab.folder))
    assert [r.value for r in bus.read_scan(deadline_s=PLENTY_S)] == [21.5]


def test_one_wire_and_a_barometer(lab, make_probe, ids, opened):
    lab.simulate(make_probe(0, 21.5), barometer=SimulatedBarometer(lambda _: 1013.25))
    bus = opened(Chosen(lab.folder, (barometer(lab),)))
    temperature, pressure = bus.read_scan(deadline_s=PLENTY_S)
    assert (temperature.series.quantity, temperature.value) == ("temperature_c", 21.5)
    assert (pressure.series.quantity, pressure.value) == ("pressure_hpa", 1013.25)
    assert [f.probe_id for f in bus.facts()] == [ids[0], "iio-bmp280-pressure"]
    assert 0.0 < bus.sweep_s < PLENTY_S


def test_each_bus_keeps_the_deadline_and_neither_waits_for_the_other(
    lab, make_probe, ids, opened, until
):
    simulated = lab.simulate(make_probe(0), barometer=SimulatedBarometer(lambda _: 1013.25))
    bus = opened(Chosen(lab.folder, (barometer(lab),)))
    until(lambda: len(bus.read_scan(deadline_s=PLENTY_S)) == 2)  # now it knows what there is
    simulated.fault(ids[0], Fault.HANG)
    began_s = monotonic()
    grades = [r.grade for r in bus.read_scan(deadline_s=0.3)]
    assert grades == [Grade.TIMED_OUT, Grade.OK]
    assert monotonic() - began_s < PLENTY_S


def test_a_bus_that_overruns_is_timed_out_and_not_asked_again(ids):
    let_go, asked = Event(), []

    class Slow:
        sweep_s = 0.0

        def read_scan(self, *, deadline_s):
            asked.append(deadline_s)
            if len(asked) > 1:
                let_go.wait()
            series = SeriesKey(ids[0], "temperature_c", 16)
            return (Reading(series, Grade.OK, 16 * len(asked)),)

        def close(self):
            let_go.set()

    bus = CompositeBus([Slow()])
    assert [r.count for r in bus.read_scan(deadline_s=PLENTY_S)] == [16]
    for _ in range(3):
        (reading,) = bus.read_scan(deadline_s=0.01)
        assert (reading.grade, reading.count) == (Grade.TIMED_OUT, None)
    assert len(asked) == 2
    let_go.set()
    bus.close()


@pytest.mark.parametrize("bits", [9, 10, 11, 12])
def test_a_resolution_chosen_is_set(lab, make_probe, ids, opened, bits):
    lab.simulate(make_probe(0, resolution_bits=9 if bits == 12 else 12))
    bus = opened(Chosen(lab.folder, (), bits))
    bus.read_scan(deadline_s=PLENTY_S)
    assert int((lab.folder / ids[0] / "resolution").read_text()) == bits


def test_probes_may_come_later(lab, make_probe, ids, opened):
    lab.folder.mkdir(parents=True)
    bus = opened(Chosen(lab.folder))
    assert bus.read_scan(deadline_s=PLENTY_S) == ()
    lab.simulate(make_probe(0, 21.5))
    assert [r.value for r in bus.read_scan(deadline_s=PLENTY_S)] == [21.5]


def sentence(settings):
    with pytest.raises(BusError) as raised:
        open_bus(settings)
    assert isinstance(raised.value, OSError)
    said = str(raised.value)
    assert said.endswith(".")
    assert "\n" not in said
    return said


def test_a_folder_that_may_not_be_read_is_one_sentence(lab, make_probe, as_nobody):
    lab.simulate(make_probe(0))
    lab.folder.chmod(0o700)
    as_nobody()
    assert f"may not read {lab.folder}" in sentence(Chosen(lab.folder))


def test_an_unknown_folder_is_one_sentence(tmp_path):
    said = sentence(Chosen(tmp_path / "nowhere"))
    assert f"{tmp_path}/nowhere cannot be read (No such file or directory)" in said
    assert "--bus" in said


def test_a_file_for_a_folder_is_one_sentence(tmp_path):
    (tmp_path / "file").write_text("")
    assert "Not a directory" in sentence(Chosen(tmp_path / "file"))


def test_a_missing_channel_is_one_sentence(lab, make_probe):
    lab.simulate(make_probe(0), barometer=SimulatedBarometer(lambda _: 1013.25))
    iio = lab.folder.parent / "iio"
    said = sentence(Chosen(lab.folder, (Channel("bme280", "pressure", folder=iio),)))
    assert "no IIO channel bme280 pressure" in said


def test_a_missing_channel_folder_is_one_sentence(lab, make_probe, tmp_path):
    lab.simulate(make_probe(0))
    said = sentence(Chosen(lab.folder, (Channel("bmp280", "pressure", folder=tmp_path / "no"),)))
    assert "cannot be read" in said


@pytest.fixture
def folder():
    """Where everybody may look, unlike pytest's own folders."""
    with tempfile.TemporaryDirectory() as shared:
        Path(shared).chmod(0o755)
        yield Path(shared) / "w1" / "devices"


@pytest.fixture
def as_nobody():
    """Gives up root's right to read everything, for as long as the test runs."""
    was_root = os.geteuid() == 0
    yield lambda: os.seteuid(65534) if was_root else None
    if was_root:
        os.seteuid(0)


def test_files_that_may_not_be_read_are_one_sentence(lab, make_probe, ids, as_nobody):
    lab.simulate(make_probe(0), make_probe(1))
    for name in ids[:2]:
        (lab.folder / name / "w1_slave").chmod(0)
    as_nobody()
    assert "may not read" in sentence(Chosen(lab.folder))


def test_one_file_that_may_not_be_read_is_warned_of(
    lab, make_probe, ids, opened, caplog, as_nobody
):
    lab.simulate(make_probe(0), make_probe(1))
    (lab.folder / ids[0] / "w1_slave").chmod(0)
    as_nobody()
    bus = opened(Chosen(lab.folder))
    assert [r.grade for r in bus.read_scan(deadline_s=PLENTY_S)] == [Grade.EMPTY, Grade.OK]
    assert f"may not read {lab.folder / ids[0]}" in caplog.text
