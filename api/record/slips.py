"""Which slips would explain what cannot be true, the likeliest first.

Each measurement of a claim is tried in turn: its reading was not corrected for temperature, its
volume was read hot, its digits stand the wrong way round, it was entered as proof; a jar is
missing, or stands there twice. A slip counts where putting it right would bring the claim within
the errors; the order is by how far from the ordinary the slip would have to be.

The weights are common practice, no source.
"""

from collections.abc import Iterable, Iterator
from typing import Final

from api.record.amounts import COVERAGE, Amount, Taken
from api.record.claims import (
    Claim,
    Doubt,
    Limit,
    Side,
    Slip,
    fails_by,
    limit_sentence,
    sentence_of,
)
from api.record.slip_trials import (
    COST_DIGITS,
    COST_PROOF,
    WITHIN,
    exchanged,
    fitting_c,
    mending,
    slips_of_one,
    strangeness,
    uncorrected,
    weight,
)

JAR_SPREAD: Final = 0.35  # jars of a run differ that much from their neighbours
COST_TWICE: Final = 1.0
COST_MISSED: Final = 0.5
MOST_SLIPS: Final = 5


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
    yield from slips_of_one(claim)
    yield from _none_corrected(claim)
    yield from _jars_missed(claim)
    yield from _jars_twice(claim)


def _none_corrected(claim: Claim) -> Iterator[Slip]:
    """Try the readings of a whole side, all at one temperature."""
    for side, row in claim.sides:
        if len(row) < 2 or not all(uncorrected(one) for one in row):
            continue

        def at(t: float, side: Side = side, row: tuple[Taken, ...] = row) -> Amount:
            return claim.with_side(side, tuple(one.read_at(t) for one in row)).difference()

        at_c = mending(at)
        if at_c is not None:
            name = claim.given_name if side == "given" else claim.found_name
            sentence = (
                f"None of the strengths of {name} may have been corrected for temperature: read "
                f"at {at_c:.0f} °C they would fit."
            )
            yield Slip("not_corrected", name, sentence, strangeness(at_c))


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
            cost = COST_TWICE + weight(left, claim.holds) + (0.0 if twin else 3.0)
            yield Slip("jar_twice", one.name, sentence, cost, left.pure_alcohol_l)


def _alike(one: Taken, other: Taken) -> bool:
    return abs(one.volume_l - other.volume_l) < 1e-6 and abs(one.abv - other.abv) < 1e-6


def _of_limit(limit: Limit) -> Iterator[Slip]:
    """Why a strength may stand too high."""
    one = limit.taken
    sure_abv = COVERAGE * one.errors[1]
    ceiling = limit.at_most_abv + WITHIN * sure_abv
    if uncorrected(one):
        yield from _limit_not_corrected(one, limit.at_most_abv, sure_abv)
    if one.abv / 2.0 <= ceiling:
        yield Slip(
            "proof",
            one.name,
            f"The strength may have been entered as proof: {one.abv:g} proof is "
            f"{one.abv / 2:g} % vol.",
            COST_PROOF,
        )
    for turned in exchanged(one.abv):
        if turned <= ceiling:
            sentence = f"The digits may stand the wrong way round: {turned:g} for {one.abv:g} %."
            yield Slip("digits", one.name, sentence, COST_DIGITS)


def _limit_not_corrected(one: Taken, at_most_abv: float, sure_abv: float) -> Iterator[Slip]:
    at_c = fitting_c(lambda t: one.read_at(t).abv - at_most_abv, sure_abv)
    if at_c is not None:
        sentence = (
            f"The reading may not have been corrected for temperature: read at {at_c:.0f} °C, "
            f"{one.abv:.1f} % would be {one.read_at(at_c).abv:.1f} % vol at 20 °C."
        )
        yield Slip("not_corrected", one.name, sentence, strangeness(at_c))


def doubts(claims: Iterable[Claim | Limit]) -> list[Doubt]:
    """Say of every claim that cannot be true what is wrong with it."""
    return [doubt_of(one) for one in claims if one.fails]
