"""Which thermometers hang on which master: w1thermsensor's knowledge of the one-wire tree."""

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

# Set before the import: else it loads kernel modules, and fails where there is no bus.
os.environ["W1THERMSENSOR_NO_KERNEL_MODULE"] = "1"

from w1thermsensor import Sensor, W1ThermSensor, W1ThermSensorError

_ID = re.compile(r"[0-9a-f]{2}-[0-9a-f]+")
_MASTER = "w1_bus_master"


@dataclass(frozen=True, slots=True)
class Found:
    """A thermometer on the bus."""

    probe_id: str
    family: int
    kind: str  # "DS18B20"; "DS1825/MAX31850K" where the family is shared
    home: Path  # its folder
    master: str  # "w1_bus_master1"


class Tree:
    """A folder laid out as /sys/bus/w1/devices."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        # w1thermsensor keeps the folder on the class; a class of our own leaves others alone.
        self._sensors: Any = type("Sensors", (W1ThermSensor,), {"BASE_DIRECTORY": folder})

    def thermometers(self) -> tuple[Found, ...]:
        """Look at the folder now, without a word on the bus; OSError where it cannot be read."""
        return tuple(self._look())

    def masters(self) -> tuple[str, ...]:
        """Name the masters."""
        return tuple(sorted(path.name for path in self.folder.glob(f"{_MASTER}[0-9]*")))

    def resolution_bits(self, found: Found) -> int | None:
        """Ask a part for its resolution by a reading of its own, which takes a conversion."""
        try:
            return int(self._sensor(found.probe_id).get_resolution())
        except (W1ThermSensorError, IndexError, ValueError):  # silent, or a torn text
            return None

    def _look(self) -> Iterator[Found]:
        for name in sorted(path.name for path in self.folder.iterdir()):
            if not _ID.fullmatch(name):
                continue
            try:
                sensor = self._sensor(name)
            except (W1ThermSensorError, ValueError):  # no file yet; no thermometer
                continue
            home = self.folder / name
            yield Found(name, sensor.type.value, _kinds(sensor.type), home, self._master_of(home))

    def _sensor(self, probe_id: str) -> Any:
        family, _, number = probe_id.partition("-")
        return self._sensors(Sensor.from_id_string(family), number)

    def _master_of(self, home: Path) -> str:
        """Follow the kernel's link into the master's folder; a plain copy has a list instead."""
        above = Path(os.path.realpath(home)).parent.name
        if above.startswith(_MASTER):
            return above
        for master in self.masters():
            listed = self.folder / master / "w1_master_slaves"
            if listed.is_file() and home.name in listed.read_text().split():
                return master
        return next(iter(self.masters()), f"{_MASTER}1")


def _kinds(family: Any) -> str:
    return "/".join(name for name, kind in Sensor.__members__.items() if kind is family)
