"""Linux IIO channels as series: barometers, thermocouples, scales, flow meters.

Source: Linux Documentation/ABI/testing/sysfs-bus-iio. A channel shows `in_<channel>_input`, or
`in_<channel>_raw` with `_scale` and `_offset`: (raw + offset) x scale. Pressures are in
kilopascal, temperatures in millidegrees Celsius.
"""

from collections.abc import Sequence
from errno import ENODEV, ENXIO
from functools import partial
from math import isfinite
from pathlib import Path
from time import monotonic

from logger.bus.channel import Channel, without_number
from logger.bus.inventory import ProbeFacts
from logger.bus.lanes import Lane, Lanes
from logger.bus.rtd import RTD_CHIP, RTD_CODES, celsius
from logger.errors import BusError
from logger.reading import Grade, Reading

__all__ = ["Channel", "IioBus", "read_channel"]


class IioBus:
    """Reads the chosen channels; one that fails is a reading with a grade, and delays no other."""

    def __init__(self, channels: Sequence[Channel]) -> None:
        for channel in channels:
            _check(channel)  # what is missing is said at start
        self._lanes = Lanes()
        self._channels = [(channel, Lane(f"iio {channel.series.probe_id}")) for channel in channels]
        self.sweep_s = 0.0

    def read_scan(self, *, deadline_s: float) -> tuple[Reading, ...]:
        """Read every channel; block at most `deadline_s`."""
        began_s = monotonic()
        readings = {
            channel.series: Reading(channel.series, Grade.TIMED_OUT, None)
            for channel, _ in self._channels
        }

        def keep(reading: Reading) -> None:
            readings[reading.series] = reading
            self.sweep_s = monotonic() - began_s

        self._lanes.begin()
        for channel, lane in self._channels:
            if not lane.busy:
                self._lanes.ask(lane, partial(read_channel, channel), keep)
        self._lanes.run_until(began_s + deadline_s)
        return tuple(readings.values())

    def facts(self) -> tuple[ProbeFacts, ...]:
        """Tell of each channel, as of a probe."""
        return tuple(
            ProbeFacts(
                channel.series.probe_id,
                channel.device,
                "iio",
                resolution_bits=None,
                supply="external",
                likely_copy=False,
                bulk=False,
            )
            for channel, _ in self._channels
        )

    def close(self) -> None:
        """Stop the threads that can be stopped."""
        for _, lane in self._channels:
            lane.close()


def read_channel(channel: Channel) -> Reading:
    """Read one channel now; may block as long as the kernel does."""
    try:
        value = _value(channel)
    except BusError:
        return Reading(channel.series, Grade.GONE, None)
    except OSError as error:
        gone = isinstance(error, FileNotFoundError) or error.errno in {ENODEV, ENXIO}
        return Reading(channel.series, Grade.GONE if gone else Grade.EMPTY, None)
    except ValueError:
        return Reading(channel.series, Grade.TORN, None)
    return _graded(channel, value)


def _graded(channel: Channel, value: float | None) -> Reading:
    if value is None:
        return Reading(channel.series, Grade.EMPTY, None)
    low, high = channel.limits
    if not (isfinite(value) and low <= value <= high):
        return Reading(channel.series, Grade.OUT_OF_RANGE, None)
    return Reading(channel.series, Grade.OK, round(value * channel.series.counts_per_unit))


def _value(channel: Channel) -> float | None:
    """Give the value in the quantity's unit, or None where the kernel shows nothing."""
    stem = f"in_{channel.channel}"
    home = _locate(channel)
    if channel.reference_ohm:
        code = _number(home / f"{stem}_raw")
        return None if code is None else celsius(code / RTD_CODES * channel.reference_ohm)
    if (home / f"{stem}_input").exists():
        shown = _number(home / f"{stem}_input")
    else:
        shown = _scaled(home, stem)
    return None if shown is None else channel.value(shown)


def _scaled(home: Path, stem: str) -> float | None:
    """Apply `_scale` and `_offset`, the channel's own or those it shares with its kind."""
    raw = _number(home / f"{stem}_raw")
    scale, offset = (
        next(
            (
                _number(path)
                for s in (stem, without_number(stem))
                if (path := home / f"{s}_{what}").exists()
            ),
            default,
        )
        for what, default in (("scale", 1.0), ("offset", 0.0))
    )
    if raw is None or scale is None or offset is None:
        return None
    return (raw + offset) * scale


def _number(path: Path) -> float | None:
    text = path.read_text()
    return float(text) if text.strip() else None


def _locate(channel: Channel) -> Path:
    """Find the chip's folder, whose number may change from one start to the next."""
    try:
        homes = sorted(channel.folder.iterdir())
    except OSError as error:
        raise BusError(
            f"The settings name the IIO channel {channel.device} {channel.channel}, but "
            f"{channel.folder} cannot be read ({error.strerror}): load the chip's overlay."
        ) from error
    shows = [f"in_{channel.channel}_input", f"in_{channel.channel}_raw"]
    for home in homes:
        known = channel.device in {home.name, _word(home / "name"), _word(home / "label")}
        if known and any((home / file).exists() for file in shows):
            return home
    raise BusError(
        f"There is no IIO channel {channel.device} {channel.channel} under {channel.folder}: "
        f"none of its {len(homes)} devices has that name and a file {' or '.join(shows)}."
    )


def _check(channel: Channel) -> None:
    chip = _word(_locate(channel) / "name")
    if chip == RTD_CHIP and not channel.reference_ohm:
        raise BusError(
            f"The IIO channel {channel.device} {channel.channel} is a {RTD_CHIP}, which shows a "
            "ratio of resistances and no temperature: give the reference_ohm of its board in the "
            "settings (430 on most boards for Pt100)."
        )


def _word(path: Path) -> str | None:
    try:
        return path.read_text().strip()
    except OSError:
        return None
