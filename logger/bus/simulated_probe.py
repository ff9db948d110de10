"""One simulated thermometer: what it feels, its kernel files, and the fault it is under."""

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf
from pathlib import Path

from logger.bus.faults import Fault, Part, text_for
from logger.bus.noise import noise
from logger.bus.pipes import SlowPipe

SLOW_S = 0.75  # one conversion at 12 bit
_TICKS_PER_S = 4  # noise changes so often in the scenario's time


@dataclass(frozen=True, slots=True)
class SimulatedProbe:
    """A thermometer and what it feels: °C at a second of the scenario."""

    probe_id: str
    temperature_c: Callable[[float], float]
    master: int = 1
    external: bool = True  # supplied by a wire of its own
    genuine: bool = True
    resolution_bits: int = 12
    noise_c: float = 0.035
    seed: int = 1

    def raw_at(self, t_s: float, bits: int) -> int:
        """Give what it converts to, in 1/16 °C; bits below the resolution hold anything."""
        felt = self.temperature_c(t_s)
        felt += self.noise_c * noise(self.seed, self.probe_id, int(t_s * _TICKS_PER_S))
        raw = min(max(round(felt * 16), -55 * 16), 125 * 16)
        undefined = (1 << (12 - bits)) - 1
        return (raw & ~undefined) | (int(t_s * 7) & undefined)


class Slave:
    """One probe's folder, and the fault it is under."""

    def __init__(
        self, probe: SimulatedProbe, folder: Path, t_s: float, now_s: Callable[[], float]
    ) -> None:
        self._probe = probe
        self._home = folder / f"w1_bus_master{probe.master}" / probe.probe_id
        self._link = folder / probe.probe_id
        self._part = Part(probe.resolution_bits, genuine=probe.genuine)
        self._now_s = now_s
        self._fault: Fault | None = None
        self._raw = probe.raw_at(t_s, probe.resolution_bits)
        self._pipe: SlowPipe | None = None
        self._shown: bytes | None = None
        self._appear()

    def step(self, t_s: float) -> None:
        """Show what it feels at a second of the scenario."""
        if self._fault is Fault.VANISHED:
            return
        self._take_resolution()
        if self._fault is not Fault.STUCK:
            self._raw = self._probe.raw_at(t_s, self._part.resolution_bits)
        if self._pipe is None:
            self._show(self._fault)

    def set_fault(self, fault: Fault | None, t_s: float) -> None:
        """Begin to fail, or heal."""
        if fault is self._fault:
            return
        before, self._fault = self._fault, fault
        if fault is Fault.VANISHED:
            self.vanish()
            return
        if before is Fault.VANISHED:
            self._appear()
        if fault is Fault.POWER_ON:
            self._wake()
        old, self._pipe = self._pipe, None
        if fault in {Fault.SLOW, Fault.HANG}:
            delay_s = SLOW_S if fault is Fault.SLOW else inf
            self._pipe = SlowPipe(self._home / "w1_slave", delay_s, self._now_s)
            self._shown = None  # the pipe has taken the file's place
        self.step(t_s)
        if old is not None:
            old.release()

    def answer(self) -> None:
        """Meet the readers of a slow or hanging probe."""
        if self._pipe is not None:
            self._pipe.answer(text_for(self._fault, self._part, self._raw))

    def _show(self, fault: Fault | None) -> None:
        """Write the text where it is news: a rename costs a disk more than it looks."""
        text = text_for(fault, self._part, self._raw)
        if text != self._shown:
            put(self._home / "w1_slave", text)
        self._shown = text

    def vanish(self) -> None:
        """Go from the bus; readers that wait are let go."""
        self._link.unlink(missing_ok=True)
        shutil.rmtree(self._home, ignore_errors=True)
        if self._pipe is not None:
            self._pipe.release()
            self._pipe = None

    def _appear(self) -> None:
        """Come up as a part does when plugged in."""
        self._shown = None
        self._home.mkdir(parents=True, exist_ok=True)
        put(self._home / "name", f"{self._probe.probe_id}\n".encode())
        put(self._home / "ext_power", b"1\n" if self._probe.external else b"0\n")
        self._wake()
        self._show(None)
        if not self._link.is_symlink():
            self._link.symlink_to(self._home.relative_to(self._link.parent))

    def _wake(self) -> None:
        """Begin with the resolution kept in the part's EEPROM, whatever it was set to."""
        self._part = replace(self._part, resolution_bits=self._probe.resolution_bits)
        self._show_resolution()

    def _show_resolution(self) -> None:
        put(self._home / "resolution", f"{self._part.resolution_bits}\n".encode())
        put(self._home / "conv_time", f"{self._part.conversion_ms}\n".encode())

    def _take_resolution(self) -> None:
        asked = (self._home / "resolution").read_bytes().strip()
        if asked == str(self._part.resolution_bits).encode():
            return
        if asked in {b"9", b"10", b"11", b"12"}:
            self._part = replace(self._part, resolution_bits=int(asked))
        self._show_resolution()


def put(path: Path, content: bytes) -> None:
    """Change a file so that a reader sees all of the old or all of the new."""
    fresh = path.with_name(f".{path.name}.new")
    fresh.write_bytes(content)
    os.replace(fresh, path)  # noqa: PTH105 - the plain call: this runs hundreds of times a second
