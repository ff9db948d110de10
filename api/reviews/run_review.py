"""A run's figures as they are sent."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from math import hypot

from api.record.run_bodies import Poured, content_body, jar_bodies, mark_body, share
from api.reviews.alarms_told import Spell, says
from api.reviews.bodies import (
    AlarmSpellBody,
    AmountsBody,
    CameBody,
    ClockChangeBody,
    CutBody,
    EstimatesBody,
    FollowedBody,
    GapBody,
    JumpBody,
    MomentBody,
    PhaseBody,
    PowerChangeBody,
    RatePointBody,
    ReviewJarBody,
    RunFactsBody,
    RunReviewBody,
    SentenceBody,
    SeriesBody,
    SilenceBody,
    StrengthPointBody,
    SumPointBody,
    UsedBody,
)
from api.reviews.collecting import Amounts, minutes_of, rate_ml_min
from api.reviews.figures import Figures
from api.reviews.gaps_told import NO_ESTIMATES, gaps
from api.reviews.jumps import Jump, what_next
from api.reviews.moments import Moment
from api.reviews.phases import Phase
from api.reviews.summary import summary
from api.reviews.usage import Used
from api.reviews.words import MOMENTS, PHASES, PURPOSES, place_name
from logger.degrees import Degrees, Unit
from logger.store.record_rules import SHOWS_NO_STRENGTH


def run_review(figures: Figures, poured: Poured, estimates: EstimatesBody | None) -> RunReviewBody:
    """Show a run, reviewed."""
    read, ground = figures.ground.read, figures.ground
    return RunReviewBody(
        run=facts_body(figures),
        summary=_summary(figures, estimates),
        moments=[_moment(one, figures) for one in figures.moments],
        phases=[_phase(one, figures) for one in figures.phases],
        cuts=[CutBody(cut=cut, collected=amounts_body(one, figures)) for cut, one in figures.cuts],
        totals=totals_body(figures),
        marks=[mark_body(one) for one in read.marks],
        jars=_jars(figures, poured),
        alarms=[_spell(one, ground.site.unit) for one in ground.alarms],
        power_changes=_powers(figures),
        notes=[mark_body(one) for one in read.marks if one.kind in {"note", "other"}],
        series=_series(figures),
        places=sorted({one.place_id for one in ground.lines.lines if one.place_id}),
        jumps=[_jump(one, figures) for one in figures.jumps],
        silences=[
            SilenceBody(place=one.place, from_at=one.from_at, to_at=one.to_at, minutes=one.minutes)
            for one in figures.silences
        ],
        energy=used_body(figures.energy, "kWh"),
        energy_kwh_per_l=figures.per_litre(figures.energy),
        water=used_body(figures.water, "L"),
        water_l_per_l=figures.per_litre(figures.water),
        estimates=estimates,
        gaps=[
            GapBody(about=one.about, why=one.why)
            for one in (*gaps(figures), *(() if estimates else (NO_ESTIMATES,)))
        ],
    )


def _summary(figures: Figures, estimates: EstimatesBody | None) -> list[SentenceBody]:
    told = [SentenceBody(about=one.about, text=one.text) for one in summary(figures)]
    scored = [] if estimates is None or not estimates.scores else [estimates.says]
    return [*told, *(SentenceBody(about="estimates", text=one) for one in scored)]


def facts_body(figures: Figures) -> RunFactsBody:
    """Show what was entered of a run."""
    ground, read = figures.ground, figures.ground.read
    run, charge, still = read.run, figures.charge, read.still
    size_l = still.volume_l if still else None
    volume_l = charge.volume_l if charge else None
    return RunFactsBody(
        id=run.about,
        version=run.version,
        vessel_id=run.vessel,
        vessel=still.name if still else None,
        batch=run.batch,
        batch_id=ground.batch.about if ground.batch else None,
        purpose=run.stage,
        purpose_name=PURPOSES.get(run.stage, run.stage),
        shows_strength=run.stage not in SHOWS_NO_STRENGTH,
        started_at=run.effective_at,
        ended_at=run.ended_at,
        is_on=run.ended_at is None or run.ended_at > ground.until,
        from_ms=_ms(run.effective_at),
        to_ms=_ms(ground.until),
        duration_min=(ground.until - run.effective_at).total_seconds() / 60.0,
        who=run.who,
        time_zone=ground.site.zone.key,
        clock_changes=[
            ClockChangeBody(at=one.at, by_min=round(one.by.total_seconds() / 60.0))
            for one in figures.clock_changes
        ],
        charge=content_body(charge) if charge else None,
        fill_fraction=share(volume_l, size_l),
    )


def totals_body(figures: Figures) -> CameBody:
    """Show what came over in all."""
    came, drawn = figures.totals, figures.drawn
    errors = (came.pure_alcohol_error_l, (drawn.pure_alcohol_error_l if drawn else None) or 0.0)
    return CameBody(
        volume_l=figures.came_l,
        pure_alcohol_l=figures.pure_alcohol_l if figures.has_alcohol else None,
        pure_alcohol_error_l=hypot(*errors) if figures.has_alcohol else None,
        is_expected=came.is_expected,
        jars_without_volume=came.jars_without_volume,
        without_jars=amounts_body(drawn, figures) if drawn else None,
        share_of_charge=figures.recovered,
    )


def amounts_body(one: Amounts, figures: Figures) -> AmountsBody:
    """Show what several jars come to."""
    collected_l = figures.pure_alcohol_l or None
    return AmountsBody(
        **asdict(one),
        share_of_charge=share(one.pure_alcohol_l, figures.share_base_l),
        share_of_collected=share(one.pure_alcohol_l, collected_l),
    )


def used_body(one: Used, unit: str) -> UsedBody:
    """Show what was used."""
    return UsedBody(amount=one.amount, unit=unit, basis=one.basis, says=one.says)


def _moment(one: Moment, figures: Figures) -> MomentBody:
    lines, at_s = figures.ground.lines, one.at.timestamp()
    pot, head = lines.of("pot"), lines.of("head")
    return MomentBody(
        key=one.key,
        name=MOMENTS[one.key],
        at=one.at,
        basis=one.basis,
        why=one.why,
        pot_c=pot.at(at_s) if pot else None,
        head_c=head.at(at_s) if head else None,
    )


def _phase(one: Phase, figures: Figures) -> PhaseBody:
    came = one.collected
    return PhaseBody(
        key=one.key,
        name=PHASES[one.key],
        from_at=one.from_at,
        to_at=one.to_at,
        minutes=one.minutes,
        is_open=one.is_open,
        collected=amounts_body(came, figures) if came else None,
        splits_jar=one.splits_jar,
        rate_ml_min=1000.0 * came.volume_l / one.minutes if came and one.minutes else None,
        energy=used_body(figures.heating.used(one.from_at, one.to_at), "kWh"),
    )


def _jars(figures: Figures, poured: Poured) -> list[ReviewJarBody]:
    read = figures.ground.read
    sums = figures.running
    volumes = {one.at: one.volume_l for one in sums[1:]}
    collected_l = figures.pure_alcohol_l or None
    bodies = jar_bodies(read.jars, figures.share_base_l, poured)
    return [
        ReviewJarBody(
            **dict(body),
            minutes=minutes_of(one),
            rate_ml_min=rate_ml_min(one),
            running_volume_l=volumes.get(one.ended_at) if one.ended_at else None,
            share_of_collected=share(one.running_pure_alcohol_l, collected_l),
        )
        for one, body in zip(read.jars, bodies, strict=True)
    ]


def _spell(one: Spell, unit: Unit) -> AlarmSpellBody:
    return AlarmSpellBody(**asdict(one), says=says(one, unit))


def _powers(figures: Figures) -> list[PowerChangeBody]:
    marks = [one for one in figures.ground.read.marks if one.kind == "power"]
    before = [None, *(one.power_kw for one in marks)]
    return [
        PowerChangeBody(
            at=one.effective_at, power_kw=one.power_kw, before_kw=was, text=one.text,
            mark_id=one.about,
        )
        for one, was in zip(marks, before, strict=False)
    ]  # fmt: skip


def _series(figures: Figures) -> SeriesBody:
    return SeriesBody(
        strengths=[
            StrengthPointBody(
                at_ms=_ms(one.at), abv=one.abv, abv_error=one.error_abv, jar=one.jar
            )
            for one in figures.strengths
        ],
        rates=[
            RatePointBody(
                from_ms=_ms(one.from_at), to_ms=_ms(one.to_at), ml_min=one.ml_min, jar=one.jar
            )
            for one in figures.rates
        ],
        collected=[
            SumPointBody(
                at_ms=_ms(one.at), volume_l=one.volume_l, pure_alcohol_l=one.pure_alcohol_l,
                is_expected=one.is_expected,
            )
            for one in figures.running
        ],
    )  # fmt: skip


def _jump(one: Jump, figures: Figures) -> JumpBody:
    followed = what_next(one, figures.events)
    return JumpBody(
        **asdict(one),
        size_k=one.size_k,
        phase=figures.phase_at(one.from_at),
        is_usual=figures.is_usual(one),
        followed=[
            FollowedBody(
                kind=event.kind,
                at=event.at,
                after_s=round((event.at - one.from_at).total_seconds()),
                says=event.says,
            )
            for event in followed
        ],
        says=_jump_says(one, [event.says for event in followed], Degrees(figures.ground.site.unit)),
    )


def _jump_says(one: Jump, followed: Sequence[str], degrees: Degrees) -> str:
    way = "rose" if one.size_k > 0 else "fell"
    moved = f"The {place_name(one.place)} {way} from {degrees.at(one.from_c, 1)} to "
    moved += f"{degrees.at(one.to_c, 1)} within {_within(one)}."
    return f"{moved} {followed[0]}" if followed else f"{moved} Nothing followed within ten minutes."


def _within(one: Jump) -> str:
    seconds = (one.to_at - one.from_at).total_seconds()
    return f"{seconds:.0f} s" if seconds < 90.0 else f"{seconds / 60.0:.0f} min"


def _ms(at: datetime) -> int:
    return round(at.timestamp() * 1000)
