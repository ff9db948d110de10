"""Grading against the makers' datasheet tables, and against w1thermsensor over the whole range."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from w1thermsensor import core  # the room's conftest has made this safe to import

from logger.bus.faults import Fault, Part, text_for
from logger.bus.grading import Graded, Memory, grade
from logger.bus.scratchpad import crc8, slave_text
from logger.reading import Grade

DS18S20, DS1822, DS18B20, MAX31850, DS28EA00 = 0x10, 0x22, 0x28, 0x3B, 0x42
LIKE_DS18B20 = (DS18B20, DS1822, DS28EA00)
COUNTS = range(-55 * 16, 125 * 16 + 1)
AT_85 = 85 * 16


def text(eight: bytes) -> bytes:
    pad = eight + bytes([crc8(eight)])
    return slave_text(pad, pad, 0)


def ds18b20(raw: int, byte_6: int, config: int = 0x7F) -> bytes:
    register = (raw & 0xFFFF).to_bytes(2, "little")
    return text(register + bytes([0x4B, 0x46, config, 0xFF, byte_6, 0x10]))


def ds18s20(register: int, remain: int, per_c: int = 0x10) -> bytes:
    return text(register.to_bytes(2, "little") + bytes([0x4B, 0x46, 0xFF, 0xFF, remain, per_c]))


@pytest.mark.parametrize(
    ("register", "temperature_c"),
    [
        # DS18B20 datasheet, table "Temperature/Data Relationship".
        (0x07D0, 125.0),
        (0x0550, 85.0),
        (0x0191, 25.0625),
        (0x00A2, 10.125),
        (0x0008, 0.5),
        (0x0000, 0.0),
        (0xFFF8, -0.5),
        (0xFF5E, -10.125),
        (0xFE6F, -25.0625),
        (0xFC90, -55.0),
    ],
)
@pytest.mark.parametrize("family", LIKE_DS18B20)
def test_the_datasheets_table(register, temperature_c, family):
    graded = grade(ds18b20(register, 0x10 - (register & 0xF)), family)
    assert graded.grade is Grade.OK
    assert graded.count / 16 == temperature_c


@pytest.mark.parametrize("genuine", [True, False])
def test_every_count_comes_through_and_is_what_w1thermsensor_makes_of_it(genuine):
    part = Part(genuine=genuine)
    for count in COUNTS:
        written = text_for(None, part, count)
        graded = grade(written, DS18B20, believe_85=True)
        peer = core.convert_raw_temperature_to_sensor_count(written.decode().splitlines()[1])
        assert (graded.grade, graded.count) == (Grade.OK, count) == (Grade.OK, peer)


@pytest.mark.parametrize("bits", [9, 10, 11, 12])
def test_bits_below_the_resolution_are_left_out(bits):
    step = 1 << (12 - bits)
    part = Part(resolution_bits=bits)
    for count in range(-55 * 16, 125 * 16, step):
        for undefined in range(step):
            written = text_for(None, part, count + undefined)
            graded = grade(written, DS18B20)
            assert (graded.grade, graded.count) == (Grade.OK, count)
            assert graded.resolution_bits == bits
        assert core.evaluate_resolution(written.decode().splitlines()[1]) == bits


def test_genuine_85_is_kept():
    assert grade(ds18b20(0x0550, 0x10), DS18B20).count == AT_85


def test_power_on_85_is_refused():
    assert grade(ds18b20(0x0550, 0x0C), DS18B20) == Graded(Grade.POWER_ON, None, 12)


def test_power_on_value_of_a_part_of_no_known_manner_is_refused():
    assert grade(ds18b20(0x0550, 0x66), DS18B20).grade is Grade.POWER_ON


def test_low_supply_is_refused():
    assert grade(ds18b20(0x07FF, 0x0C), DS18B20).grade is Grade.LOW_SUPPLY


def test_127_9375_after_a_conversion_is_out_of_range():
    assert grade(ds18b20(0x07FF, 0x01), DS18B20).grade is Grade.OUT_OF_RANGE


@pytest.mark.parametrize("family", [*LIKE_DS18B20, DS18S20, MAX31850])
def test_a_shorted_bus_is_not_ice(family):
    assert grade(text(bytes(8)), family) == Graded(Grade.BUS_LOW)


def test_ice_is_not_a_shorted_bus():
    assert grade(ds18b20(0x0000, 0x10), DS18B20).count == 0


@pytest.mark.parametrize("raw", [125 * 16 + 1, -55 * 16 - 1, 0x7FFF, -0x8000])
def test_what_it_cannot_measure_is_refused(raw):
    assert grade(ds18b20(raw, 0x10 - (raw & 0xF)), DS18B20).grade is Grade.OUT_OF_RANGE


def test_a_part_finer_than_12_bit_keeps_its_resolution():
    graded = grade(ds18b20(0x0191, 0x0F, config=0xFF), DS18B20)
    assert (graded.count, graded.resolution_bits) == (0x0191, None)


class TestCopies:
    """Parts whose byte 6 is always 0x0C: only what came before tells a true 85 °C."""

    def sees(self, memory, count, at_s, *, genuine=False):
        written = text_for(None, Part(genuine=genuine), count)
        graded = grade(written, DS18B20, believe_85=memory.believes_85(at_s))
        memory.learn(graded, at_s)
        return graded.grade

    def test_every_step_of_a_slow_rise_through_85_is_kept(self):
        memory = Memory()
        for second, count in enumerate(range(AT_85 - 40, AT_85 + 40)):
            assert self.sees(memory, count, float(second)) is Grade.OK

    def test_a_rest_at_85_is_kept(self):
        memory = Memory()
        assert self.sees(memory, AT_85 - 1, 0.0) is Grade.OK
        for second in range(1, 120):
            assert self.sees(memory, AT_85, float(second)) is Grade.OK

    def test_first_of_all_is_refused(self):
        assert self.sees(Memory(), AT_85, 0.0) is Grade.POWER_ON

    def test_far_from_the_last_is_refused(self):
        memory = Memory()
        self.sees(memory, 60 * 16, 0.0)
        assert self.sees(memory, AT_85, 1.0) is Grade.POWER_ON

    def test_long_after_the_last_is_refused(self):
        memory = Memory()
        self.sees(memory, AT_85 - 3, 0.0)
        assert self.sees(memory, AT_85, 31.0) is Grade.POWER_ON

    def test_a_genuine_part_that_lost_power_near_85_is_refused(self):
        memory = Memory()
        self.sees(memory, AT_85 - 3, 0.0, genuine=True)
        power_on = grade(ds18b20(0x0550, 0x0C), DS18B20, believe_85=memory.believes_85(1.0))
        assert power_on.grade is Grade.POWER_ON

    def test_one_whose_byte_6_fits_by_chance_is_still_a_copy(self):
        # Always 0x08: that fits a reading ending in 8, as 84.5 °C does.
        memory = Memory()
        for second, count in enumerate(range(AT_85 - 40, AT_85 - 7)):
            memory.learn(grade(ds18b20(count, 0x08), DS18B20), float(second))
        assert memory.count == AT_85 - 8
        believed = memory.believes_85(40.0)
        assert grade(ds18b20(AT_85, 0x08), DS18B20, believe_85=believed).count == AT_85

    def test_a_reading_that_tells_nothing_leaves_the_manner_open(self):
        # Byte 6 is 0x0C both on a genuine part ending in 4 and on a copy.
        assert grade(ds18b20(AT_85 + 4, 0x0C), DS18B20).follows is None


@pytest.mark.parametrize(
    ("register", "remain", "temperature_c"),
    [
        # DS18S20 datasheet: half degrees, and TEMP_READ - 0.25 + (per_c - remain) / per_c.
        (0x0032, 0x0C, 25.0),
        (0x0032, 0x10, 24.75),
        (0x0032, 0x01, 25.6875),
        (0x0033, 0x04, 25.5),  # the half-degree bit is truncated
        (0x0000, 0x0C, 0.0),
        (0xFFFF, 0x04, -0.5),
        (0xFFCE, 0x0C, -25.0),
        (0xFF92, 0x0C, -55.0),
        (0x00AA, 0x0B, 85.0625),
    ],
)
def test_ds18s20(register, remain, temperature_c):
    graded = grade(ds18s20(register, remain), DS18S20)
    assert graded.grade is Grade.OK
    assert graded.count / 16 == temperature_c
    assert graded.resolution_bits is None


def test_ds18s20_agrees_with_the_kernel():
    # w1_DS18S20_convert_temp of drivers/w1/slaves/w1_therm.c, for temperatures above 0 °C.
    for register in range(250):
        for remain in range(1, 0x11):
            t = (register >> 1) * 1000 - 250 + 1000 * (0x10 - remain) // 0x10
            graded = grade(ds18s20(register, remain), DS18S20, believe_85=True)
            if 0 <= t <= 125_000:
                assert int(graded.count * 1000 / 16) == pytest.approx(t, abs=1)


def test_ds18s20_at_85_is_power_on_unless_it_came_from_near():
    power_on = ds18s20(0x00AA, 0x0C)  # datasheet, figure of the scratchpad at power-on
    assert grade(power_on, DS18S20).grade is Grade.POWER_ON
    memory = Memory()
    memory.learn(grade(ds18s20(0x00A9, 0x0C), DS18S20), 0.0)
    assert grade(power_on, DS18S20, believe_85=memory.believes_85(1.0)).count == AT_85


def test_ds18s20_that_cannot_be_right_is_refused():
    assert grade(ds18s20(0x0032, 0x0C, per_c=0), DS18S20).grade is Grade.OUT_OF_RANGE
    assert grade(ds18s20(0x0032, 0x20), DS18S20).grade is Grade.OUT_OF_RANGE


@pytest.mark.parametrize(
    ("register", "temperature_c"),
    [(0x3E80, 1000.0), (0x064C, 100.75), (0x0190, 25.0), (0xFFFC, -0.25), (0xF380, -200.0)],
)
def test_max31850(register, temperature_c):
    # MAX31850 datasheet, thermocouple temperature data format; bit 1 is reserved.
    pad = (register | 0b10).to_bytes(2, "little") + bytes([0x90, 0x19, 0xF3, 0xFF, 0xFF, 0xFF])
    graded = grade(text(pad), MAX31850)
    assert (graded.grade, graded.resolution_bits) == (Grade.OK, None)
    assert graded.count / 16 == temperature_c


def test_max31850_with_an_open_thermocouple_is_refused():
    pad = bytes([0x91, 0x01, 0x91, 0x19, 0xF3, 0xFF, 0xFF, 0xFF])
    assert grade(text(pad), MAX31850).grade is Grade.OUT_OF_RANGE


def test_ds1825_shares_the_family_and_reads_as_a_ds18b20():
    graded = grade(ds18b20(0x0191, 0x0F, config=0x73), MAX31850)
    assert (graded.count, graded.resolution_bits) == (0x0191, 12)


nine = st.binary(min_size=9, max_size=9)
families = st.sampled_from([DS18S20, DS1822, DS18B20, MAX31850, DS28EA00])


@given(nine, families, st.booleans())
def test_a_number_comes_only_from_bytes_with_their_checksum(pad, family, believe_85):
    graded = grade(slave_text(pad, pad, 0), family, believe_85=believe_85)
    if crc8(pad[:8]) != pad[8]:
        assert graded.grade is Grade.CRC
    assert (graded.grade is Grade.OK) == (graded.count is not None)


@given(st.binary(min_size=8, max_size=8), families, st.booleans())
def test_a_number_is_one_that_the_part_can_measure(eight, family, believe_85):
    graded = grade(text(eight), family, believe_85=believe_85)
    assert graded.grade not in {Grade.CRC, Grade.TORN, Grade.EMPTY}
    if graded.count is not None:
        high_c = 1350 if family == MAX31850 and eight[4] & 0x80 else 125
        assert any(eight)
        assert -200 * 16 <= graded.count <= high_c * 16
        assert not (eight[:2] == b"\x50\x05" and eight[6] == 0x0C) or believe_85


@given(st.binary(max_size=120), families)
def test_anything_else_is_a_grade_and_no_number(text_, family):
    assert grade(text_, family).count is None


def test_a_record_with_a_number_and_a_refusal_cannot_be_made():
    with pytest.raises(ValueError, match="if, and only if"):
        Graded(Grade.CRC, 400)
    with pytest.raises(ValueError, match="if, and only if"):
        Graded(Grade.OK)


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        (None, Grade.OK),
        (Fault.CRC, Grade.CRC),
        (Fault.EMPTY, Grade.EMPTY),
        (Fault.TORN, Grade.TORN),
        (Fault.POWER_ON, Grade.POWER_ON),
        (Fault.GENUINE_85, Grade.OK),
        (Fault.LOW_SUPPLY, Grade.LOW_SUPPLY),
        (Fault.ZEROS, Grade.BUS_LOW),
    ],
)
def test_every_fault_at_every_count(fault, expected):
    for count in COUNTS:
        graded = grade(text_for(fault, Part(), count), DS18B20)
        assert graded.grade is expected
        if expected is Grade.OK:
            assert graded.count == (AT_85 if fault else count)
