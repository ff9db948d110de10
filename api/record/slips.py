"""Which slips would explain what cannot be true, the likeliest first.

Each measurement of a claim is tried in turn: its reading was not corrected for temperature, its
volume was read hot, its digits stand the wrong way round, it was entered as proof; a jar is
missing, or stands there twice. A slip counts where putting it right would bring the claim within
the errors; the order is by how far from the ordinary the slip would have to be.

The weights are common practice, no source.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from math import isfinite, log, nan
from typing import Final

from api.record.amounts import COVERAGE, Amount, Taken, total
from api.record.claims import (
    Claim,
    Doubt,
    Holds,
    Limit,
    Side,
    Slip,
    fails_by,
    limit_sentence,
    sentence_of,
)
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
JAR_SPREAD: Final = 0.35  # jars of a run differ that much from their neighbours
LEAST_DIGITS: Final = 1.0
COST_TWICE: Final = 1.0
COST_MISSED: Final = 0.5
COST_DIGITS: Final = 2.0
COST_PROOF: Final = 1.5
MOST_SLIPS: Final = 5


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


def doubt_of(failed: Claim | Limit) -> Doubt:
    """Say what cannot be true and why it may have come about."""
    if isinstance(failed, Limit):
        slips = tuple(_ranked(_of_limit(failed)))
        return Doubt(failed.taken.name, limit_sentence(failed), None, None, slips)
    difference = failed.difference()
    slips = tuple(_ranked(_of_claim(failed)))
    return Doubt(
        failed.subject,
        sentence_of(failed),
        difference.pure_alcohol_l,
        difference.error_l,
        slips,
    )


def _ranked(slips: Iterator[Slip]) -> list[Slip]:
    """Put the likeliest first; of one kind about one thing the likeliest only."""
    found: dict[tuple[str, str], Slip] = {}
    for one in sorted(slips, key=lambda slip: slip.cost):
        found.setdefault((one.kind, one.about), one)
    return list(found.values())[:MOST_SLIPS]


def _of_claim(claim: Claim) -> Iterator[Slip]:
    for trial in _trials(claim):
        yield from _not_corrected(trial)
        yield from _volume_hot(trial)
        yield from _digits(trial)
        yield from _proof(trial)
    yield from _none_corrected(claim)
    yield from _jars_missed(claim)
    yield from _jars_twice(claim)


def _trials(claim: Claim) -> Iterator[_Trial]:
    sides = [(one, False) for one in claim.given] + [(one, True) for one in claim.found]
    signed = [one.amount() if found else -one.amount() for one, found in sides]
    for place, (one, found) in enumerate(sides):
        others = total(amount for at, amount in enumerate(signed) if at != place)
        yield _Trial(one, found, others, claim.holds)


def _uncorrected(one: Taken) -> bool:
    """Whether its strength stands as if it had been read at 20 °C."""
    at_20_c = one.reading_abv is None or one.temperature_c in {None, 20.0}
    return at_20_c and not one.is_corrected


def _not_corrected(trial: _Trial) -> Iterator[Slip]:
    """Find the temperature of the reading at which all would fit."""
    one = trial.one
    within = trial.wanting_l <= one.volume_l * MOST_STRENGTH_ABV / 100.0
    if not (within and _uncorrected(one)):
        return
    at_c = _mending(lambda t: trial.difference(one.read_at(t)))
    if at_c is None:
        return
    yield Slip(
        "not_corrected",
        one.name,
        f"The strength of {one.name} may not have been corrected for temperature: read at "
        f"{at_c:.0f} °C, {one.abv:.1f} % would be {one.read_at(at_c).abv:.1f} % vol at 20 °C.",
        _strangeness(at_c),
    )


def _none_corrected(claim: Claim) -> Iterator[Slip]:
    """Try the readings of a whole side, all at one temperature."""
    for side, row in claim.sides:
        if len(row) < 2 or not all(_uncorrected(one) for one in row):
            continue

        def at(t: float, side: Side = side, row: tuple[Taken, ...] = row) -> Amount:
            return claim.with_side(side, tuple(one.read_at(t) for one in row)).difference()

        at_c = _mending(at)
        if at_c is not None:
            name = claim.given_name if side == "given" else claim.found_name
            sentence = (
                f"None of the strengths of {name} may have been corrected for temperature: read "
                f"at {at_c:.0f} °C they would fit."
            )
            yield Slip("not_corrected", name, sentence, _strangeness(at_c))


def _volume_hot(trial: _Trial) -> Iterator[Slip]:
    """Find the temperature of the volume, taken as at 20 °C, at which all would fit."""
    one = trial.one
    within = trial.wanting_l <= one.amount().pure_alcohol_l * MOST_EXPANSION
    if not within or one.is_weighed or one.volume_temperature_c not in {None, 20.0}:
        return
    at_c = _mending(lambda t: trial.difference(one.measured_at(t)))
    if at_c is None:
        return
    how = "hot" if at_c > 20.0 else "cold"
    yield Slip(
        "volume_hot",
        one.name,
        f"The volume of {one.name} may have been read {how}: {one.volume_l:.2f} L at "
        f"{at_c:.0f} °C are {one.measured_at(at_c).volume_at_20_c_l:.2f} L at 20 °C.",
        _strangeness(at_c),
    )


def _mending(at: Callable[[float], Amount]) -> float | None:
    """Find the temperature nearest 20 °C that brings a claim within its errors, if any."""
    now = at(20.0)
    margin = 0.98 * COVERAGE * now.error_l  # within, and not on the very edge
    wanted = margin if now.pure_alcohol_l > 0 else -margin

    def beyond(t: float) -> float:
        try:
            return at(t).pure_alcohol_l - wanted
        except OutOfRangeError:  # no mixture reads so at that temperature
            return nan

    for end_c in (HOTTEST_C, COLDEST_C):
        found = _crossing(beyond, 20.0, end_c)
        if found is not None and abs(found - 20.0) >= NO_DIFFERENCE_K:
            return found
    return None


def _crossing(function: Callable[[float], float], start: float, end: float) -> float | None:
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


def _strangeness(temperature_c: float) -> float:
    return 0.5 * ((temperature_c - 20.0) / USUAL_K) ** 2


def _digits(trial: _Trial) -> Iterator[Slip]:
    """Try two neighbouring digits of the volume or the strength the other way round."""
    one = trial.one
    read = one.abv if one.reading_abv is None else one.reading_abv
    for field, value, unit in (("volume_l", one.volume_l, "L"), ("abv", read, "% vol")):
        for turned in _turned(value):
            new = replace(one, volume_l=turned) if field == "volume_l" else one.read_as(turned)
            if new is None or trial.fails(new):
                continue
            sentence = (
                f"The digits of {one.name} may stand the wrong way round: {turned:g} {unit} "
                f"where {value:g} {unit} was entered."
            )
            left = trial.difference(new)
            odd = 0.5 * (log(turned / value) / TURNED_RATIO) ** 2
            cost = COST_DIGITS + odd + _weight(left, trial.holds)
            yield Slip("digits", one.name, sentence, cost, left.pure_alcohol_l)


def _turned(value: float) -> Iterator[float]:
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
    cost = COST_PROOF + _weight(left, trial.holds)
    yield Slip("proof", one.name, sentence, cost, left.pure_alcohol_l)


def _weight(left: Amount, holds: Holds) -> float:
    """How badly a claim fits once mended: half the square of its deviations."""
    if (holds == "no more" and left.pure_alcohol_l < 0) or not left.error_l:
        return 0.0
    return 0.5 * (left.pure_alcohol_l / left.error_l) ** 2


def _jars_missed(claim: Claim) -> Iterator[Slip]:
    """See whether a jar like the others would make up what is wanting."""
    difference = claim.difference()
    short = claim.found if difference.pure_alcohol_l < 0 else claim.given
    jars = [one.amount().pure_alcohol_l for one in short if one.is_jar]
    if not jars:
        return
    mean = sum(jars) / len(jars)
    missing_l = abs(difference.pure_alcohol_l)
    off = abs(missing_l / mean - 1.0) / JAR_SPREAD if mean > 0 else float("inf")
    if off <= COVERAGE:
        sentence = (
            f"A jar may be missing: {missing_l:.2f} L of pure alcohol are wanting, and the jars "
            f"entered hold {mean:.2f} L each on the average."
        )
        yield Slip("jar_missed", claim.subject, sentence, COST_MISSED + 0.5 * off**2)


def _jars_twice(claim: Claim) -> Iterator[Slip]:
    """Try the side that has too much without each of its jars; a twin is the likeliest."""
    difference = claim.difference()
    side, long = claim.sides[1 if difference.pure_alcohol_l > 0 else 0]
    for place, one in enumerate(long):
        if not one.is_jar:
            continue
        left = claim.with_side(side, (*long[:place], *long[place + 1 :])).difference()
        if not fails_by(left, claim.holds):
            twin = any(_alike(one, other) for other in long[:place])
            sentence = f"{one.name} may have been entered twice; without it the sums agree."
            cost = COST_TWICE + _weight(left, claim.holds) + (0.0 if twin else 3.0)
            yield Slip("jar_twice", one.name, sentence, cost, left.pure_alcohol_l)


def _alike(one: Taken, other: Taken) -> bool:
    return abs(one.volume_l - other.volume_l) < 1e-6 and abs(one.abv - other.abv) < 1e-6


def _of_limit(limit: Limit) -> Iterator[Slip]:
    """Why a strength may stand too high."""
    one = limit.taken
    ceiling = limit.at_most_abv + 0.98 * COVERAGE * one.errors[1]
    if _uncorrected(one):
        yield from _limit_not_corrected(one, ceiling)
    if one.abv / 2.0 <= ceiling:
        yield Slip(
            "proof",
            one.name,
            f"The strength may have been entered as proof: {one.abv:g} proof is "
            f"{one.abv / 2:g} % vol.",
            COST_PROOF,
        )
    for turned in _turned(one.abv):
        if turned <= ceiling:
            sentence = f"The digits may stand the wrong way round: {turned:g} for {one.abv:g} %."
            yield Slip("digits", one.name, sentence, COST_DIGITS)


def _limit_not_corrected(one: Taken, ceiling: float) -> Iterator[Slip]:
    def beyond(t: float) -> float:
        try:
            return one.read_at(t).abv - ceiling
        except OutOfRangeError:
            return nan

    at_c = _crossing(beyond, 20.0, HOTTEST_C)
    if at_c is not None and at_c - 20.0 >= NO_DIFFERENCE_K:
        sentence = (
            f"The reading may not have been corrected for temperature: read at {at_c:.0f} °C, "
            f"{one.abv:.1f} % would be {one.read_at(at_c).abv:.1f} % vol at 20 °C."
        )
        yield Slip("not_corrected", one.name, sentence, _strangeness(at_c))


def doubts(claims: Iterable[Claim | Limit]) -> list[Doubt]:
    """Say of every claim that cannot be true what is wrong with it."""
    return [doubt_of(one) for one in claims if one.fails]
