"""A batch stage by stage: what its entries come to, worked out by calc when asked."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Annotated, Final
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.access import Role, needs
from api.errors import declared
from api.house import House, Housed
from api.record import rests
from api.record.casks import CaskBody, casks
from api.record.entering import newest
from api.record.entries import EntryBody, body_of, entries, sg_of
from api.record.fermented import USUAL_END_SG, Gravity, verdict
from api.record.series import samples
from api.routing import Router
from calc.errors import OutOfRangeError
from calc.potential import potential_alcohol
from calc.wort import wort
from logger.store.record_tables import Batch, StageEntry

PLACE: Final = "mash"

router = Router(prefix="/batches", tags=["batches"], dependencies=[needs(Role.WATCH)])


class ExpectedBody(BaseModel):
    """What the bill can give: an expectation, which never enters the books."""

    pure_alcohol_l: float
    pure_alcohol_low_l: float
    pure_alcohol_high_l: float
    abv: float
    sg: Annotated[float | None, Field(description="Of the wort, where the bill is grain alone.")]


class RestBody(BaseModel):
    """A rest, and how long it was held by what the probe said."""

    entry_id: UUID
    name: str
    began_at: AwareDatetime
    ended_at: AwareDatetime
    low_c: float
    high_c: float
    planned_min: float | None
    in_range_min: float
    below_min: float
    above_min: float
    unknown_min: Annotated[float, Field(description="Gaps: not counted.")]
    lowest_c: float | None
    highest_c: float | None


class VerdictBody(BaseModel):
    """Whether the ferment is done, and why."""

    done: bool
    stuck: bool
    since: AwareDatetime | None
    sentence: str


class StagesBody(BaseModel):
    """A batch's stages."""

    batch: str
    bill_kg: float
    expected: ExpectedBody | None
    expected_why: Annotated[str | None, Field(description="Why nothing can be expected.")]
    rests: list[RestBody]
    pitched_at: AwareDatetime | None
    original_sg: float | None
    final_sg: float | None
    ferment: VerdictBody | None
    casks: list[CaskBody]
    bottles: Annotated[int, Field(description="Filled so far.")]
    entries: list[EntryBody]


@router.get("/{batch_id}/stages", responses=declared(404))
def stages(house: Housed, batch_id: UUID) -> StagesBody:
    """Return a batch's stages, as far as they have come."""
    batch = newest(house, Batch, batch_id)
    said = entries(house, batch.name)
    gravities = [
        Gravity(one.effective_at, sg)
        for one in _of(said, "gravity")
        if (sg := sg_of(one)) is not None
    ]
    pitched = min((one.effective_at for one in _of(said, "yeast")), default=None)
    expected, why = expectation(said)
    return StagesBody(
        batch=batch.name,
        bill_kg=sum(one.mass_kg or 0.0 for one in _of(said, "grain")),
        expected=expected,
        expected_why=why,
        rests=[_rest(house, one) for one in _of(said, "rest")],
        pitched_at=pitched,
        original_sg=_original(gravities, pitched),
        final_sg=gravities[-1].sg if gravities else None,
        ferment=None if pitched is None else _verdict(gravities, pitched, batch.kind_of_wash),
        casks=casks(house, said),
        bottles=sum(one.count or 0 for one in _of(said, "bottle_fill")),
        entries=[body_of(one) for one in said],
    )


def expectation(said: Sequence[StageEntry]) -> tuple[ExpectedBody | None, str | None]:
    """Say what the bill can give, or why that cannot be told."""
    bill = [(one.name, one.mass_kg) for one in _of(said, "grain") if one.mass_kg is not None]
    litres = _wort_l(said)
    if not bill:
        return None, "No grain, sugar or fruit has been entered."
    if litres is None:
        return None, "Neither the liquor nor the volume of the mash has been entered."
    names, masses = tuple(name for name, _ in bill), tuple(mass for _, mass in bill)
    try:
        found = potential_alcohol(names, masses, litres)  # type: ignore[arg-type]
    except (OutOfRangeError, TypeError) as error:
        return None, str(error)
    return (
        ExpectedBody(
            pure_alcohol_l=found.pure_alcohol_l,
            pure_alcohol_low_l=found.pure_alcohol_low_l,
            pure_alcohol_high_l=found.pure_alcohol_high_l,
            abv=found.abv,
            sg=_wort_sg(said, names, masses),
        ),
        None,
    )


def _wort_sg(
    said: Sequence[StageEntry], names: tuple[str, ...], masses: tuple[float, ...]
) -> float | None:
    liquor = sum(one.volume_l or 0.0 for one in _of(said, "liquor"))
    percents = [one.percent for one in _of(said, "grain")]
    extracts = tuple(one for one in percents if one is not None)
    try:
        return wort(
            names,  # type: ignore[arg-type]
            masses,
            liquor,
            extracts_percent=extracts if len(extracts) == len(names) else None,
        ).sg
    except (OutOfRangeError, TypeError):
        return None  # sugar or fruit in the bill, or no liquor


def _wort_l(said: Sequence[StageEntry]) -> float | None:
    volumes = [one.volume_l for one in _of(said, "volume") if one.volume_l is not None]
    liquor = sum(one.volume_l or 0.0 for one in _of(said, "liquor"))
    return volumes[-1] if volumes else (liquor or None)


def _of(said: Iterable[StageEntry], kind: str) -> list[StageEntry]:
    return [one for one in said if one.kind == kind]


def _original(gravities: Sequence[Gravity], pitched: datetime | None) -> float | None:
    """Choose the gravity nearest the pitching."""
    if not gravities:
        return None
    if pitched is None:
        return gravities[0].sg
    return min(gravities, key=lambda one: abs(one.at - pitched)).sg


def _verdict(gravities: Sequence[Gravity], pitched: datetime, wash: str) -> VerdictBody:
    found = verdict([one for one in gravities if one.at > pitched], USUAL_END_SG.get(wash))
    return VerdictBody(
        done=found.done, stuck=found.stuck, since=found.since, sentence=found.sentence
    )


def _rest(house: House, one: StageEntry) -> RestBody:
    low_c, high_c = one.low_c or 0.0, one.high_c or 0.0
    end = min(one.ended_at or house.now, house.now)
    read = {} if one.vessel is None else samples(house, one.vessel, [PLACE], one.effective_at, end)
    found = rests.held(read.get(PLACE, []), low_c, high_c, end.timestamp())
    total_min = max((end - one.effective_at).total_seconds() / 60.0, 0.0)
    known_min = found.in_range_min + found.below_min + found.above_min
    return RestBody(
        entry_id=one.about,
        name=one.name,
        began_at=one.effective_at,
        ended_at=end,
        low_c=low_c,
        high_c=high_c,
        planned_min=one.planned_min,
        in_range_min=found.in_range_min,
        below_min=found.below_min,
        above_min=found.above_min,
        unknown_min=max(total_min - known_min, 0.0),
        lowest_c=found.lowest_c,
        highest_c=found.highest_c,
    )
