"""A one-wire bus made of files: an ordinary driver that writes the kernel's own texts.

It keeps a folder laid out as /sys/bus/w1/devices, every file changed by a temporary file and a
rename in the same folder, so that a reader never sees half a text unless it is told to:

    FOLDER/w1_bus_master1/28-.../{w1_slave,resolution,conv_time,ext_power,name}
    FOLDER/w1_bus_master1/{w1_master_name,w1_master_slaves,w1_master_slave_count,w1_master_search}
    FOLDER/w1_bus_master1/therm_bulk_read      where bulk conversion is offered
    FOLDER/28-... -> w1_bus_master1/28-...
    FOLDER/../iio/iio:device0/{name,in_pressure_input}      where there is a barometer
    FOLDER/../control/                         faults on command, see `control.py`

What plain files can do is done: `resolution` takes a number, and `therm_bulk_read` takes
`trigger` and soon reads 1. What they cannot: a write to `therm_bulk_read` returns at once, so
the answer comes with the next `answer()` and a reader has to look again; and reading a probe
does not set it back to 0. Slow and hanging probes are pipes, so their reads truly block.
"""

import os
import shutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf
from pathlib import Path
from threading import Event
from time import monotonic

from logger.bus import control
from logger.bus.curves import noise
from logger.bus.faults import Fault, Part, text_for
from logger.bus.pipes import SlowPipe
from logger.errors import BusError

SLOW_S = 0.75  # one conversion at 12 bit
_PATIENCE_S = 0.02  # how soon commands are answered
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


@dataclass(frozen=True, slots=True)
class SimulatedBarometer:
    """A barometer chip and the pressure it feels: hPa at a second of the scenario."""

    pressure_hpa: Callable[[float], float]
    chip: str = "bmp280"


class SimulatedBus:
    """Keeps the folder: `step` writes what the probes feel, `fault` makes one fail."""

    def __init__(
        self,
        folder: Path,
        probes: Sequence[SimulatedProbe],
        *,
        barometer: SimulatedBarometer | None = None,
        bulk: bool = False,
        t_s: float = 0.0,
        now_s: Callable[[], float] = monotonic,
    ) -> None:
        self.folder = folder
        self._t_s = t_s
        self._probes = {probe.probe_id: _Slave(probe, folder, t_s, now_s) for probe in probes}
        self._barometer = barometer
        self._masters = {
            folder / f"w1_bus_master{number}": [p.probe_id for p in probes if p.master == number]
            for number in sorted({probe.master for probe in probes})
        }
        self._bulk = bulk
        self._ordered: dict[str, Fault] = {}
        self._lay_out()

    @property
    def control(self) -> Path:
        """The folder that takes commands from other processes."""
        return control.folder_beside(self.folder)

    def step(self, t_s: float) -> None:
        """Write what everything feels at a second of the scenario."""
        self._t_s = t_s
        for slave in self._probes.values():
            slave.step(t_s)
        if self._barometer is not None:
            kilopascal = self._barometer.pressure_hpa(t_s) / 10
            put(self._iio / "in_pressure_input", f"{kilopascal:.9f}\n".encode())
        self.answer()

    def fault(self, probe_id: str, fault: Fault | None) -> None:
        """Make a probe fail, or heal it with None."""
        if probe_id not in self._probes:
            raise BusError(
                f"There is no simulated probe {probe_id}; there are {', '.join(self._probes)}."
            )
        self._probes[probe_id].set_fault(fault, self._t_s)

    def answer(self) -> None:
        """Answer what readers have written, and those who wait at a slow probe."""
        for slave in self._probes.values():
            slave.answer()
        for master in self._masters if self._bulk else ():
            trigger = master / "therm_bulk_read"
            if trigger.read_bytes().startswith(b"trigger\n"):
                put(trigger, b"1\n")

    def obey(self) -> None:
        """Take over the faults that the control folder asks for."""
        before, self._ordered = self._ordered, control.wanted(self.control, tuple(self._probes))
        for probe_id in before.keys() | self._ordered.keys():
            if before.get(probe_id) is not self._ordered.get(probe_id):
                self.fault(probe_id, self._ordered.get(probe_id))

    def serve(self, stop: Event, *, from_s: float = 0.0, speed: float = 1.0) -> None:
        """Keep the folder in time, and obey the control folder, until told to stop."""
        began_s, stepped_s = monotonic(), float("-inf")
        while not stop.is_set():
            now_s = monotonic()
            self.obey()
            if now_s - stepped_s >= 0.5:
                stepped_s = now_s
                self.step(from_s + (now_s - began_s) * speed)
            self.answer()
            stop.wait(_PATIENCE_S)

    def close(self) -> None:
        """Take everything off the bus, as a driver that is unloaded: nothing is left to be read.

        The folder stays; faults asked for are forgotten.
        """
        for slave in self._probes.values():
            slave.vanish()
        for master in self._masters:
            shutil.rmtree(master)
        if self._barometer is not None:
            shutil.rmtree(self._iio)
        for asked in self.control.iterdir():
            asked.unlink()

    @property
    def _iio(self) -> Path:
        return self.folder.parent / "iio" / "iio:device0"

    def _lay_out(self) -> None:
        for master, members in self._masters.items():
            master.mkdir(parents=True, exist_ok=True)
            put(master / "w1_master_name", f"{master.name}\n".encode())
            put(master / "w1_master_slaves", "".join(f"{m}\n" for m in members).encode())
            put(master / "w1_master_slave_count", f"{len(members)}\n".encode())
            put(master / "w1_master_search", b"-1\n")
            if self._bulk:
                put(master / "therm_bulk_read", b"0\n")
            else:
                (master / "therm_bulk_read").unlink(missing_ok=True)
        if self._barometer is not None:
            self._iio.mkdir(parents=True, exist_ok=True)
            put(self._iio / "name", f"{self._barometer.chip}\n".encode())
        self.control.mkdir(exist_ok=True)
        self.step(self._t_s)


class _Slave:
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
        self._appear()

    def step(self, t_s: float) -> None:
        if self._fault is Fault.VANISHED:
            return
        self._take_resolution()
        if self._fault is not Fault.STUCK:
            self._raw = self._probe.raw_at(t_s, self._part.resolution_bits)
        if self._pipe is None:
            put(self._home / "w1_slave", text_for(self._fault, self._part, self._raw))

    def set_fault(self, fault: Fault | None, t_s: float) -> None:
        if fault is self._fault:
            return
        before, self._fault = self._fault, fault
        if fault is Fault.VANISHED:
            self.vanish()
            return
        if before is Fault.VANISHED:
            self._appear()
        old, self._pipe = self._pipe, None
        if fault in {Fault.SLOW, Fault.HANG}:
            delay_s = SLOW_S if fault is Fault.SLOW else inf
            self._pipe = SlowPipe(self._home / "w1_slave", delay_s, self._now_s)
        self.step(t_s)
        if old is not None:
            old.release()

    def answer(self) -> None:
        if self._pipe is not None:
            self._pipe.answer(text_for(self._fault, self._part, self._raw))

    def vanish(self) -> None:
        """Go from the bus; readers that wait are let go."""
        self._link.unlink(missing_ok=True)
        shutil.rmtree(self._home, ignore_errors=True)
        if self._pipe is not None:
            self._pipe.release()
            self._pipe = None

    def _appear(self) -> None:
        """Come up as a part does when plugged in: with the resolution it was made with."""
        self._part = replace(self._part, resolution_bits=self._probe.resolution_bits)
        self._home.mkdir(parents=True, exist_ok=True)
        put(self._home / "name", f"{self._probe.probe_id}\n".encode())
        put(self._home / "ext_power", b"1\n" if self._probe.external else b"0\n")
        self._show_resolution()
        put(self._home / "w1_slave", text_for(None, self._part, self._raw))
        if not self._link.is_symlink():
            self._link.symlink_to(self._home.relative_to(self._link.parent))

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
