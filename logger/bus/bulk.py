"""One conversion for all probes of a master, where the kernel offers it.

Source: Linux Documentation/w1/slaves/w1_therm.rst: `trigger` written to `therm_bulk_read` makes
every probe of the master convert at once; reading gives -1 while they do, then 1 until all have
been read, and 0 when nothing has been asked for.
"""

import os
from pathlib import Path
from time import monotonic, sleep

from logger.bus.files import read_text, write_text
from logger.bus.resolution import CONVERSION_S, FINE_BITS

_TRIGGER = b"trigger\n"  # all eight bytes in one write, or the kernel ignores it
_LOOK_AGAIN_S = 0.005
_TRIES = 3  # without the expected answer, before it is left alone
_LEFT_ALONE = 60  # sweeps


class Bulk:
    """The bulk conversion of one master."""

    def __init__(self, master: Path) -> None:
        self._file = master / "therm_bulk_read"
        self._failures = 0
        self._wait = 0

    def offered(self) -> bool:
        """Whether to try it in this sweep: there, writable, and not found wanting lately."""
        if self._wait:
            self._wait -= 1
            return False
        return self.present()

    def present(self) -> bool:
        """Whether the kernel offers it and this user may ask for it."""
        return os.access(self._file, os.W_OK, effective_ids=True)

    def convert(self) -> bool:
        """Convert, which blocks as long as that takes; say whether the kernel confirms it."""
        try:
            write_text(self._file, _TRIGGER)
            return self._confirmed(monotonic() + CONVERSION_S[FINE_BITS])
        except OSError:
            return False

    def learn(self, *, confirmed: bool) -> None:
        """Leave it alone for a while where it has failed several times."""
        self._failures = 0 if confirmed else self._failures + 1
        if self._failures >= _TRIES:
            self._failures, self._wait = 0, _LEFT_ALONE

    def _confirmed(self, until_s: float) -> bool:
        """Look until it reads 1 or 0; the kernel answers at once, a simulated bus soon."""
        while (state := read_text(self._file).strip()) not in {b"0", b"1"}:
            if monotonic() >= until_s:
                return False
            sleep(_LOOK_AGAIN_S)
        return state == b"1"
