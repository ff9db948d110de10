"""What stands under the thumb: the runs on now, and what fits next in each."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any, Final
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field
from sqlmodel import col
from starlette.concurrency import run_in_threadpool

from api.access import Role, needs
from api.house import House, Housed
from api.pressure import Known, measured, pressure_now
from api.record.collected import Collected
from api.record.expected import Expected, Seen, expected_on_scale, expected_strength
from api.record.filling import Rate, Scale, full_at, open_jar, rate_now, step_l, volume_of_l
from api.record.looking_back import mean_over
from api.record.proposals import proposed
from api.record.run_bodies import JarBody, RunBody, run_body
from api.record.runs_read import RunRead, poured, read_of, runs
from api.record.weighed import came_kg, comes_kg_min
from api.record.words import MarkKind
from api.routing import Router
from calc.quantities import MASS
from logger.store.record_rules import SHOWS_NO_STRENGTH
from logger.store.record_tables import Mark
from logger.store.tables import Occupancy

DIVIDING: Final[tuple[MarkKind, ...]] = ("first_drop", "foreshots_end", "hearts", "tails", "end")
WITHOUT_CUTS: Final[tuple[MarkKind, ...]] = ("first_drop", "end")
CUTS: Final = ("spirit", "single", "botanical", "feints")  # purposes that are cut

router = Router(prefix="/record", tags=["record"], dependencies=[needs(Role.WATCH)])


class ProposalBody(BaseModel):
    """A mark the temperatures speak for; nothing is kept until a person keeps it."""

    kind: MarkKind
    at: AwareDatetime
    why: str
    power_kw: float | None = None


class OfferBody(BaseModel):
    """A jar's volume as the scale under it says; entered only if a person says so."""

    jar_id: UUID
    volume_l: Annotated[float, Field(description="At 20 °C.")]


class RunNow(RunBody):
    """A run that is on, with what fits next. What is expected is never stored."""

    fitting_mark: MarkKind | None
    open_jar: JarBody | None
    next_number: int
    expected_abv: Annotated[
        float | None, Field(description="What an alcoholometer should show, corrected to 20 °C.")
    ]
    expected_reading_abv: Annotated[
        float | None, Field(description="The same as read at liquid_temperature_c.")
    ]
    expected_why: Annotated[str, Field(description="What it stands on, or why it cannot tell.")]
    liquid_temperature_c: float | None
    liquid_temperature_from: str | None
    volume_step_l: float
    jar_volume_l: Annotated[float | None, Field(description="What the open jar holds when full.")]
    rate_ml_min: float | None
    rate_from: str | None
    jar_full_at: AwareDatetime | None
    offered_volume_l: Annotated[
        float | None, Field(description="What the scale says is in the open jar by now.")
    ]
    offered: Annotated[list[OfferBody], Field(description="By the scale, where one stands.")]
    running_pure_alcohol_l: float | None
    share_of_charge: float | None
    proposals: list[ProposalBody]


class RecordNow(BaseModel):
    """What goes on now."""

    version: Annotated[int, Field(description="Grows with every entry of the record.")]
    runs: list[RunNow]


@router.get("/now")
async def now(house: Housed) -> RecordNow:
    """Return the runs that are on, and what fits next in each."""
    seen = Seen.on(house.board, house.now)
    known = measured(house)
    return await run_in_threadpool(_now, house, seen, known)


def _now(house: House, seen: Seen, known: Known | None) -> RecordNow:
    found = runs(house.reader.engine, col(Occupancy.effective_at) <= seen.at)
    on = [one for one in found if one.ended_at is None or one.ended_at > seen.at]
    return RecordNow(
        version=house.record.version,
        runs=[_run_now(_Look(house, read_of(house.reader.engine, one), seen, known)) for one in on],
    )


@dataclass(frozen=True, slots=True)
class _Look:
    """A run and everything that is asked to tell how it goes."""

    house: House
    read: RunRead
    seen: Seen
    barometer: Known | None

    @property
    def vessel(self) -> str | None:
        return self.read.still.name if self.read.still else None

    def scale(self) -> Scale | None:
        spot = self.seen.of(self.vessel, "spout", MASS.name)
        if spot is None:
            return None
        return Scale(spot.value, comes_kg_min(self.house, spot.place_id, self.seen.at))

    def expected(self) -> Expected:
        if self.read.run.stage in SHOWS_NO_STRENGTH:
            return Expected(None, "A cleaning run shows no strength.")
        head = self.seen.of(self.vessel, "head")

        def head_then(began: datetime, ended: datetime) -> float | None:
            return mean_over(self.house, head.place_id, began, ended) if head else None

        def pressure_hpa() -> float:
            return pressure_now(self.house, self.barometer).pressure_hpa

        return expected_strength(self.read.jars, head, head_then, pressure_hpa, self.seen.at)

    def came_l(self, jar: Collected, abv: float | None) -> float | None:
        """Return what the scale says came into a jar."""
        spot = self.seen.of(self.vessel, "spout", MASS.name)
        if spot is None:
            return None
        until = jar.ended_at or self.seen.at
        mass_kg = came_kg(self.house, spot.place_id, jar.jar.effective_at, until)
        return None if mass_kg is None else volume_of_l(mass_kg, abv)


def _run_now(look: _Look) -> RunNow:
    read, at = look.read, look.seen.at
    went = poured(look.house.reader.engine, [one.jar.about for one in read.jars])
    shown = run_body(read, went)
    expected = look.expected()
    spout = look.seen.of(look.vessel, "spout")
    last = read.jars[-1] if read.jars else None
    return RunNow(
        **dict(shown),
        fitting_mark=fitting_mark(read.run.stage, read.marks),
        next_number=last.jar.number + 1 if last else 1,
        expected_abv=expected.abv,
        expected_reading_abv=expected_on_scale(expected.abv, spout.value if spout else None),
        expected_why=expected.why,
        liquid_temperature_c=round(spout.value, 1) if spout else None,
        liquid_temperature_from="spout" if spout else None,
        running_pure_alcohol_l=shown.totals.pure_alcohol_l if last else None,
        share_of_charge=shown.totals.share_of_charge if last else None,
        proposals=_proposals(look),
        **_filling(look, shown.jars, expected.abv, at),
    )


def _proposals(look: _Look) -> list[ProposalBody]:
    return [
        ProposalBody(kind=one.kind, at=one.at, why=one.why)
        for one in proposed(look.house, look.read)
    ]


def _filling(
    look: _Look, bodies: Sequence[JarBody], abv: float | None, at: datetime
) -> dict[str, Any]:
    """Say how fast it comes over, and when the open jar is full."""
    jars = look.read.jars
    opened = open_jar(jars)
    rate: Rate | None = rate_now(jars, look.scale(), abv, at)
    vessel = look.read.jar_vessels.get(opened.jar.number) if opened else None
    holds_l = vessel.volume_l if vessel else None
    offers = {one.jar.about: look.came_l(one, abv) for one in jars[-2:]}
    came_l = offers.get(opened.jar.about) if opened else None
    return {
        "open_jar": next((one for one in bodies if opened and one.id == opened.jar.about), None),
        "volume_step_l": step_l(holds_l),
        "jar_volume_l": holds_l,
        "rate_ml_min": round(rate.ml_min, 1) if rate else None,
        "rate_from": rate.source if rate else None,
        "jar_full_at": full_at(opened, holds_l, rate, came_l, at) if opened else None,
        "offered_volume_l": None if came_l is None else round(came_l, 3),
        "offered": [
            OfferBody(jar_id=jar, volume_l=round(volume_l, 3))
            for jar, volume_l in offers.items()
            if volume_l is not None
        ],
    }


def fitting_mark(purpose: str, marks: Sequence[Mark]) -> MarkKind | None:
    """Return the mark that comes next: the first of its kinds after the last one placed."""
    order = DIVIDING if purpose in CUTS else WITHOUT_CUTS
    placed = {mark.kind for mark in marks}
    last = max((place for place, kind in enumerate(order) if kind in placed), default=-1)
    return order[last + 1] if last + 1 < len(order) else None
