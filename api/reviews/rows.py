"""A run as it stands in a list."""

from api.reviews.bodies import KeyBody, RunRowBody
from api.reviews.figures import Figures
from api.reviews.keys import KEYS, numbers
from api.reviews.words import PURPOSES


def row(figures: Figures) -> RunRowBody:
    """Show a run in a list."""
    run, still = figures.ground.run, figures.ground.read.still
    batch = figures.ground.batch
    return RunRowBody(
        id=run.about,
        vessel_id=run.vessel,
        vessel=still.name if still else None,
        batch=run.batch,
        batch_id=batch.about if batch else None,
        purpose=run.stage,
        purpose_name=PURPOSES.get(run.stage, run.stage),
        started_at=run.effective_at,
        ended_at=run.ended_at,
        is_on=is_on(figures),
        jars=len(figures.ground.read.jars),
        is_expected=figures.totals.is_expected,
        energy_basis=figures.energy.basis,
        numbers=numbers(figures),
    )


def is_on(figures: Figures) -> bool:
    """Say whether a run is not over yet."""
    ended_at = figures.ground.run.ended_at
    return ended_at is None or ended_at > figures.ground.until


def key_bodies() -> list[KeyBody]:
    """Show what the key numbers are."""
    return [
        KeyBody(name=one.name, label=one.label, unit=one.unit, decimals=one.decimals)
        for one in KEYS.values()
    ]
