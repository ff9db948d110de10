"""Bringing spirit to strength over days: the plan, worked out anew from what is measured now."""

from typing import Annotated, Final
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field
from sqlmodel import Session, col

from api.access import Asking, Role, needs
from api.entries import NewEntry, entered
from api.errors import declared
from api.house import House, Housed
from api.record.entering import add
from api.record.lot_book import LotBook
from api.routing import Router
from calc.proofing import TARGET, dilution
from calc.proofing_steps import DAILY_FALL, SLOW_FROM, overshoot, schedule
from calc.quantities import ABV
from logger.errors import NotFoundError
from logger.store import facts
from logger.store.failures import file_of, told
from logger.store.gauging import ROUNDING_L, Content
from logger.store.record_tables import Lot, StageEntry, Transfer

KIND: Final = "proofing"
REACHED_ABV: Final = 0.1  # nearer is there: a third of what a label may be off (EU 1169/2011, XII)
STOCK: Final = ("spirit", "blend", "jar", "cask")

router = Router(prefix="/proofings", tags=["proofing"], dependencies=[needs(Role.WATCH)])


class NewProofing(NewEntry):
    """A lot to bring to a strength, so much a day at most."""

    lot_id: UUID
    target_abv: Annotated[float, Field(ge=TARGET.low, le=TARGET.high, allow_inf_nan=False)]
    daily_fall_abv: Annotated[
        float, Field(ge=DAILY_FALL.low, le=DAILY_FALL.high, allow_inf_nan=False)
    ] = 2.0
    slow_from_abv: Annotated[
        float, Field(ge=SLOW_FROM.low, le=SLOW_FROM.high, allow_inf_nan=False)
    ] = 100.0


class AdditionBody(BaseModel):
    """Water that was added."""

    id: UUID
    at: AwareDatetime
    volume_l: float | None
    mass_kg: float | None
    text: str


class StepBody(BaseModel):
    """Water to add on one day, and the strength after it."""

    water_volume_l: float
    abv: float


class RemedyBody(BaseModel):
    """Stronger spirit that puts too much water right."""

    lot_id: UUID | None
    name: Annotated[str | None, Field(description="The spirit at hand; null: none is strong.")]
    stronger_abv: float | None
    stronger_volume_l: float | None
    excess_water_volume_l: float | None
    advice: str


class ProofingBody(BaseModel):
    """How a lot stands on its way to a strength; all volumes at 20 °C."""

    id: UUID
    lot_id: UUID
    name: str
    began_at: AwareDatetime
    target_abv: float
    volume_l: float | None
    abv: float | None
    why: Annotated[str | None, Field(description="Why no plan can be made.")]
    reached: bool
    water_volume_l: Annotated[float | None, Field(description="Still to add, in all.")]
    water_mass_kg: float | None
    steps: list[StepBody]
    additions: list[AdditionBody]
    remedy: RemedyBody | None


@router.get("")
def listed(house: Housed) -> list[ProofingBody]:
    """Return what is on its way to a strength, each with its plan as of now."""
    found = facts.all_current(house.reader.engine, StageEntry, col(StageEntry.kind) == KIND)
    latest = {one.lot: one for one in found}
    return [_body(house, one) for one in latest.values()]


@router.post("", status_code=201, dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def begin(house: Housed, asking: Asking, body: NewProofing) -> ProofingBody:
    """Begin to bring a lot to a strength, or set another one."""
    lot = facts.get(house.reader.engine, Lot, body.lot_id)
    made = StageEntry.first(
        id=body.id,
        kind=KIND,
        lot=lot.about,
        batch=lot.batch,
        target_abv=body.target_abv,
        daily_fall_abv=body.daily_fall_abv,
        slow_from_abv=body.slow_from_abv,
        **entered(house, asking),
    )
    return _body(house, add(house, made))


@router.get("/{lot_id}", responses=declared(404))
def one(house: Housed, lot_id: UUID) -> ProofingBody:
    """Return a lot's plan as of now."""
    found = facts.all_current(
        house.reader.engine, StageEntry, col(StageEntry.kind) == KIND, col(StageEntry.lot) == lot_id
    )
    if not found:
        raise NotFoundError("No strength has been set for this lot; say which it shall have.")
    return _body(house, found[-1])


def _body(house: House, plan: StageEntry) -> ProofingBody:
    engine = house.reader.engine
    assert plan.lot is not None  # noqa: S101 - begun with one
    assert plan.target_abv is not None  # noqa: S101 - begun with one
    lot, target = facts.get(engine, Lot, plan.lot), plan.target_abv
    with told(file_of(engine)), Session(engine) as session:
        held = LotBook(session).held(lot.about)
    abv = None if held.strength is None else held.strength.abv
    water, steps, why, reached = _plan(held, plan, target)
    return ProofingBody(
        id=plan.about,
        lot_id=lot.about,
        name=lot.name,
        began_at=plan.effective_at,
        target_abv=target,
        volume_l=held.volume_l,
        abv=abv,
        why=why,
        reached=reached,
        water_volume_l=None if water is None else water[0],
        water_mass_kg=None if water is None else water[1],
        steps=steps,
        additions=_additions(house, lot.about),
        remedy=_remedy(house, lot, held, target) if why is None else None,
    )


Plan = tuple[tuple[float, float] | None, list[StepBody], str | None, bool]


def _plan(held: Content, plan: StageEntry, target: float) -> Plan:
    """Work out what is left to do from what the lot holds now."""
    if held.volume_l is None or held.strength is None:
        return None, [], "Measure the lot's volume and strength first.", False
    if held.volume_l <= ROUNDING_L:
        return None, [], "Nothing is left of it: all of it went on.", False
    abv = held.strength.abv
    reached = abs(abv - target) <= REACHED_ABV
    if reached or abv < target:
        return None, [], None, reached
    whole = dilution(held.volume_l, abv, target)
    pace = {"daily_fall_abv": plan.daily_fall_abv, "slow_from_abv": plan.slow_from_abv}
    said = {name: value for name, value in pace.items() if value is not None}
    days = schedule(held.volume_l, abv, target, **said)
    steps = [
        StepBody(water_volume_l=water, abv=after)
        for water, after in zip(days.daily_water_volume_l, days.daily_abv, strict=True)
    ]
    return (whole.water_volume_l, whole.water_mass_kg), steps, None, False


def _additions(house: House, lot: UUID) -> list[AdditionBody]:
    found = facts.all_current(
        house.reader.engine, Transfer, col(Transfer.to_lot) == lot, col(Transfer.kind) == "dilute"
    )
    return [
        AdditionBody(
            id=one.about,
            at=one.effective_at,
            volume_l=one.volume_l,
            mass_kg=one.mass_kg,
            text=one.text,
        )
        for one in found
    ]


def _remedy(house: House, lot: Lot, held: Content, target: float) -> RemedyBody | None:
    """Say how much stronger spirit puts too much water right."""
    if held.volume_l is None or held.strength is None:
        return None
    abv = held.strength.abv
    if abv >= target - REACHED_ABV:
        return None
    strongest = _strongest(house, lot, target)
    if strongest is None:
        advice = f"It is weaker than {target:g} % vol, and no stronger spirit is in store."
        return RemedyBody(
            lot_id=None, name=None, stronger_abv=None, stronger_volume_l=None,
            excess_water_volume_l=None, advice=advice,
        )  # fmt: skip
    other, strength = strongest
    found = overshoot(held.volume_l, abv, target, strength)
    return RemedyBody(
        lot_id=other.about,
        name=other.name,
        stronger_abv=strength,
        stronger_volume_l=found.stronger_volume_l,
        excess_water_volume_l=found.excess_water_volume_l,
        advice=found.advice,
    )


def _strongest(house: House, lot: Lot, target: float) -> tuple[Lot, float] | None:
    engine = house.reader.engine
    found: list[tuple[Lot, float]] = []
    with told(file_of(engine)), Session(engine) as session:
        book = LotBook(session)
        for other in facts.all_current(engine, Lot, col(Lot.kind).in_(STOCK)):
            held = book.held(other.about)
            has_some = held.volume_l is not None and held.volume_l > 0.0
            if other.about != lot.about and has_some and held.strength is not None:
                found.append((other, held.strength.abv))
    above = [one for one in found if target < one[1] <= ABV.high]
    return max(above, key=lambda one: one[1], default=None)
