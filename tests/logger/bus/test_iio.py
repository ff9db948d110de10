"""IIO channels over files laid out as Documentation/ABI/testing/sysfs-bus-iio says."""

import os

import pytest

from logger.bus.iio import Channel, IioBus, read_channel
from logger.errors import BusError, SettingsError
from logger.reading import Grade

PLENTY_S = 2.0


@pytest.fixture
def chip(tmp_path):
    """Makes a chip's folder with these files."""
    made = []

    def make(name, **files):
        home = tmp_path / f"iio:device{len(made)}"
        home.mkdir()
        made.append(home)
        (home / "name").write_text(f"{name}\n")
        for file, text in files.items():
            (home / file).write_text(text)
        return home

    return make


@pytest.fixture
def scan():
    buses = []

    def scan_(*channels):
        buses.append(IioBus(channels))
        return buses[-1].read_scan(deadline_s=PLENTY_S)

    yield scan_
    for bus in buses:
        bus.close()


def test_a_barometer_in_kilopascal(chip, scan, tmp_path):
    chip("bmp280", in_pressure_input="101.325000000\n", in_temp_input="21340\n")
    (reading,) = scan(Channel("bmp280", "pressure", folder=tmp_path))
    assert reading.series.probe_id == "iio-bmp280-pressure"
    assert (reading.series.quantity, reading.series.counts_per_unit) == ("pressure_hpa", 16)
    assert reading.value == pytest.approx(1013.25, abs=1 / 32)


def test_a_barometer_with_raw_and_scale(chip, scan, tmp_path):
    chip("bmp380", in_pressure_raw="9876543\n", in_pressure_scale="0.00001\n")
    (reading,) = scan(Channel("bmp380", "pressure", folder=tmp_path))
    assert reading.value == pytest.approx(987.6543, abs=1 / 32)


@pytest.mark.parametrize("raw", [-25600, -1, 0, 1, 10001, 32640])
def test_a_thermocouple_keeps_every_step_of_the_chip(chip, scan, tmp_path, raw):
    # MAX31856 datasheet: 19 bits of 2^-7 °C; the kernel's scale is 7.8125 millidegrees.
    chip("max31856", in_temp_raw=f"{raw}\n", in_temp_scale="7.812500\n")
    (reading,) = scan(Channel("max31856", "temp", folder=tmp_path))
    assert (reading.grade, reading.count, reading.series.counts_per_unit) == (Grade.OK, raw, 128)


def test_a_scale_with_an_offset_of_its_own(chip, scan, tmp_path):
    chip("hx711", in_voltage0_raw="400000\n", in_voltage_scale="0.5\n", in_voltage0_offset="-2000")
    scale = Channel(
        "hx711",
        "voltage0",
        name="cask",
        quantity="mass_kg",
        scale=0.0005,
        offset=-0.5,
        counts_per_unit=100,
        low=0.0,
        high=250.0,
        folder=tmp_path,
    )
    (reading,) = scan(scale)
    assert reading.series.probe_id == "iio-cask"
    assert reading.value == pytest.approx((400000 - 2000) * 0.5 * 0.0005 - 0.5)


def test_a_flow_meter(chip, scan, tmp_path):
    chip("counter", in_count0_raw="120\n")
    flow = Channel(
        "counter", "count0", quantity="flow_l_min", scale=0.05, counts_per_unit=100, folder=tmp_path
    )
    (reading,) = scan(flow)
    assert (reading.series.quantity, reading.value) == ("flow_l_min", 6.0)


def test_two_chips_of_a_kind_are_told_apart(chip, scan, tmp_path):
    chip("bmp280", in_pressure_input="100.0")
    chip("bmp280", in_pressure_input="90.0", label="roof\n")
    readings = scan(
        Channel("iio:device0", "pressure", name="room", folder=tmp_path),
        Channel("roof", "pressure", folder=tmp_path),
    )
    assert [r.value for r in readings] == [1000.0, 900.0]


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        ("", Grade.EMPTY),
        ("\n", Grade.EMPTY),
        ("101.", Grade.OK),
        ("12,3", Grade.TORN),
        ("nan", Grade.OUT_OF_RANGE),
        ("inf", Grade.OUT_OF_RANGE),
        ("0.0", Grade.OUT_OF_RANGE),
        ("29.9", Grade.OUT_OF_RANGE),
        ("125.1", Grade.OUT_OF_RANGE),
        ("-1e300", Grade.OUT_OF_RANGE),
    ],
)
def test_a_channel_that_fails_is_a_grade_and_spoils_no_other(chip, scan, tmp_path, text, grade):
    chip("bmp280", in_pressure_input=text, in_temp_input="21500")
    failing, good = scan(
        Channel("bmp280", "pressure", folder=tmp_path), Channel("bmp280", "temp", folder=tmp_path)
    )
    assert failing.grade is grade
    assert (failing.count is None) == (grade is not Grade.OK)
    assert good.value == 21.5


def test_a_channel_that_vanishes_is_gone_and_may_return_under_another_number(chip, tmp_path):
    home = chip("bmp280", in_pressure_input="100.0")
    bus = IioBus([Channel("bmp280", "pressure", folder=tmp_path)])
    aside = home.rename(tmp_path / "aside")
    (aside / "name").rename(aside / "was")
    assert [r.grade for r in bus.read_scan(deadline_s=PLENTY_S)] == [Grade.GONE]
    (aside / "was").rename(aside / "name")
    aside.rename(tmp_path / "iio:device7")
    assert [r.value for r in bus.read_scan(deadline_s=PLENTY_S)] == [1000.0]
    bus.close()


def test_a_channel_that_hangs_costs_one_sweep_and_no_other_channel(chip, tmp_path, held, until):
    home = chip("bmp280", in_temp_input="21500")
    pipe = home / "in_pressure_input"
    os.mkfifo(pipe)
    before = held()
    bus = IioBus(
        [
            Channel("bmp280", "pressure", folder=tmp_path),
            Channel("bmp280", "temp", folder=tmp_path),
        ]
    )
    for _ in range(3):
        grades = [r.grade for r in bus.read_scan(deadline_s=0.2)]
        assert grades == [Grade.TIMED_OUT, Grade.OK]
    pipe.write_text("100.0")  # waits for the stuck reader, and lets it go
    bus.close()
    pipe.unlink()
    until(lambda: held() == before)


class TestRatio:
    """A MAX31865 shows raw/32768 of its reference resistor."""

    def test_is_turned_into_a_temperature(self, chip, scan, tmp_path):
        chip("max31865", in_temp_raw="10555\n", in_temp_scale="31.250000\n")
        (reading,) = scan(Channel("max31865", "temp", reference_ohm=430.0, folder=tmp_path))
        # 10555 / 32768 x 430 ohm = 138.5078 ohm; IEC 60751: 138.5055 ohm at 100 °C.
        assert reading.value == pytest.approx(100.0, abs=0.01)

    @pytest.mark.parametrize("raw", ["0", "32767", "1000"])
    def test_of_an_open_or_shorted_wire_is_out_of_range(self, chip, scan, tmp_path, raw):
        chip("max31865", in_temp_raw=raw, in_temp_scale="31.250000\n")
        (reading,) = scan(Channel("max31865", "temp", reference_ohm=430.0, folder=tmp_path))
        assert reading.grade is Grade.OUT_OF_RANGE

    @pytest.mark.parametrize("device", ["max31865", "iio:device0"])
    def test_is_never_taken_for_a_temperature(self, chip, tmp_path, device):
        chip("max31865", in_temp_raw="7620\n", in_temp_scale="31.250000\n")
        with pytest.raises(BusError, match="reference_ohm"):
            IioBus([Channel(device, "temp", folder=tmp_path)])


def test_what_a_count_cannot_hold_is_refused(chip, tmp_path):
    chip("hx711", in_voltage0_raw="40000")
    mass = Channel("hx711", "voltage0", "", "mass_kg", 1.0, counts_per_unit=1, folder=tmp_path)
    assert read_channel(mass).grade is Grade.OUT_OF_RANGE


def test_an_unusual_channel_must_say_what_it_is(tmp_path):
    with pytest.raises(SettingsError, match="quantity, scale and counts_per_unit"):
        Channel("hx711", "voltage0", folder=tmp_path)
    with pytest.raises(SettingsError, match="quantity, scale and counts_per_unit"):
        Channel("bmp280", "pressure", quantity="pressure_kpa", folder=tmp_path)
    with pytest.raises(SettingsError, match="mass_kg"):
        Channel("hx711", "voltage0", "", "Mass (kg)", 1.0, counts_per_unit=1, folder=tmp_path)


def test_a_channel_that_is_not_there_is_one_sentence(chip, tmp_path):
    chip("bmp280", in_temp_input="21500")
    with pytest.raises(BusError, match="no IIO channel bmp280 pressure"):
        IioBus([Channel("bmp280", "pressure", folder=tmp_path)])
