"""What a one-wire thermometer said, judged from its raw bytes: a number, or the reason for none.

Sources: datasheets of the DS18B20, DS18S20, DS1822, DS1825, DS28EA00 and MAX31850; Linux
drivers/w1/slaves/w1_therm.c. Parts whose byte 6 does not follow the rule are copies: common
practice, no source.
"""

from dataclasses import dataclass

from logger.bus.scratchpad import nine_bytes
from logger.reading import Grade

COUNTS_PER_C = 16  # the finest step of every family read here

DS18S20, MAX31850 = 0x10, 0x3B  # the families that do not speak as the DS18B20 does
POWER_ON_RAW = 0x0550  # 85 °C
LOW_SUPPLY_RAW = 0x07FF  # 127.9375 °C
NO_CONVERSION = 0x0C  # byte 6 until a first conversion has ended

_SILICON_C = (-55, 125)
_THERMOCOUPLE_C = (-200, 1350)  # type K on a MAX31850K; from memory
_NEAR_COUNTS = 2 * COUNTS_PER_C
_FRESH_S = 30.0


@dataclass(frozen=True, slots=True)
class Graded:
    """One reply judged: a count in 1/16 °C where the grade is OK, else none."""

    grade: Grade
    count: int | None = None
    resolution_bits: int | None = None  # what it converts at; None where that cannot be chosen
    follows: bool | None = None  # whether byte 6 follows byte 0, as on a genuine part

    def __post_init__(self) -> None:
        if (self.grade is Grade.OK) is (self.count is None):
            raise ValueError("a reading has a number if, and only if, its grade is OK")


@dataclass(slots=True)
class Memory:
    """What a part's earlier good replies tell about its next one."""

    follows: bool | None = None
    count: int | None = None
    at_s: float = float("-inf")

    def learn(self, graded: Graded, at_s: float) -> None:
        """Keep a good reply."""
        if graded.count is not None:
            self.count, self.at_s = graded.count, at_s
            if graded.follows is not None and self.follows is not False:
                self.follows = graded.follows  # a copy may seem to, by chance

    def believes_85(self, at_s: float) -> bool:
        """Whether a bare 85 °C is believable from a part whose byte 6 tells nothing."""
        near = self.count is not None and abs(self.count - POWER_ON_RAW) <= _NEAR_COUNTS
        return self.follows is False and near and at_s - self.at_s <= _FRESH_S


def grade(text: bytes, family: int, *, believe_85: bool = False) -> Graded:
    """Judge the text of a `w1_slave` file of a part of the family."""
    pad = nine_bytes(text)
    if isinstance(pad, Grade):
        return Graded(pad)
    if not any(pad):
        return Graded(Grade.BUS_LOW)
    if family == DS18S20:
        return _half_degrees(pad, believe_85=believe_85)
    if family == MAX31850 and pad[4] & 0x80:  # a DS1825 of the same family has 0 there
        return _thermocouple(pad)
    return _sixteenths(pad, believe_85=believe_85)


def _sixteenths(pad: bytes, *, believe_85: bool) -> Graded:
    raw = int.from_bytes(pad[:2], "little", signed=True)
    follows = pad[6] == 0x10 - (pad[0] & 0x0F)
    bits = 9 + (pad[4] >> 5 & 0b11)
    # Bit 7 is set by parts finer than 12 bit, whose resolution is left as it is.
    held = None if pad[4] & 0x80 else bits
    if raw == POWER_ON_RAW and not follows and not believe_85:
        return Graded(Grade.POWER_ON, resolution_bits=held)
    if raw == LOW_SUPPLY_RAW and pad[6] == NO_CONVERSION:
        return Graded(Grade.LOW_SUPPLY, resolution_bits=held)
    count = raw & -(1 << (12 - bits))  # the bits below the resolution are undefined
    tells = raw != POWER_ON_RAW and not (follows and pad[6] == NO_CONVERSION)
    return _within(count, _SILICON_C, resolution_bits=held, follows=follows if tells else None)


def _half_degrees(pad: bytes, *, believe_85: bool) -> Graded:
    raw, remain, per_c = int.from_bytes(pad[:2], "little", signed=True), pad[6], pad[7]
    if per_c == 0 or remain > per_c:
        return Graded(Grade.OUT_OF_RANGE)
    # Byte for byte what a true 85.0 °C reads, so only the readings before it can tell.
    if raw == 85 * 2 and remain == NO_CONVERSION and not believe_85:
        return Graded(Grade.POWER_ON)
    sixteenths = COUNTS_PER_C * (per_c - remain) / per_c
    count = (raw >> 1) * COUNTS_PER_C - COUNTS_PER_C // 4 + round(sixteenths)
    return _within(count, _SILICON_C, follows=False)


def _thermocouple(pad: bytes) -> Graded:
    if pad[0] & 1:  # open, or shorted to ground or supply
        return Graded(Grade.OUT_OF_RANGE)
    return _within(int.from_bytes(pad[:2], "little", signed=True) & ~0b11, _THERMOCOUPLE_C)


def _within(
    count: int,
    limits_c: tuple[int, int],
    *,
    resolution_bits: int | None = None,
    follows: bool | None = None,
) -> Graded:
    low, high = limits_c
    if not low * COUNTS_PER_C <= count <= high * COUNTS_PER_C:
        return Graded(Grade.OUT_OF_RANGE, resolution_bits=resolution_bits)
    return Graded(Grade.OK, count, resolution_bits, follows)
