"""A Linux IIO channel as the settings choose it: what it is called, measures and can measure."""

import re
from dataclasses import dataclass
from pathlib import Path

from logger.errors import SettingsError
from logger.reading import SeriesKey

SYSTEM = Path("/sys/bus/iio/devices")
_COUNT_LIMIT = 32767  # counts are kept in 16 bits


@dataclass(frozen=True, slots=True)
class _Kind:
    """What is usual for one kind of channel."""

    quantity: str
    scale: float  # the quantity's units in one of the kernel's
    counts_per_unit: int
    low: float
    high: float


# Ranges: BMP280, BME280 and BMP380 datasheets (300 hPa to 1100 or 1250 hPa); a temperature's
# ends where its counts do.
_USUAL = {
    "pressure": _Kind("pressure_hpa", 10.0, 16, 300.0, 1250.0),
    "temp": _Kind("temperature_c", 0.001, 128, -200.0, 255.0),
}


@dataclass(frozen=True, slots=True)
class Channel:
    """One IIO channel chosen in the settings; what is left out is what is usual for its kind."""

    device: str  # the chip's name ("bmp280"), its label, or its folder ("iio:device0")
    channel: str  # as in in_<channel>_input: "pressure", "temp", "voltage0"
    name: str = ""  # in the record; else "<device>-<channel>"
    quantity: str = ""  # what it measures, ending in its unit: "mass_kg", "flow_l_min"
    scale: float | None = None  # the quantity's units in one unit of the kernel's value
    offset: float = 0.0  # in the quantity's unit, added after scaling
    counts_per_unit: int | None = None  # the steps in which it is kept
    low: float | None = None  # what it can measure, in the quantity's unit
    high: float | None = None
    reference_ohm: float | None = None  # of a MAX31865, whose value is a ratio to it
    folder: Path = SYSTEM

    def __post_init__(self) -> None:
        if self._usual is None and not (self.quantity and self.scale and self.counts_per_unit):
            raise SettingsError(
                f"The IIO channel {self.device} {self.channel} is not one of the usual kinds "
                f"({', '.join(f'{kind} as {k.quantity}' for kind, k in _USUAL.items())}): give "
                "its quantity, scale and counts_per_unit."
            )
        if not re.fullmatch(r"[a-z][a-z0-9_]*", self.series.quantity):
            raise SettingsError(
                f'The quantity "{self.quantity}" of an IIO channel must be small letters that '
                "end in a unit, as in mass_kg."
            )

    @property
    def _usual(self) -> _Kind | None:
        kind = _USUAL.get(without_number(self.channel))
        return kind if kind and self.quantity in {"", kind.quantity} else None

    @property
    def series(self) -> SeriesKey:
        """The series it is kept as."""
        usual = self._usual
        quantity = self.quantity or (usual.quantity if usual else "")
        counts = self.counts_per_unit or (usual.counts_per_unit if usual else 1)
        return SeriesKey(f"iio-{self.name or f'{self.device}-{self.channel}'}", quantity, counts)

    @property
    def limits(self) -> tuple[float, float]:
        """What it can measure, and a count can hold, in the quantity's unit."""
        usual = self._usual
        room = _COUNT_LIMIT / self.series.counts_per_unit
        low = self.low if self.low is not None else (usual.low if usual else -room)
        high = self.high if self.high is not None else (usual.high if usual else room)
        return max(low, -room), min(high, room)

    def value(self, kernel_value: float) -> float:
        """Turn the kernel's value into the quantity's unit."""
        scale = self.scale or (self._usual.scale if self._usual else 1.0)
        return kernel_value * scale + self.offset


def without_number(channel: str) -> str:
    """Name the kind of a channel: voltage of voltage0."""
    return re.sub(r"\d.*$", "", channel)
