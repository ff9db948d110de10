"""Why something cannot be told of a run: what it is for, what is odd, or that it does not boil."""

from typing import TYPE_CHECKING

from api.estimates.ground import RunGround
from api.estimates.still import words
from api.estimates.still.signs import Signs

if TYPE_CHECKING:
    from api.estimates.still.following import Follower


def of_run(run: RunGround) -> str | None:
    """Say why nothing is ever told of the strengths of such a run."""
    if run.purpose == "cleaning":
        return words.CLEANING
    return words.VACUUM if run.vacuum else None


def of_signs(signs: Signs) -> str | None:
    """Say what is so odd now that nothing at all can be told of the balance."""
    if signs.swapped:
        return words.SWAPPED
    if signs.too_hot:
        return words.TOO_HOT
    return words.TOO_COOL if signs.too_cool else None


def of_head(signs: Signs, slot: int, *, there: bool) -> str | None:
    """Say why the head does not tell the vapour's strength."""
    if not there:
        return words.NO_HEAD
    if signs.head_hot_since is None:
        return words.HEAD_COLD
    return None if signs.head_settled(slot) else words.HEAD_SETTLES


def of_strengths(follower: "Follower") -> str | None:
    """Say why strengths cannot be told now; None where the pot boils as it should."""
    if follower.bad is None and follower.pot_c is None:
        return words.NO_POT
    return of_boil(follower)


def of_boil(follower: "Follower") -> str | None:
    """Say why no vapour can be told of now; the pot may have lost its probe since."""
    if follower.bad is not None:
        return follower.bad
    if not follower.boiled:
        return words.NOT_BOILING if follower.heating else words.COLD
    if not follower.heating:
        return words.NO_MORE
    return None if follower.boils else words.NOT_BOILING


def of_vapour(follower: "Follower") -> str | None:
    """Say why the vapour's strength cannot be told now."""
    not_so = of_boil(follower)
    not_there = of_head(follower.signs, follower.slot, there=follower.head_there)
    return not_so or not_there or follower.doubts.get("head")
