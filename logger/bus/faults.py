"""What can go wrong on a one-wire bus, by name, and the text the kernel would show for each."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from logger.bus.grading import LOW_SUPPLY_RAW, NO_CONVERSION, POWER_ON_RAW
from logger.bus.scratchpad import crc8, slave_text


class Fault(StrEnum):
    """A fault the simulated bus shows on command."""

    CRC = "crc"  # bytes hurt on the way; the kernel says NO
    EMPTY = "empty"  # the probe does not answer; the kernel has nothing to show
    TORN = "torn"  # half a text
    POWER_ON = "power-on"  # 85 °C, as before a first conversion
    GENUINE_85 = "genuine-85"  # 85 °C, truly measured: not a fault, and must be kept
    LOW_SUPPLY = "low-supply"  # 127.9375 °C
    ZEROS = "zeros"  # data line shorted: nothing but zeros, with a valid checksum
    STUCK = "stuck"  # the same good reading again and again
    VANISHED = "vanished"  # the folder is gone
    SLOW = "slow"  # each read takes a whole 12 bit conversion
    HANG = "hang"  # a read never returns


@dataclass(frozen=True, slots=True)
class Part:
    """How a simulated thermometer speaks."""

    resolution_bits: int = 12
    genuine: bool = True  # else byte 6 is always 0x0C, as on many copies

    @property
    def conversion_ms(self) -> int:
        """Give the time of a conversion (datasheet, rounded up as the kernel does)."""
        return {9: 95, 10: 190, 11: 375, 12: 750}[self.resolution_bits]

    def pad(self, raw: int) -> bytes:
        """Give the nine bytes after a conversion to `raw`, in 1/16 °C."""
        low = raw & 0x0F
        return self._bytes(raw, 0x10 - low if self.genuine else NO_CONVERSION)

    def unconverted(self, raw: int) -> bytes:
        """Give the nine bytes of a part whose conversion has not ended."""
        return self._bytes(raw, NO_CONVERSION)

    def _bytes(self, raw: int, byte_6: int) -> bytes:
        config = 0x1F | (self.resolution_bits - 9) << 5
        eight = bytes([raw & 0xFF, raw >> 8 & 0xFF, 0x4B, 0x46, config, 0xFF, byte_6, 0x10])
        return eight + bytes([crc8(eight)])


def text_for(fault: Fault | None, part: Part, raw: int) -> bytes:
    """Write the `w1_slave` text of a part at `raw` (1/16 °C) under a fault."""
    if fault is Fault.EMPTY:
        return b""
    pad = part.pad(raw)
    if fault is Fault.CRC:  # the kernel keeps the last good bytes in the second line
        hurt = bytes([pad[0] ^ 0x10, *pad[1:]])
        return slave_text(hurt, pad, _millidegrees(raw ^ 0x10))
    text = _text(_FIXED[fault](part) if fault in _FIXED else pad)
    return text[:37] if fault is Fault.TORN else text


_FIXED: dict[Fault | None, Callable[[Part], bytes]] = {
    Fault.POWER_ON: lambda part: part.unconverted(POWER_ON_RAW),
    Fault.GENUINE_85: lambda part: part.pad(POWER_ON_RAW),
    Fault.LOW_SUPPLY: lambda part: part.unconverted(LOW_SUPPLY_RAW),
    Fault.ZEROS: lambda _: bytes(9),
}


def _text(pad: bytes) -> bytes:
    return slave_text(pad, pad, _millidegrees(int.from_bytes(pad[:2], "little", signed=True)))


def _millidegrees(raw: int) -> int:
    return int(raw * 1000 / 16)  # towards zero, as C divides
