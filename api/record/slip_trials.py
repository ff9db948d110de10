"""The slips one measurement may hold: each is tried, and told where it would mend the claim.

The weights are common practice, no source.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from math import copysign, isfinite, log, nan
from typing import Final

from api.record.amounts import COVERAGE, Amount, Taken, total
from api.record.claims import Claim, Holds, Slip, fails_by
from calc.errors import OutOfRangeError

COLDEST_C: Final = 0.0  # what liquid in a stillhouse may have been
HOTTEST_C: Final = 40.0  # and the most the tables go to
USUAL_K: Final = 8.0  # how far from 20 °C a stillhouse's samples stray, one deviation
NO_DIFFERENCE_K: Final = 1.0  # a slip of less is none
# What 20 K can do at most, so that what cannot explain a doubt is not searched (R 22's formula).
MOST_STRENGTH_ABV: Final = 10.0
MOST_EXPANSION: Final = 0.03
TURNED_RATIO: Final = 0.3  # natural logarithm: a likely slip of digits changes less than that
STEPS: Final = 8  # of a bisection over 20 K: to a tenth
WITHIN: Final = 0.98  # of the errors: within, and not on the very edge
LEAST_DIGITS: Final = 1.0
COST_DIGITS: Final = 2.0
COST_PROOF: Final = 1.5


@dataclass(frozen=True, slots=True)
class _Trial:
    """A claim with one of its measurements open to change."""

    one: Taken
    is_found: bool
    others: Amount  # found less given of all the rest
    holds: Holds

    def difference(self, new: Taken) -> Amount:
        """Found less given, had this been entered instead."""
        amount = new.amount()
        return self.others + (amount if self.is_found else -amount)

    @property
    def wanting_l(self) -> float:
        """How much must change before the claim holds."""
        now = self.difference(self.one)
        return abs(now.pure_alcohol_l) - COVERAGE * now.error_l

    def fails(self, new: Taken) -> bool:
        """Whether the claim would still fail."""
        return fails_by(self.difference(new), self.holds)


def slips_of_one(claim: Claim) -> Iterator[Slip]:
    """Try each measurement of a claim."""
    for trial in _trials(claim):
        yield from _not_corrected(trial)
        yield from _volume_hot(trial)
        yield from _digits(trial)
        yield from _proof(trial)


def _trials(claim: Claim) -> Iterator[_Trial]:
    sides = [(one, False) for one in claim.given] + [(one, True) for one in claim.found]
    signed = [one.amount() if found else -one.amount() for one, found in sides]
    for place, (one, found) in enumerate(sides):
        others = total(amount for at, amount in enumerate(signed) if at != place)
        yield _Trial(one, found, others, claim.holds)


def uncorrected(one: Taken) -> bool:
    """Whether its strength stands as if it had been read at 20 °C."""
    at_20_c = one.reading_abv is None or one.temperature_c in {None, 20.0}
    return at_20_c and not one.is_corrected


def _not_corrected(trial: _Trial) -> Iterator[Slip]:
    """Find the temperature of the reading at which all would fit."""
    one = trial.one
    within = trial.wanting_l <= one.volume_l * MOST_STRENGTH_ABV / 100.0
    if not (within and uncorrected(one)):
        return
    at_c = mending(lambda t: trial.difference(one.read_at(t)))
    if at_c is None:
        return
    yield Slip(
        "not_corrected",
        one.name,
        f"The strength of {one.name} may not have been corrected for temperature: read at "
        f"{at_c:.0f} °C, {one.abv:.1f} % would be {one.read_at(at_c).abv:.1f} % vol at 20 °C.",
        strangeness(at_c),
    )


def _volume_hot(trial: _Trial) -> Iterator[Slip]:
    """Find the temperature of the volume, taken as at 20 °C, at which all would fit."""
    one = trial.one
    within = trial.wanting_l <= one.amount().pure_alcohol_l * MOST_EXPANSION
    if not within or one.is_weighed or one.volume_temperature_c not in {None, 20.0}:
        return
    at_c = mending(lambda t: trial.difference(one.measured_at(t)))
    if at_c is None:
        return
    how = "hot" if at_c > 20.0 else "cold"
    yield Slip(
        "volume_hot",
        one.name,
        f"The volume of {one.name} may have been read {how}: {one.volume_l:.2f} L at "
        f"{at_c:.0f} °C are {one.measured_at(at_c).volume_at_20_c_l:.2f} L at 20 °C.",
        strangeness(at_c),
    )


def mending(at: Callable[[float], Amount]) -> float | None:
    """Find the temperature nearest 20 °C that brings a claim within its errors, if any."""
    return fitting_c(lambda t: at(t).pure_alcohol_l, COVERAGE * at(20.0).error_l)


def fitting_c(gap: Callable[[float], float], sure: float) -> float | None:
    """Find the temperature nearest 20 °C at which a gap is no wider than is sure, if any."""
    wanted = copysign(WITHIN * sure, gap(20.0))

    def beyond(t: float) -> float:
        try:
            return gap(t) - wanted
        except OutOfRangeError:  # no mixture reads so at that temperature
            return nan

    for end_c in (HOTTEST_C, COLDEST_C):
        found = crossing(beyond, 20.0, end_c)
        if found is not None and abs(found - 20.0) >= NO_DIFFERENCE_K:
            return found
    return None


def crossing(function: Callable[[float], float], start: float, end: float) -> float | None:
    """Find where it crosses zero; the end is drawn in where the tables do not reach it."""
    while not isfinite(function(end)):
        end = (start + end) / 2.0
        if abs(end - start) < NO_DIFFERENCE_K:
            return None
    at_start, at_end = function(start), function(end)
    if at_start * at_end > 0.0:
        return None
    low, high = start, end
    for _ in range(STEPS):
        middle = (low + high) / 2.0
        if function(middle) * at_start > 0.0:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def strangeness(temperature_c: float) -> float:
    """Weigh how far from the usual a temperature lies."""
    return 0.5 * ((temperature_c - 20.0) / USUAL_K) ** 2


def _digits(trial: _Trial) -> Iterator[Slip]:
    """Try two neighbouring digits of the volume or the strength the other way round."""
    one = trial.one
    read = one.abv if one.reading_abv is None else one.reading_abv
    for field, value, unit in (("volume_l", one.volume_l, "L"), ("abv", read, "% vol")):
        for turned in exchanged(value):
            new = replace(one, volume_l=turned) if field == "volume_l" else one.read_as(turned)
            if new is None or trial.fails(new):
                continue
            sentence = (
                f"The digits of {one.name} may stand the wrong way round: {turned:g} {unit} "
                f"where {value:g} {unit} was entered."
            )
            left = trial.difference(new)
            odd = 0.5 * (log(turned / value) / TURNED_RATIO) ** 2
            cost = COST_DIGITS + odd + weight(left, trial.holds)
            yield Slip("digits", one.name, sentence, cost, left.pure_alcohol_l)


def exchanged(value: float) -> Iterator[float]:
    """Exchange neighbours in a number as people enter it: with one decimal, or two."""
    text = f"{value:.10g}"
    if round(value, 2) != value or value < LEAST_DIGITS:
        return
    places = [i for i, letter in enumerate(text) if letter != "."]
    for a, b in pairwise(places):
        if text[a] != text[b] and not (a == 0 and text[b] == "0"):
            letters = list(text)
            letters[a], letters[b] = letters[b], letters[a]
            yield float("".join(letters))


def _proof(trial: _Trial) -> Iterator[Slip]:
    """Try a strength entered in degrees of US proof, twice the percentage."""
    one = trial.one
    new = replace(one, abv=one.abv / 2.0)
    if trial.fails(new):
        return
    sentence = (
        f"The strength of {one.name} may have been entered as proof: {one.abv:g} proof is "
        f"{one.abv / 2:g} % vol."
    )
    left = trial.difference(new)
    cost = COST_PROOF + weight(left, trial.holds)
    yield Slip("proof", one.name, sentence, cost, left.pure_alcohol_l)


def weight(left: Amount, holds: Holds) -> float:
    """How badly a claim fits once mended: half the square of its deviations."""
    if (holds == "no more" and left.pure_alcohol_l < 0) or not left.error_l:
        return 0.0
    return 0.5 * (left.pure_alcohol_l / left.error_l) ** 2
