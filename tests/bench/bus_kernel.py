"""A one-wire bus that takes the kernel's own times, made of named pipes.

Every `w1_slave` and `therm_bulk_read` is a pipe: whoever reads or writes it waits as long as the
kernel would make him wait, through the same calls as on the real files. Run as a process of its
own: `python tests/bench/bus_kernel.py FOLDER [--probes 8] [--bits 12] [--no-bulk] [--parasite]`
prints "ready" and stays.

The times (Linux drivers/w1/slaves/w1_therm.c; DS18B20 datasheet): one conversion takes 95, 190, 375
or 750 ms at 9 to 12 bit; reading the bytes takes 12 to 15 ms and holds the master. A part with a
supply of its own lets go of the master while it converts, one without holds it.
"""

import argparse
import os
import random
import sys
import time
from pathlib import Path
from threading import Lock, Thread

sys.path.insert(0, str(Path(__file__).parents[2]))

from logger.bus.faults import Part, text_for
from logger.bus.resolution import CONVERSION_S

BYTES_S = (0.012, 0.015)  # a scratchpad's way over the wire
COMMAND_S = 0.006  # reset, address and command
WRITE_S = 0.02  # setting a resolution


class Wire:
    """One master: its lock, its parts' resolution, and which have converted in bulk."""

    def __init__(self, folder: Path, number: int, args: argparse.Namespace) -> None:
        self.home = folder / f"w1_bus_master{number}"
        self.home.mkdir(parents=True)
        self.lock = Lock()
        self.external = not args.parasite
        self.parts = [Slave(self, number, n, args.bits) for n in range(args.probes)]
        if not args.no_bulk:
            os.mkfifo(self.home / "therm_bulk_read")
            Thread(target=self.bulk, daemon=True).start()

    def bulk(self) -> None:
        """Take `trigger`; whoever reads next waits until the conversion is over, and reads 1."""
        path = self.home / "therm_bulk_read"
        while True:
            with path.open("rb", buffering=0) as file:
                triggered = file.read(64) == b"trigger\n" and file.read(64) == b""
            if triggered:
                self.convert_all()
            path.write_bytes(b"1\n" if triggered else b"0\n")

    def convert_all(self) -> None:
        with self.lock:
            time.sleep(COMMAND_S)
        time.sleep(max(CONVERSION_S[part.bits] for part in self.parts))
        for part in self.parts:
            part.converted = True


class Slave:
    """One part behind a pipe."""

    def __init__(self, wire: Wire, master: int, number: int, bits: int) -> None:
        self.wire, self.converted, self.bits = wire, False, bits
        name = f"28-0000{master:04x}{number:04x}"
        self.home = wire.home / name
        self.home.mkdir()
        (self.home / "resolution").write_text(f"{bits}\n")
        (self.home / "ext_power").write_text("1\n" if wire.external else "0\n")
        os.mkfifo(self.home / "w1_slave")
        (wire.home.parent / name).symlink_to(self.home.relative_to(wire.home.parent))
        self.random = random.Random(name)
        Thread(target=self.serve, daemon=True).start()

    def serve(self) -> None:
        path = self.home / "w1_slave"
        while True:
            with path.open("wb", buffering=0) as file:  # waits for a reader
                fresh_pipe(path)
                file.write(self.read())

    def read(self) -> bytes:
        self.take_resolution()
        if not self.converted:
            self.convert()
        self.converted = False
        with self.wire.lock:
            time.sleep(self.random.uniform(*BYTES_S))
        return text_for(None, Part(self.bits), 320 + self.random.randrange(3))

    def convert(self) -> None:
        with self.wire.lock:
            time.sleep(COMMAND_S)
            if not self.wire.external:
                time.sleep(CONVERSION_S[self.bits])
        if self.wire.external:
            time.sleep(CONVERSION_S[self.bits])

    def take_resolution(self) -> None:
        """A write to the real file would have taken its time; take it at the next read."""
        asked = int((self.home / "resolution").read_text())
        if asked != self.bits:
            self.bits = asked
            with self.wire.lock:
                time.sleep(WRITE_S)


def fresh_pipe(path: Path) -> None:
    """Put a new pipe in the place of one that has its reader."""
    fresh = path.with_name("fresh")
    os.mkfifo(fresh)
    fresh.replace(path)


def main() -> None:
    """Lay the bus out and stay."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--masters", type=int, default=1)
    parser.add_argument("--probes", type=int, default=8, help="on each master")
    parser.add_argument("--bits", type=int, default=12)
    parser.add_argument("--no-bulk", action="store_true")
    parser.add_argument("--parasite", action="store_true")
    args = parser.parse_args()
    for number in range(1, args.masters + 1):
        Wire(args.folder, number, args)
    print("ready", flush=True)
    while True:
        time.sleep(3600)


if __name__ == "__main__":
    main()
