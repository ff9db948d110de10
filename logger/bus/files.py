"""The kernel's files of one part: read to their end, written in one go. All of them may block."""

import os
from pathlib import Path
from typing import Literal

Supply = Literal["external", "parasite", "unknown"]

_PAGE = 4096  # the kernel shows at most a page


def read_text(path: Path) -> bytes:
    """Read a kernel file to its end."""
    handle = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
    try:
        text = b""
        while len(text) <= _PAGE and (more := os.read(handle, _PAGE)):
            text += more
        return text
    finally:
        os.close(handle)


def write_text(path: Path, text: bytes) -> None:
    """Write a kernel file in one go; it is never created."""
    handle = os.open(path, os.O_WRONLY | os.O_CLOEXEC)
    try:
        os.write(handle, text)
    finally:
        os.close(handle)


def read_supply(home: Path) -> Supply:
    """Ask a part how it is supplied; kernels before 5.8 cannot say."""
    try:
        answer = read_text(home / "ext_power").strip()
    except OSError:
        return "unknown"
    return "external" if answer == b"1" else "parasite" if answer == b"0" else "unknown"


def read_resolution(home: Path) -> int | None:
    """Ask a part how finely it converts; kernels before 5.8 cannot say."""
    try:
        answer = read_text(home / "resolution").strip()
    except OSError:
        return None
    return int(answer) if answer.isdigit() else None


def write_resolution(home: Path, bits: int) -> None:
    """Set how finely a part converts, in its working memory; its EEPROM is left alone."""
    write_text(home / "resolution", b"%d\n" % bits)
