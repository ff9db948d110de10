"""A batch's stages in order, each with its key numbers and what is said of it. Pure."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from api.record.fermented import USUAL_END_SG, Gravity, verdict
from api.reviews.batch_read import BatchRead, Cellar
from api.reviews.bodies_batch import FigureBody, StageKey, StoryStageBody
from api.reviews.gaps import Gap
from calc.attenuation import attenuation
from calc.errors import OutOfRangeError
from logger.store.record_rules import RUNS
from logger.store.tables import Occupancy

NAMES: dict[StageKey, str] = {
    "mash": "Mash", "ferment": "Ferment", "distil": "Distilling", "proof": "Proofing",
    "age": "Ageing", "bottle": "Bottling",
}  # fmt: skip
Figures = list[FigureBody]


def story(one: BatchRead, cellar: Cellar) -> list[StoryStageBody]:
    """Tell a batch's stages, those that there were."""
    made = (_mash(one, cellar), _ferment(one, cellar), _distil(one, cellar), *_after(one, cellar))
    return [stage for stage in made if stage is not None]


def story_gaps(one: BatchRead) -> list[Gap]:
    """Find what a batch's story cannot tell."""
    return list(_gaps(one))


def _gaps(one: BatchRead) -> Iterator[Gap]:
    if one.bill_kg is None:
        yield Gap("bill", "No bill was entered, so that no yield can be told.")
    if not one.gravities:
        yield Gap("gravity", "No gravity was entered.")
    elif len(one.gravities) == 1:
        yield Gap("gravity", "Only one gravity was entered, so that nothing shows how far it went.")
    if not one.runs:
        yield Gap("runs", "No run of a still was entered.")
    elif one.spirit_l is None:
        yield Gap("spirit", "No strength is known of a last distillation.")
    if one.bottles == 0:
        yield Gap("bottles", "Nothing was bottled yet.")


def _mash(one: BatchRead, cellar: Cellar) -> StoryStageBody | None:
    held = [stage for stage in one.held if stage.stage == "mash"]
    figures = [
        *_figure("bill_kg", "Bill", "kg", 1, one.bill_kg),
        *_figure("liquor_l", "Liquor", "L", 1, _sum(one, "liquor")),
        *_figure("rests", "Rests", "", 0, float(len(one.of("rest"))) or None),
        *_figure("wort_l", "Volume", "L", 1, _last(one, "volume")),
        *_figure("original_sg", "Original gravity", "", 4, one.original_sg),
    ]
    says = [f"{said.name}: {said.mass_kg:g} kg" for said in one.of("grain") if said.mass_kg]
    return _stage("mash", held, cellar, figures, says)


def _ferment(one: BatchRead, cellar: Cellar) -> StoryStageBody | None:
    held = [stage for stage in one.held if stage.stage == "ferment"]
    first, last, pitched = one.original_sg, one.final_sg, one.pitched_at
    figures = [
        *_figure("original_sg", "Original gravity", "", 4, first),
        *_figure("final_sg", "Final gravity", "", 4, last),
        *_figure("attenuation_percent", "Apparent attenuation", "%", 1, _attenuation(first, last)),
        *_figure("expected_pure_alcohol_l", "Alcohol the bill can give", "L", 2, one.expected_l),
    ]
    says = [f"{said.name}: {said.mass_kg:g} kg" for said in one.of("yeast") if said.mass_kg]
    if pitched is not None:
        later = [Gravity(at, sg) for at, sg in one.gravities if at > pitched]
        says.append(verdict(later, USUAL_END_SG.get(one.batch.kind_of_wash)).sentence)
    return _stage("ferment", held, cellar, figures, says)


def _distil(one: BatchRead, cellar: Cellar) -> StoryStageBody | None:
    held = [stage for stage in one.held if stage.stage in RUNS]
    charged = [run.share_base_l for run in one.runs]
    figures = [
        *_figure("runs", "Runs", "", 0, float(len(one.runs)) or None),
        *_figure("charged_pure_alcohol_l", "Alcohol charged first", "L", 2, _first(charged)),
        *_figure("spirit_pure_alcohol_l", "Alcohol of the spirit", "L", 2, one.spirit_l),
        *_figure("hearts_pure_alcohol_l", "Alcohol of the hearts", "L", 2, one.hearts_l),
        *_figure("energy_kwh", "Energy", "kWh", 1, one.energy_kwh),
    ]
    return _stage("distil", held, cellar, figures, [])


def _after(one: BatchRead, cellar: Cellar) -> Iterator[StoryStageBody | None]:
    yield _stage("proof", [held for held in one.held if held.stage == "proof"], cellar, [], [])
    yield _stage("age", [held for held in one.held if held.stage == "age"], cellar, [], [])
    fills = one.of("bottle_fill")
    if fills:
        litres = sum((fill.count or 0) * (fill.volume_l or 0.0) for fill in fills)
        figures = [
            *_figure("bottles", "Bottles", "", 0, float(one.bottles)),
            *_figure("bottled_l", "Bottled", "L", 1, litres),
        ]
        begun, ended = fills[0].effective_at, fills[-1].effective_at
        yield _body("bottle", begun, ended, [], figures, [fill.name for fill in fills])


def _stage(
    key: StageKey,
    held: Sequence[Occupancy],
    cellar: Cellar,
    figures: Figures,
    says: list[str],
) -> StoryStageBody | None:
    """Show a stage that held a vessel, or of which anything is known."""
    if not held:
        return _body(key, None, None, [], figures, says) if figures or says else None
    vessels = [cellar.vessel_names.get(one.vessel, "") for one in held]
    ends = [one.ended_at for one in held]
    over = None if any(end is None for end in ends) else max(end for end in ends if end)
    return _body(key, held[0].effective_at, over, vessels, figures, says)


def _body(
    key: StageKey,
    from_at: datetime | None,
    to_at: datetime | None,
    vessels: Sequence[str],
    figures: Figures,
    says: list[str],
) -> StoryStageBody:
    names = list(dict.fromkeys(one for one in vessels if one))
    return StoryStageBody(
        key=key, name=NAMES[key], from_at=from_at, to_at=to_at, vessels=names, figures=figures,
        says=says,
    )  # fmt: skip


def _figure(name: str, label: str, unit: str, decimals: int, value: float | None) -> Figures:
    if value is None:
        return []
    return [FigureBody(name=name, label=label, unit=unit, decimals=decimals, value=value)]


def _sum(one: BatchRead, kind: str) -> float | None:
    return sum(said.volume_l or 0.0 for said in one.of(kind)) or None


def _last(one: BatchRead, kind: str) -> float | None:
    said = one.of(kind)
    return said[-1].volume_l if said else None


def _first(values: Sequence[float | None]) -> float | None:
    return next((one for one in values if one is not None), None)


def _attenuation(first: float | None, last: float | None) -> float | None:
    if first is None or last is None:
        return None
    try:
        return attenuation(first, last).apparent_attenuation_percent
    except OutOfRangeError:
        return None  # the gravities were taken in another order, or are none of a wash
