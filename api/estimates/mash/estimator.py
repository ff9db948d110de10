"""The mash estimator: how long a rest has been held, when it falls out, and what brings it back.

There is no filter: a rest is short and its temperature is measured. What is not known is drawn
once, in a fixed sample: what the probe is wrong by, how sure the rate is that a straight line over
the last minutes gives, and what the vessel takes up besides the mash. Every answer is worked out
for each of the sample, and its quantiles are the bands. Readings are kept from the beginning, so
that a rest whose range or time is corrected is told anew from the same readings. While nothing is
read it is taken to have gone on at its rate, less and less surely; after a gap only what was read
since tells how it is now.
"""

from collections.abc import Iterable, Mapping
from typing import Final

import numpy as np

from api.estimates.estimate import Estimate
from api.estimates.estimator import Step
from api.estimates.ground import MashGround, ProbeGround, RestGround
from api.estimates.mash import words
from api.estimates.mash.adding import heat_kj, water_l
from api.estimates.mash.going import going
from api.estimates.mash.readings import Readings
from api.estimates.mash.resting import fall_out, rest_minutes, unread, was_unread
from api.estimates.mash.sample import Sample, drawn

QUANTITIES: Final = ("rest_minutes", "minutes_to_fall_out", "heat_to_add_kj", "water_to_add_l")
SILENT_MIN: Final = 15.0


class MashEstimator:
    """Tells what a mash's temperatures mean."""

    def __init__(self) -> None:
        self._ground: MashGround | None = None
        self._sample: Sample = drawn(ProbeGround())
        self._readings = Readings()
        self._told: tuple[Estimate, ...] | None = None

    def know(self, ground: MashGround, probes: Mapping[str, ProbeGround]) -> None:
        """Take what the record says now; what it says of the past may have changed."""
        self._ground = ground
        self._sample = drawn(probes.get("mash", ProbeGround()))
        self._told = None

    def see(self, steps: Iterable[Step]) -> None:
        """Take steps, newest last."""
        for step in steps:
            self._readings.take(step)
            self._told = None

    def tell(self) -> tuple[Estimate, ...]:
        """Return every quantity as of the newest step."""
        if self._told is None:
            self._told = self._tell()
        return self._told

    def _tell(self) -> tuple[Estimate, ...]:
        ground, readings = self._ground, self._readings
        if ground is None or readings.newest_slot is None:
            return _cannot(words.NOTHING_YET)
        if readings.impossible_c is not None:
            return _cannot(words.IMPOSSIBLE.format(shown_c=readings.impossible_c))
        if readings.read_slot is None:
            return _cannot(words.NOTHING_YET)
        rest = _rest_at(ground, readings.newest_slot)
        if rest is None:
            return _cannot(words.NO_REST)
        if not rest.low_c < rest.high_c:
            return _cannot(words.BAD_RANGE.format(low_c=rest.low_c, high_c=rest.high_c))
        return self._of(ground, rest, readings.read_slot)

    def _of(self, ground: MashGround, rest: RestGround, read_slot: int) -> tuple[Estimate, ...]:
        readings, sample = self._readings, self._sample
        stretch = readings.since(rest.from_slot)
        held = rest_minutes(stretch, rest, sample, readings.newest_slot or read_slot)
        silent_min = ((readings.newest_slot or read_slot) - read_slot) / 60.0
        if silent_min > SILENT_MIN or not stretch.slots.size:
            why = words.SILENT.format(minutes=silent_min)
            return (held, *_cannot(why)[1:])
        newest = stretch.on_end()
        way = going(newest)
        falls = fall_out(way, rest, sample, readings.room_c, silent_min)
        if way is None and was_unread(silent_min):
            return (held, falls, *_cannot(words.SILENT.format(minutes=silent_min))[2:])
        now_c = float(np.mean(newest.mash_c[-6:])) - sample.offset_c
        if way is not None:
            now_c = now_c + way.gone_k(sample, silent_min)
        unseen = unread(silent_min)
        return (
            held,
            falls,
            heat_kj(ground, rest, sample, now_c, unseen),
            water_l(ground, rest, sample, now_c, readings.pressure_hpa, unseen),
        )


def _rest_at(ground: MashGround, slot: int) -> RestGround | None:
    """Give the rest that is held at a slot: the last that began by then and has not ended."""
    begun = [one for one in ground.rests if one.from_slot <= slot]
    if not begun:
        return None
    last = max(begun, key=lambda one: one.from_slot)
    return last if last.to_slot is None or last.to_slot > slot else None


def _cannot(why: str) -> tuple[Estimate, ...]:
    return tuple(Estimate(name, None, None, None, why) for name in QUANTITIES)
