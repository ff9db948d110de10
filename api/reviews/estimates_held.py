"""A run's estimates as they were kept, their scores as they are sent."""

from collections.abc import Sequence

from api.estimates.issued import of_run
from api.estimates.quantities import UNITS
from api.house import House
from api.reviews.bodies import EstimatesBody, ScoreBody
from api.reviews.figures import Figures
from api.reviews.scoring import NAMES, Pair, Score, Telling, Tellings, scores
from logger.store.timeline import SECOND_US, EpochTable
from logger.store.types import to_datetime, to_us


def estimates_body(house: House, run: Figures) -> EstimatesBody | None:
    """Hold what was told of a run against what was measured; None where nothing was kept."""
    told, versions = _told(house, run)
    if not told:
        return None
    found = scores(run, told)
    inside, banded = (
        (sum(one) for one in zip(*(s.inside for s in found), strict=True)) if (found) else (0, 0)
    )
    return EstimatesBody(
        model_versions=versions,
        scores=[_score(one) for one in found],
        says=_says(found, inside, banded),
    )


def _told(house: House, run: Figures) -> tuple[Tellings, list[int]]:
    """Read the quantities that can be scored."""
    engine, ground = house.reader.engine, run.ground
    epochs = EpochTable.load(engine)
    spans = epochs.slots(to_us(ground.run.effective_at), to_us(ground.until) + SECOND_US)
    told: dict[str, list[Telling]] = {}
    versions: set[int] = set()
    for quantity in NAMES:
        for span in spans:
            kept = of_run(engine, ground.run.about, quantity, span.from_slot, span.to_slot)
            versions |= {one.model_version for one in kept}
            told.setdefault(quantity, []).extend(
                Telling(to_datetime(epochs.utc_us(one.slot)), one.value, one.low, one.high)
                for one in kept
                if one.value is not None
            )
    known = {name: sorted(row, key=lambda one: one.at) for name, row in told.items() if row}
    return known, sorted(versions)


def _score(one: Score) -> ScoreBody:
    unit = UNITS.get(one.quantity, "")
    inside, banded = one.inside
    return ScoreBody(
        quantity=one.quantity,
        name=NAMES[one.quantity],
        unit=unit,
        n=len(one.pairs),
        bias=one.bias,
        mean_absolute_error=one.mean_absolute_error,
        inside_band=inside / banded if banded else None,
        before_end=_before_end(one.before_end, unit) if one.before_end else None,
        says=_score_says(one, unit),
    )


def _score_says(one: Score, unit: str) -> str:
    inside, banded = one.inside
    off = f"{one.mean_absolute_error:.3g} {unit}".strip()
    way = "too high" if one.bias > 0 else "too low"
    text = f"Off by {off} in the mean, {abs(one.bias):.3g} {way}"
    return f"{text}; {inside} of {banded} within the band." if banded else f"{text}."


def _before_end(pair: Pair, unit: str) -> str:
    told = pair.told
    band = "" if told.low is None else f" ({told.low:.3g} to {told.high:.3g})"
    return (
        f"Twenty minutes before, {told.value:.3g} {unit}{band} was told; it was "
        f"{pair.measured:.3g} {unit}."
    ).replace("  ", " ").replace(" .", ".").replace(" ;", ";")  # fmt: skip


def _says(found: Sequence[Score], inside: int, banded: int) -> str:
    if not found:
        return "Estimates were kept, and nothing was measured to hold against them."
    if not banded:
        return "No estimate that was measured had a band."
    return f"{inside} of {banded} measurements lay within the 95 % band of what had been told."
