"""A one-wire bus made of files: an ordinary driver that writes the kernel's own texts.

It keeps a folder laid out as /sys/bus/w1/devices, every file changed by a temporary file and a
rename in the same folder, so that a reader never sees half a text unless it is told to:

    FOLDER/w1_bus_master1/28-.../{w1_slave,resolution,conv_time,ext_power,name}
    FOLDER/w1_bus_master1/{w1_master_name,w1_master_slaves,w1_master_slave_count,w1_master_search}
    FOLDER/w1_bus_master1/therm_bulk_read      where bulk conversion is offered
    FOLDER/28-... -> w1_bus_master1/28-...
    FOLDER/../iio/iio:device0/{name,in_pressure_input}      where there is a barometer
    FOLDER/../iio/iio:device1/{name,in_voltage0_raw,in_voltage_scale}       where there is a scale
    FOLDER/../control/                         faults on command, see `control.py`

What plain files can do is done: `resolution` takes a number, and `therm_bulk_read` takes
`trigger` and soon reads 1. What they cannot: a write to `therm_bulk_read` returns at once, so
the answer comes with the next `answer()` and a reader has to look again; and reading a probe
does not set it back to 0. Slow and hanging probes are pipes, so their reads truly block.
"""

import shutil
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from time import monotonic

from logger.bus import control
from logger.bus.faults import Fault
from logger.bus.simulated_probe import SimulatedProbe, Slave, put
from logger.errors import BusError

__all__ = ["SimulatedBarometer", "SimulatedBus", "SimulatedProbe", "SimulatedScale"]


@dataclass(frozen=True, slots=True)
class SimulatedBarometer:
    """A barometer chip and the pressure it feels: hPa at a second of the scenario."""

    pressure_hpa: Callable[[float], float]
    chip: str = "bmp280"


@dataclass(frozen=True, slots=True)
class SimulatedScale:
    """A load cell on its converter: the millivolts it gives at a second of the scenario."""

    millivolt: Callable[[float], float]
    chip: str = "hx711"
    millivolt_per_step: float = 2.5e-6  # of 24 bits, 5 V, amplified 128 times: near enough


class SimulatedBus:
    """Keeps the folder: `step` writes what the probes feel, `fault` makes one fail.

    Somebody must call `answer` often where there are slow probes, or masters that offer bulk
    conversion (`bulk` names them), and `obey` where other processes may ask for faults.
    """

    def __init__(
        self,
        folder: Path,
        probes: Sequence[SimulatedProbe],
        *,
        barometer: SimulatedBarometer | None = None,
        scale: SimulatedScale | None = None,
        bulk: Collection[int] = (),
        t_s: float = 0.0,
        now_s: Callable[[], float] = monotonic,
    ) -> None:
        self.folder = folder
        self._t_s = t_s
        self._probes = {probe.probe_id: Slave(probe, folder, t_s, now_s) for probe in probes}
        self._barometer, self._scale = barometer, scale
        self._masters = {
            folder / f"w1_bus_master{number}": [p.probe_id for p in probes if p.master == number]
            for number in sorted({probe.master for probe in probes})
        }
        self._bulk = {folder / f"w1_bus_master{number}" for number in bulk}
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
            put(self._iio(0) / "in_pressure_input", f"{kilopascal:.9f}\n".encode())
        if self._scale is not None:
            steps = round(self._scale.millivolt(t_s) / self._scale.millivolt_per_step)
            put(self._iio(1) / "in_voltage0_raw", f"{steps}\n".encode())
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
        for master in self._bulk:
            trigger = master / "therm_bulk_read"
            if trigger.read_bytes().startswith(b"trigger\n"):
                put(trigger, b"1\n")

    def obey(self) -> None:
        """Take over the faults that the control folder asks for."""
        before, self._ordered = self._ordered, control.wanted(self.control, tuple(self._probes))
        for probe_id in before.keys() | self._ordered.keys():
            if before.get(probe_id) is not self._ordered.get(probe_id):
                self.fault(probe_id, self._ordered.get(probe_id))

    def close(self) -> None:
        """Take everything off the bus, as a driver that is unloaded: nothing is left to be read.

        The folder stays; faults asked for are forgotten.
        """
        for slave in self._probes.values():
            slave.vanish()
        homes = [*self._masters, self._iio(0), self._iio(1)]
        for home in homes:
            if home.exists():
                shutil.rmtree(home)
        for asked in self.control.iterdir():
            asked.unlink(missing_ok=True)

    def _iio(self, number: int) -> Path:
        return self.folder.parent / "iio" / f"iio:device{number}"

    def _lay_out(self) -> None:
        for master, members in self._masters.items():
            master.mkdir(parents=True, exist_ok=True)
            put(master / "w1_master_name", f"{master.name}\n".encode())
            put(master / "w1_master_slaves", "".join(f"{m}\n" for m in members).encode())
            put(master / "w1_master_slave_count", f"{len(members)}\n".encode())
            put(master / "w1_master_search", b"-1\n")
            if master in self._bulk:
                put(master / "therm_bulk_read", b"0\n")
            else:
                (master / "therm_bulk_read").unlink(missing_ok=True)
        if self._barometer is not None:
            self._iio(0).mkdir(parents=True, exist_ok=True)
            put(self._iio(0) / "name", f"{self._barometer.chip}\n".encode())
        if self._scale is not None:
            self._iio(1).mkdir(parents=True, exist_ok=True)
            put(self._iio(1) / "name", f"{self._scale.chip}\n".encode())
            step = f"{self._scale.millivolt_per_step:.12f}\n"
            put(self._iio(1) / "in_voltage_scale", step.encode())
        self.control.mkdir(exist_ok=True)
        self.step(self._t_s)
