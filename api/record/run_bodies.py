"""How runs, marks and jars are shown."""

import json
from collections.abc import Mapping, Sequence
from typing import Annotated, Any
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.entries import Record, standing
from api.record.collected import Basis, Collected, totals
from api.record.entering import Entered
from api.record.runs_read import RunRead
from api.record.silent import without_strength
from api.record.words import Cut, InstrumentName, MarkKind, Purpose, Source
from logger.store.gauging import ROUNDING_L, Content, content_of
from logger.store.record_rules import SHOWS_NO_STRENGTH
from logger.store.record_tables import Jar, Mark, Transfer
from logger.store.tables import Fact, Occupancy

Litres = Annotated[float | None, Field(description="At 20 °C.")]


class ContentBody(BaseModel):
    """A quantity at 20 °C; each error is one standard error, null where the value is."""

    volume_l: Litres
    volume_error_l: float | None
    abv: float | None
    abv_error: float | None
    pure_alcohol_l: Litres
    pure_alcohol_error_l: float | None


class MarkBody(Entered):
    """A mark as it stands."""

    run_id: UUID
    kind: MarkKind
    at: AwareDatetime
    power_kw: float | None
    text: str
    smell: list[str]
    source: Source


class JarBody(Entered):
    """A jar as it stands: what was read, and what that is at 20 °C."""

    run_id: UUID
    number: int
    began_at: AwareDatetime
    ended_at: Annotated[AwareDatetime | None, Field(description="Null: it stands under the spout.")]
    volume_l: float | None
    volume_temperature_c: float | None
    volume_error_l: float | None
    mass_kg: Annotated[float | None, Field(description="By the scale, the jar with it.")]
    reading_abv: float | None
    temperature_c: float | None
    instrument: InstrumentName | None
    reading_error_abv: float | None
    cut: Cut | None
    text: str
    smell: list[str]
    lot_id: Annotated[UUID | None, Field(description="Where it was last poured.")]
    is_gone: Annotated[bool, Field(description="Nothing of it is left.")]
    left_volume_l: Annotated[
        float | None, Field(description="What is left of it at 20 °C; null where it is not known.")
    ]
    volume_at_20_c_l: float | None
    abv: Annotated[float | None, Field(description="At 20 °C.")]
    abv_error: float | None
    abv_basis: Annotated[
        Basis | None,
        Field(description="read; between two that were read; expected, which enters no books."),
    ]
    pure_alcohol_l: float | None
    pure_alcohol_error_l: float | None
    running_pure_alcohol_l: float | None
    running_is_expected: bool
    share_of_charge: Annotated[
        float | None, Field(description="What came over up to its end, of the charge's alcohol.")
    ]


class TotalsBody(BaseModel):
    """What came over in all, at 20 °C."""

    volume_l: float
    pure_alcohol_l: float
    pure_alcohol_error_l: float
    is_expected: bool
    jars_without_volume: int
    share_of_charge: float | None


class RunSummary(Record):
    """A run in a list."""

    vessel_id: UUID
    vessel: str | None
    batch: str
    purpose: Purpose
    started_at: AwareDatetime
    ended_at: AwareDatetime | None


class RunBody(RunSummary):
    """A run with its marks and jars."""

    charge: ContentBody | None
    fill_fraction: Annotated[
        float | None, Field(description="Of the still's size that the charge took up.")
    ]
    shows_strength: bool
    marks: list[MarkBody]
    jars: list[JarBody]
    totals: TotalsBody


Poured = Mapping[UUID, Sequence[Transfer]]  # what was taken from each jar, the first first


def content_body(content: Content) -> ContentBody:
    """Show a quantity."""
    strength = content.strength
    return ContentBody(
        volume_l=content.volume_l,
        volume_error_l=content.volume_error_l,
        abv=strength.abv if strength else None,
        abv_error=strength.error_abv if strength else None,
        pure_alcohol_l=content.pure_alcohol_l,
        pure_alcohol_error_l=content.pure_alcohol_error_l,
    )


def mark_body(mark: Mark) -> MarkBody:
    """Show a mark."""
    return MarkBody(
        **entry(mark),
        run_id=mark.run,
        kind=mark.kind,
        at=mark.effective_at,
        power_kw=mark.power_kw,
        text=mark.text,
        smell=json.loads(mark.smell),
        source=mark.source,
    )


def jar_body(one: Collected, base_l: float | None, poured: Poured) -> JarBody:
    """Show a jar; `base_l` is the pure alcohol of the charge."""
    content, jar = one.content, one.jar
    strength = content.strength if content else None
    running_l = one.running_pure_alcohol_l
    return JarBody(
        **_as_read(jar),
        **_went(one, poured.get(jar.about, ())),
        ended_at=one.ended_at,
        volume_at_20_c_l=content.volume_l if content else None,
        abv=strength.abv if strength else None,
        abv_error=strength.error_abv if strength else None,
        abv_basis=one.basis,
        pure_alcohol_l=content.pure_alcohol_l if content else None,
        pure_alcohol_error_l=content.pure_alcohol_error_l if content else None,
        running_pure_alcohol_l=running_l,
        running_is_expected=one.running_is_expected,
        share_of_charge=share(running_l, base_l),
    )


def run_summary(run: Occupancy, vessel: str | None) -> RunSummary:
    """Show a run in a list."""
    return RunSummary(**_run(run, vessel))


def run_body(read: RunRead, poured: Poured) -> RunBody:
    """Show a run."""
    charge, still = read.charge, read.still
    shows = read.run.stage not in SHOWS_NO_STRENGTH
    if charge is not None and not shows:
        charge = without_strength(charge)
    size_l = still.volume_l if still else None
    fills = charge is not None and charge.volume_l is not None and size_l is not None
    came = totals(read.jars)
    return RunBody(
        **_run(read.run, still.name if still else None),
        charge=content_body(charge) if charge else None,
        fill_fraction=charge.volume_l / size_l if fills else None,  # type: ignore[union-attr,operator]
        shows_strength=shows,
        marks=[mark_body(one) for one in read.marks],
        jars=jar_bodies(read.jars, read.share_base_l, poured),
        totals=TotalsBody(
            volume_l=came.volume_l,
            pure_alcohol_l=came.pure_alcohol_l,
            pure_alcohol_error_l=came.pure_alcohol_error_l,
            is_expected=came.is_expected,
            jars_without_volume=came.jars_without_volume,
            share_of_charge=share(came.pure_alcohol_l, read.share_base_l),
        ),
    )


def jar_bodies(jars: Sequence[Collected], base_l: float | None, poured: Poured) -> list[JarBody]:
    """Show jars."""
    return [jar_body(one, base_l, poured) for one in jars]


def share(part_l: float | None, base_l: float | None) -> float | None:
    """Return a part of the charge's alcohol; None where either is unknown."""
    return None if part_l is None or not base_l else part_l / base_l


def entry(fact: Fact) -> dict[str, Any]:
    """Return what every entry shows."""
    return standing(fact) | {"withdrawn": fact.withdrawn}


def _as_read(jar: Jar) -> dict[str, Any]:
    return entry(jar) | {
        "run_id": jar.run,
        "number": jar.number,
        "began_at": jar.effective_at,
        "volume_l": jar.volume_l,
        "volume_temperature_c": jar.volume_temperature_c,
        "volume_error_l": jar.volume_error_l,
        "mass_kg": jar.mass_kg,
        "reading_abv": jar.reading_abv,
        "temperature_c": jar.temperature_c,
        "instrument": jar.instrument,
        "reading_error_abv": jar.reading_error_abv,
        "cut": jar.cut,
        "text": jar.text,
        "smell": json.loads(jar.smell),
    }


def _went(one: Collected, moves: Sequence[Transfer]) -> dict[str, Any]:
    """Say where a jar was last poured, and what is left of it.

    Of one that was never measured nobody knows: poured into a lot, it is taken to be empty.
    """
    into = [move.to_lot for move in moves if move.to_lot is not None]
    left_l = _left_l(one.content, moves)
    is_gone = bool(into) if left_l is None else bool(moves) and left_l <= ROUNDING_L
    return {
        "lot_id": into[-1] if into else None,
        "is_gone": is_gone,
        "left_volume_l": 0.0 if is_gone else left_l,
    }


def _left_l(held: Content | None, moves: Sequence[Transfer]) -> float | None:
    if any(move.volume_l is None and move.mass_kg is None for move in moves):
        return 0.0  # all that was there went
    if held is None or held.volume_l is None:
        return None
    taken = [content_of(move, held.strength) for move in moves]
    return held.volume_l - sum((one.volume_l or 0.0) for one in taken if one is not None)


def _run(run: Occupancy, vessel: str | None) -> dict[str, Any]:
    return standing(run) | {
        "vessel_id": run.vessel,
        "vessel": vessel,
        "batch": run.batch,
        "purpose": run.stage,
        "started_at": run.effective_at,
        "ended_at": run.ended_at,
    }
