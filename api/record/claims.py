"""What must be true of a record, and which of it cannot be.

A claim holds two sides against each other: what came out is no more than what went in, or is as
much. One that fails by more than the errors allow is a doubt, told with the likely slips.
"""

from dataclasses import dataclass, replace
from typing import Literal

from api.record.amounts import COVERAGE, ROUNDING_L, Amount, Taken, total

Holds = Literal["no more", "as much"]
Side = Literal["given", "found"]


@dataclass(frozen=True, slots=True)
class Claim:
    """That what was found holds no more alcohol than what was given, or as much."""

    subject: str  # of what, in words: run of 12 March
    given: tuple[Taken, ...]
    found: tuple[Taken, ...]
    given_name: str  # the charge
    found_name: str  # the jars
    holds: Holds = "no more"

    def difference(self) -> Amount:
        """Found less given."""
        return total(one.amount() for one in self.found) - total(one.amount() for one in self.given)

    @property
    def sides(self) -> tuple[tuple[Side, tuple[Taken, ...]], ...]:
        """Both sides, with their names."""
        return (("given", self.given), ("found", self.found))

    def with_side(self, side: Side, row: tuple[Taken, ...]) -> "Claim":
        """Return the claim with one side exchanged."""
        return replace(self, given=row) if side == "given" else replace(self, found=row)

    @property
    def fails(self) -> bool:
        """Whether it cannot be true, the errors allowed for."""
        return fails_by(self.difference(), self.holds)


def fails_by(difference: Amount, holds: Holds) -> bool:
    """Judge a difference of found less given."""
    if difference.is_above_nothing:
        return True
    return holds == "as much" and (-difference).is_above_nothing


@dataclass(frozen=True, slots=True)
class Limit:
    """That a strength is no higher than it can be."""

    taken: Taken
    at_most_abv: float
    why: str  # what sets the limit, in words that follow "more than"

    @property
    def fails(self) -> bool:
        """Whether it is above, its error allowed for."""
        _, error = self.taken.errors
        return self.taken.abv > self.at_most_abv + COVERAGE * error + ROUNDING_L


@dataclass(frozen=True, slots=True)
class Doubt:
    """What cannot be true, in a sentence, and the slips that would explain it, likeliest first."""

    subject: str
    sentence: str
    excess_l: float | None
    error_l: float | None
    slips: tuple["Slip", ...] = ()


@dataclass(frozen=True, slots=True)
class Slip:
    """A mistake that would explain a doubt, and what would be left of it once put right."""

    kind: Literal[
        "not_corrected", "volume_hot", "jar_missed", "jar_twice", "digits", "proof", "tare",
    ]  # fmt: skip
    about: str
    sentence: str
    cost: float  # how unlikely it is: half a square of standard deviations, give or take
    left_l: float = 0.0


def sentence_of(claim: Claim) -> str:
    """Say what cannot be true."""
    difference = claim.difference()
    given = total(one.amount() for one in claim.given)
    found = total(one.amount() for one in claim.found)
    more = "more" if difference.pure_alcohol_l > 0 else "less"
    return (
        f"{claim.subject}: {claim.found_name} came to {found.pure_alcohol_l:.2f} L of pure "
        f"alcohol, {abs(difference.pure_alcohol_l):.2f} L {more} than {claim.given_name} "
        f"({given.pure_alcohol_l:.2f} L), and the measurements are good to "
        f"{COVERAGE * difference.error_l:.2f} L."
    )


def limit_sentence(limit: Limit) -> str:
    """Say that a strength is too high."""
    return (
        f"{limit.taken.name} is entered with {limit.taken.abv:.1f} % vol, more than "
        f"{limit.why} ({limit.at_most_abv:.1f} % vol)."
    )
