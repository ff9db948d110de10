"""What is missing from a run's record, and why, in one sentence each. Pure."""

from collections.abc import Iterator

from api.reviews.figures import Figures
from api.reviews.gaps import Gap

UNWATCHED = Gap("alarms", "The alarms did not watch this run.")
NO_ESTIMATES = Gap("estimates", "No estimates were kept for this run.")


def gaps(figures: Figures) -> list[Gap]:
    """Find what a review of a run cannot tell."""
    return [*_of_probes(figures), *_of_record(figures), *_of_use(figures)]


def _of_probes(figures: Figures) -> Iterator[Gap]:
    if not figures.ground.is_watched:
        yield UNWATCHED
    found = {one.place for one in figures.ground.lines.temperatures}
    if not found:
        yield Gap("temperatures", "No probe at the still was read while the run was on.")
        return
    for place in ("pot", "head"):
        if place not in found:
            yield Gap(place, f"No probe at the {place} was read while the run was on.")


def _of_record(figures: Figures) -> Iterator[Gap]:
    read = figures.ground.read
    if read.run.ended_at is None:
        yield Gap("end", "The run is still on; what follows holds up to now.")
    if read.charge is None:
        why = "No charge was entered, so that nothing can be told as a share of it."
        yield Gap("charge", why)
    elif figures.share_base_l is None and figures.shows_strength:
        yield Gap("charge", "The charge's volume or strength is not known.")
    if "first_drop" not in figures.at:
        yield Gap("first_drop", "The first drop was not marked, and temperatures do not show it.")
    yield from _of_jars(figures)


def _of_jars(figures: Figures) -> Iterator[Gap]:
    jars, came = figures.ground.read.jars, figures.totals
    if not jars and figures.drawn is None:
        yield Gap("jars", "No jar was entered, so that nothing is known of what came over.")
    elif not jars:
        yield Gap("jars", "No jar was entered; only what came over in all is known.")
    if not jars:
        return
    if came.jars_without_volume:
        many = came.jars_without_volume
        what = "One jar has" if many == 1 else f"{many} jars have"
        yield Gap("jars", f"{what} no volume; the sums are of the others.")
    if came.is_expected:
        why = "Some jars lie beyond the strengths that were read; theirs are only expected."
        yield Gap("strength", why)
    if all(one.jar.cut is None for one in jars) and figures.shows_strength:
        yield Gap("cuts", "No jar was classed.")


def _of_use(figures: Figures) -> Iterator[Gap]:
    for about, used in (("energy", figures.energy), ("water", figures.water)):
        if used.amount is None:
            yield Gap(about, used.says)
