"""Which thermometers hang on which master: w1thermsensor's knowledge of the one-wire tree."""

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

# Set before the import: else it loads kernel modules, and fails where there is no bus.
os.environ["W1THERMSENSOR_NO_KERNEL_MODULE"] = "1"

from w1thermsensor import W1ThermSensor  # noqa: E402

_ID = re.compile(r"[0-9a-f]{2}-[0-9a-f]+", re.IGNORECASE)
_MASTER = "w1_bus_master"


@dataclass(frozen=True, slots=True)
class Found:
    """A thermometer on the bus."""

    probe_id: str
    family: int
    kind: str  # "DS18B20"
    home: Path  # its folder
    master: str  # "w1_bus_master1"


class Tree:
    """A folder laid out as /sys/bus/w1/devices."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        # w1thermsensor keeps the folder on the class; a class of our own leaves others alone. A
        # folder without its file yet must not hide the others, so existence is asked afterwards.
        here = {"BASE_DIRECTORY": folder, "exists": lambda _: True}
        self._sensors: Any = type("Sensors", (W1ThermSensor,), here)

    def thermometers(self) -> tuple[Found, ...]:
        """Look at the folder now, without a word on the bus; none if it cannot be read."""
        try:
            return tuple(sorted(self._look(), key=lambda found: found.probe_id))
        except OSError:
            return ()

    def masters(self) -> tuple[str, ...]:
        """Name the masters."""
        return tuple(sorted(path.name for path in self.folder.glob(f"{_MASTER}[0-9]*")))

    def _look(self) -> Iterator[Found]:
        for sensor in self._sensors.get_available_sensors():
            probe_id = f"{sensor.slave_prefix}{sensor.id}"
            if _ID.fullmatch(probe_id) and W1ThermSensor.exists(sensor):
                home = self.folder / probe_id
                yield Found(probe_id, sensor.type.value, sensor.name, home, self._master_of(home))

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
