"""The nine bytes of a one-wire thermometer, and the two lines of text the kernel shows them in.

Sources: DS18B20 datasheet (scratchpad map); Linux drivers/w1/slaves/w1_therm.c (w1_slave_show);
Maxim application note 27 (the checksum).
"""

import re

from logger.reading import Grade

# `91 01 4b 46 7f ff 0f 10 25 : crc=25 YES` then `91 01 4b 46 7f ff 0f 10 25 t=25062`. Where the
# checksum fails the second line still holds the bytes of the last good read. The bytes carry a
# checksum of their own, so a missing last newline does no harm.
_TEXT = re.compile(
    rb"((?:[0-9a-f]{2} ){9}): crc=([0-9a-f]{2}) (YES|NO)\n((?:[0-9a-f]{2} ){9})t=-?\d+\s*",
    re.IGNORECASE,
)
_POLYNOMIAL = 0x8C  # x^8 + x^5 + x^4 + 1, least significant bit first


def _crc_of_byte(value: int) -> int:
    for _ in range(8):
        value = (value >> 1) ^ (_POLYNOMIAL if value & 1 else 0)
    return value


_CRC_TABLE = bytes(_crc_of_byte(value) for value in range(256))


def crc8(data: bytes) -> int:
    """Work out the checksum a one-wire part sends behind its bytes."""
    crc = 0
    for byte in data:
        crc = _CRC_TABLE[crc ^ byte]
    return crc


def nine_bytes(text: bytes) -> bytes | Grade:
    """Take the bytes out of a `w1_slave` text, or say why they cannot be trusted."""
    if not text.strip():
        return Grade.EMPTY
    lines = _TEXT.fullmatch(text)
    if lines is None:
        return Grade.TORN
    sent, crc, verdict, kept = lines.groups()
    pad = bytes.fromhex(sent.decode())
    if verdict.upper() == b"NO" or crc8(pad[:8]) != pad[8]:
        return Grade.CRC
    if bytes.fromhex(kept.decode()) != pad or int(crc, 16) != pad[8]:
        return Grade.TORN  # halves of two texts
    return pad


def slave_text(pad: bytes, kept: bytes, t_millidegree: int) -> bytes:
    """Write the text the kernel would show: what came, its checksum's verdict, what was kept."""
    crc = crc8(pad[:8])
    verdict = "YES" if crc == pad[8] else "NO"
    return (
        f"{pad.hex(' ')} : crc={crc:02x} {verdict}\n{kept.hex(' ')} t={t_millidegree}\n"
    ).encode()
