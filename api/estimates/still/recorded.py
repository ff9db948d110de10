"""What the record says of a run, learned from when its time comes."""

from collections.abc import Callable
from math import exp, hypot, log
from typing import TYPE_CHECKING, Final

import numpy as np

from api.estimates.ground import JarGround, Measured, SpoutReading
from api.estimates.still import words
from api.estimates.still.learning import CONTRADICTS_Z, Surprise, learn, surprise
from api.estimates.still.members import Row, begins_with_w, marked_heat
from api.estimates.still.motion import collected, first_abv
from calc.arrays import median
from calc.quantities import FloatArray
from calc.run_balance import unlogit

if TYPE_CHECKING:
    from api.estimates.still.following import Follower

_SAMPLE_ABV: Final = 0.3  # what a sample lags behind the spout
_JAR_ABV: Final = 0.2
_POURED: Final = 0.005  # of a jar's volume, left in it and spilled
_LOOSER: Final = 0.15
_ARM_OPEN: Final = 0.3  # logit, some 7 % vol; common practice, no source
_DROP_ERROR: Final = 0.2  # of what stays between pot and receiver, when a first drop is marked


class Recorded:
    """The facts of a run that are yet to be learned from, in order."""

    def __init__(self, follower: "Follower", hour: Callable[[int], str]) -> None:
        run = follower.run
        self._follower, self._hour = follower, hour
        self.readings = 0  # of the spout, believed
        self._spout = sorted(run.spout, key=lambda one: one.slot)
        self._starts = sorted(run.jars, key=lambda one: one.from_slot)
        self._filling: list[JarGround] = []
        self._began: dict[int, tuple[FloatArray, FloatArray]] = {}  # by the slot, of earlier jars
        self._under: int | None = None  # when the one was begun whose beginning is in the members
        self._powers = sorted(run.powers_w)
        self._power_w: float | None = None
        self._on = False
        self._first_drop = run.first_drop_slot
        self._odd: tuple[str, bool] | None = None  # the last strength was: what of, and too high

    def resumed(self, follower: "Follower") -> "Recorded":
        """Return the same for a follower that stands where this one does, by its own record.

        What lies behind is learned, but for what came while nothing could be: that still waits.
        """
        other = Recorded(follower, self._hour)
        slot = follower.slot
        other.readings, other._power_w, other._on = self.readings, self._power_w, self._on
        other._odd = self._odd
        other._spout = [one for one in other._spout if one.slot > slot or one in self._spout]
        other._powers = [one for one in other._powers if one[0] > slot]
        wait = {one.from_slot for one in self._starts}
        begun = [
            one for one in other._starts if one.from_slot <= slot and one.from_slot not in wait
        ]
        other._starts = [one for one in other._starts if one not in begun]
        fills = {one.from_slot for one in self._filling}
        other._filling = [
            one
            for one in begun
            if one.to_slot is not None and (one.to_slot > slot or one.from_slot in fills)
        ]
        other._began, other._under = dict(self._began), self._under
        if self._first_drop is None and (other._first_drop or slot) <= slot:
            other._first_drop = None
        return other

    def heat_on(self, slot: int) -> bool | None:
        """Say whether the heat is marked on or off; None where nobody marked it."""
        while self._powers and self._powers[0][0] <= slot:
            _, power_w = self._powers.pop(0)
            self._change(power_w)
            self._on = power_w > 0.0
        off = self._follower.run.heat_off_slot
        if off is not None and slot >= off:
            return False
        return None if self._power_w is None else self._on

    def _change(self, power_w: float) -> None:
        before = self._power_w
        self._power_w = power_w or before or 0.0
        follower = self._follower
        if before is None and power_w > 0.0 and begins_with_w(follower.run) is None:
            follower.s[Row.LN_HEAT] = marked_heat(follower.still, follower.chance, power_w)
        elif before and power_w > 0.0:
            change = log(power_w / before)
            follower.s[Row.LN_HEAT] += change + follower.chance.noise(0.03 * abs(change))

    def when_begun(self, jar: JarGround) -> tuple[FloatArray, FloatArray]:
        """Return what the members had collected when a jar was begun."""
        if jar.from_slot == self._under:
            s = self._follower.s
            return s[Row.BEGUN_ETHANOL], s[Row.BEGUN_WATER]
        return self._began[jar.from_slot]

    def learn(self, boiling: FloatArray) -> None:
        """Learn from everything whose time has come."""
        slot = self._follower.slot
        if self._first_drop is not None and slot >= self._first_drop:
            self._first_drop = None
            self._drop()
        while self._spout and self._spout[0].slot <= slot:
            self._follower.settle(boiling)
            self._read(self._spout.pop(0))
        self._end(slot, boiling)  # before the next is begun, which begins with what is learned
        while self._starts and self._starts[0].from_slot <= slot:
            self._start(self._starts.pop(0))
            self._end(slot, boiling)

    def _end(self, slot: int, boiling: FloatArray) -> None:
        ended = [jar for jar in self._filling if jar.to_slot is not None and jar.to_slot <= slot]
        for jar in ended:
            self._filling.remove(jar)
            self._follower.settle(boiling)
            self._jar(jar)

    def _drop(self) -> None:
        s = self._follower.s
        over = s[Row.ETHANOL_OVER] + s[Row.WATER_OVER]
        if float(over.mean()) > 0.0:
            learn(s, np.log(np.maximum(over, 0.01)) - s[Row.LN_FILL], 0.0, _DROP_ERROR)

    def _start(self, jar: JarGround) -> None:
        follower = self._follower
        s = follower.s
        if self._under is not None:
            self._began[self._under] = s[Row.BEGUN_ETHANOL].copy(), s[Row.BEGUN_WATER].copy()
        s[Row.BEGUN_ETHANOL], s[Row.BEGUN_WATER] = collected(s, follower.frame, follower.now())
        self._under = jar.from_slot
        if jar.to_slot is not None:
            self._filling.append(jar)

    def _read(self, reading: SpoutReading) -> None:
        follower = self._follower
        frame, s = follower.frame, follower.s
        error = hypot(reading.abv.error, _SAMPLE_ABV)

        def said() -> FloatArray:
            shown: FloatArray = unlogit(follower.now().top + s[Row.ARM])
            return np.asarray(frame.boiling.strength_abv(shown))

        found = surprise(said(), reading.abv.value, error)
        why = words.READING_CONTRADICTS.format(
            abv=reading.abv.value, hour=self._hour(reading.slot), expected=found.expected
        )
        if self._fits(found, f"spout {reading.slot}", why):
            self.readings += 1
            learn(s, said(), reading.abv.value, error)

    def _fits(self, found: Surprise, key: str, why: str) -> bool:
        """Say whether a strength is to be learned from; one that contradicts the rest is named.

        Two in a row that are off to the same side agree with each other: then it is the rest that
        is wrong, and what the spout is beside the head is open again.
        """
        follower, before = self._follower, self._odd
        if abs(found.z) <= CONTRADICTS_Z:
            self._odd = None
            return True
        follower.doubts[key], self._odd = why, (key, found.z > 0.0)
        if before is None or before[1] != self._odd[1]:
            return False
        for one in (before[0], key):
            follower.doubts.pop(one, None)
        follower.doubts["strengths"] = words.STRENGTHS_AGREE
        follower.s[Row.ARM] += follower.chance.noise(_ARM_OPEN)
        return True

    def _jar(self, jar: JarGround) -> None:
        if jar.volume_l is not None:
            self._learn_volume(jar, jar.volume_l)
        if jar.abv is not None:
            self._learn_strength(jar, jar.abv)

    def _in_jar(self, jar: JarGround) -> tuple[FloatArray, FloatArray]:
        """Return moles in a jar and the ethanol's share of them."""
        follower = self._follower
        ethanol, water = collected(follower.s, follower.frame, follower.now())
        began = self.when_begun(jar)
        drawn = np.maximum(ethanol - began[0], 1e-6)
        moles = drawn + np.maximum(water - began[1], 1e-6)
        return moles, drawn / moles

    def _learn_volume(self, jar: JarGround, measured: Measured) -> None:
        follower = self._follower
        moles, share = self._in_jar(jar)
        said = np.log(moles * follower.frame.boiling.litres_mol(share) + 1e-3)
        said += follower.s[Row.LN_MEASURE]
        litres = max(measured.value, 1e-3)
        error = hypot(measured.error / litres, _POURED)
        found = surprise(said, log(litres), error)
        if abs(found.z) > CONTRADICTS_Z:
            why = self._contradicts(jar, _litres(litres), _litres(exp(found.expected)))
            follower.doubts[f"jar {jar.from_slot}"] = f"{why} {words.HEAT_CHANGED}"
            follower.s[Row.LN_HEAT] += follower.chance.noise(_LOOSER)  # the next may fit
        else:
            learn(follower.s, said, log(litres), error)

    def _learn_strength(self, jar: JarGround, measured: Measured) -> None:
        follower = self._follower
        moles, share = self._in_jar(jar)
        before = sum(self.when_begun(jar), np.zeros(()))
        first, first_error = first_abv(follower.s, follower.frame, before, before + moles)
        said = follower.frame.boiling.strength_abv(share) + first
        error = hypot(measured.error, _JAR_ABV, float(median(first_error)))
        found = surprise(said, measured.value, error)
        why = self._contradicts(jar, f"{measured.value:.1f} % vol", f"{found.expected:.0f} % vol")
        if self._fits(found, f"jar strength {jar.from_slot}", why):
            learn(follower.s, said, measured.value, error)

    def _contradicts(self, jar: JarGround, value: str, expected: str) -> str:
        hour = self._hour(jar.from_slot)
        return words.JAR_CONTRADICTS.format(value=value, hour=hour, expected=expected)


def _litres(value: float) -> str:
    """Say litres as a jar shows them: to three figures, and no finer than 10 mL."""
    return f"{round(value, 2):.3g} L"
