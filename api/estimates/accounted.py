"""How much of a charge's alcohol is accounted for: in the jars, under the spout, and in the pot.

What was put in must be somewhere. Vapour that escapes leaves the pot weaker and the jars no fuller;
so does what is drawn off and not written down. A charge that was entered too strong looks alike.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from api.estimates.estimate import Estimate
from api.estimates.ground import JarGround, Measured, RunGround
from api.estimates.measured import (
    COVERS_95,
    MEASURE_OTHERS,
    NO_CHARGE,
    alcohol_in,
    percent_of,
    summed,
)

QUANTITY: Final = "accounted_percent"
LEFT: Final = "alcohol_left_l"
NO_JAR: Final = "No jar has its strength read yet."
NO_POT: Final = "What is left in the pot cannot be told."
# Share of the charge's alcohol that stands between pot and receiver, and clings to what it passed.
# Common practice, no source.
BETWEEN: Final = Measured(0.015, 0.01)
EVEN: Final = 12.0**-0.5  # standard error of what lies anywhere between nothing and one
# Of jars that nobody measured or read; common practice, no source.
NOT_READ_ABV: Final = 1.5  # how far a strength lies at least from the line between its neighbours
ENDS_OFF: Final = 0.12  # of the only neighbour's, where there is one on one side alone
FASTER: Final = 1.5  # than the fastest jar that was measured: what may be under the spout
LARGER: Final = 3.0  # than the largest


def accounted_share(run: RunGround, told: Iterable[Estimate], slot: int) -> Estimate:
    """Say which part of the charge's alcohol is where somebody knows, in percent, as of a slot.

    Errors are taken as independent, as in `measured_share`. What a jar holds that is not measured
    lies anywhere between nothing and full.
    """
    charge = alcohol_in(run.charge_volume_l, run.charge_abv)
    if charge is None or charge.value <= 0.0:
        return Estimate(QUANTITY, None, None, None, NO_CHARGE)
    jars = sorted((one for one in run.jars if one.from_slot <= slot), key=lambda one: one.from_slot)
    read = sum(one.abv is not None for one in jars)
    if not read:
        return Estimate(QUANTITY, None, None, None, NO_JAR)
    left = next((one for one in told if one.quantity == LEFT), None)
    if left is None or left.value is None or left.low is None or left.high is None:
        return Estimate(QUANTITY, None, None, None, (left and left.why) or NO_POT)
    in_pot = Measured(left.value, (left.high - left.low) / (2.0 * COVERS_95))
    between = Measured(charge.value * BETWEEN.value, charge.value * BETWEEN.error)
    over = summed((*_in_jars(jars, run, slot), in_pot, between))
    return percent_of(
        QUANTITY,
        over,
        charge,
        rests_on=(f"Read in {read} of {len(jars)} jars, the pot's warmth, and the charge.",),
        narrows=(MEASURE_OTHERS,) if read < len(jars) else (),
    )


def _in_jars(jars: Sequence[JarGround], run: RunGround, slot: int) -> Iterator[Measured]:
    """Give the pure alcohol of every jar, and of what runs since the last one was full."""
    now = slot if run.heat_off_slot is None else min(slot, run.heat_off_slot)
    for place, jar in enumerate(jars):
        litres = jar.volume_l or _may_hold(jar, jars, now)
        yield _pure(litres, jar.abv or _strength(jars, place))
    last = jars[-1].to_slot
    if last is not None and last < now:  # into something nobody has written down
        litres = _may_hold(JarGround(last, None), jars, now)
        yield _pure(litres, _strength(jars, len(jars)))


def _pure(litres: Measured, abv: Measured) -> Measured:
    return alcohol_in(litres, abv) or Measured(0.0, 0.0)


def _may_hold(jar: JarGround, jars: Sequence[JarGround], now: int) -> Measured:
    """Say what may be in a jar that nobody has measured: as much as it holds, or has had time for.

    The first jar's time says nothing: it may have stood there since the heat came on.
    """
    known = [one for one in jars if one.volume_l is not None and one.to_slot is not None]
    most_l = max((_litres(one) for one in known), default=0.0) * LARGER
    most_l = jar.holds_l or most_l
    timed = [one for one in known if one is not jars[0] and _lasted_s(one, now) > 0]
    if timed:
        fastest = max(_litres(one) / _lasted_s(one, now) for one in timed)
        most_l = min(most_l, FASTER * fastest * max(_lasted_s(jar, now), 0))
    return Measured(most_l / 2.0, most_l * EVEN)


def _litres(jar: JarGround) -> float:
    return 0.0 if jar.volume_l is None else jar.volume_l.value


def _lasted_s(jar: JarGround, now: int) -> int:
    return (now if jar.to_slot is None else jar.to_slot) - jar.from_slot


def _strength(jars: Sequence[JarGround], place: int) -> Measured:
    """Say how strong a jar is that nobody has read: between those beside it that were."""
    before = next((one.abv for one in reversed(jars[:place]) if one.abv), None)
    after = next((one.abv for one in jars[place + 1 :] if one.abv), None)
    if before is None or after is None:
        only = before or after or Measured(0.0, 0.0)
        return Measured(only.value, max(ENDS_OFF * only.value, NOT_READ_ABV))
    middle = (before.value + after.value) / 2.0
    return Measured(middle, max(abs(before.value - after.value) * EVEN, NOT_READ_ABV))
