"""Which estimator tells what a stage's temperatures mean."""

from collections.abc import Callable

from api.estimates.estimator import Estimator
from api.estimates.facts.held import Ground, Kind
from api.estimates.ground import FermentGround, MashGround, RunGround, StillGround

AnyEstimator = Estimator[RunGround] | Estimator[FermentGround] | Estimator[MashGround]
Hour = Callable[[int], str]  # says in words when a slot was


def estimator_of(kind: Kind, still: StillGround | None, hour: Hour) -> Estimator[Ground]:
    """Make the estimator of a stage; each is kept out of memory until a vessel holds its stage."""
    made: object
    if kind == "still":
        from api.estimates.still.estimator import StillEstimator  # noqa: PLC0415

        made = StillEstimator(still or StillGround(), hour)
    elif kind == "ferment":
        from api.estimates.ferment.estimator import FermentEstimator  # noqa: PLC0415

        made = FermentEstimator()
    else:
        from api.estimates.mash.estimator import MashEstimator  # noqa: PLC0415

        made = MashEstimator()
    return made  # type: ignore[return-value]  # each is only ever given its own kind of ground
