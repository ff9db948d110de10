"""What a person could do to narrow a run's bands."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from api.estimates.still import words
from api.estimates.still.cuts import CUT_RUNS

if TYPE_CHECKING:
    from api.estimates.still.following import Follower

_ENOUGH_READINGS: Final = 3


def narrowing(follower: "Follower") -> Iterator[str]:
    """Say it, the most useful first."""
    run = follower.run
    if run.charge_volume_l is None or run.charge_abv is None:
        yield words.ENTER_CHARGE
    if follower.boiled and follower.readings < _ENOUGH_READINGS:
        yield words.READ_SPOUT
    if not follower.head_there:
        yield words.HANG_HEAD_PROBE
    for place, probe in zip(("pot", "head"), follower.probes, strict=True):
        if not probe.calibrated and (place == "pot" or follower.head_there):
            yield words.CALIBRATE.format(place=place)
    yield from words.to_know_air(follower.block)
    if not run.powers_w:
        yield words.MARK_POWER
    if run.purpose in CUT_RUNS and not any(jar.volume_l for jar in run.jars):
        yield words.READ_JARS
