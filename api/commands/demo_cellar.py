"""What became of the demonstration's jars: blended, a cask filled, brought to strength, bottled."""

from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from api.commands.demo_jars import Made
from api.commands.demo_reading import CELLAR_C, FIRST_TASTED, SAMPLE_L, Reading, Told
from calc.contents import contents_by_volume
from calc.mixture import Mixture
from calc.proofing import dilution_by_weight
from logger.plant.fluid import ETHANOL_KG_L
from logger.store.record_tables import Lot, Measure, StageEntry, Transfer
from logger.store.tables import Fact, Occupancy

CASK_L: Final = 4.0
CASK_TARE_KG: Final = 6.4
STEPS_ABV: Final = (60.0, 50.0, 43.0)  # a step a visit, slowly
STEP: Final = timedelta(hours=13)
BOTTLE_L: Final = 0.5
SAMPLED_AFTER: Final = timedelta(hours=14)
NIGHT_KG: Final = 0.01  # what a dry cask drinks first (invented)
WATER: Final = {"reading_abv": 0.0, "temperature_c": 15.0, "instrument": "density_meter",
                "reading_error_abv": 0.0}  # fmt: skip


def after(told: Told, run: Occupancy, jars: Sequence[Made], pool: Lot) -> Iterator[Fact]:
    """Write down what was done with a run's jars, as far as there was time for it."""
    assert run.ended_at is not None  # noqa: S101 - asked of runs that are over
    at = run.ended_at + timedelta(hours=1)
    blend = told.first(
        Lot, run.ended_at, kind="spirit", name=f"hearts {run.batch}", batch=run.batch
    )
    yield blend
    for number, (jar, _) in enumerate(jars):
        goal = {"hearts": blend.about, "foreshots": None}.get(jar.cut or "", pool.about)
        kind = "discard" if goal is None else "blend" if goal == blend.about else "merge"
        when = at + timedelta(seconds=40 * number)
        yield told.first(Transfer, when, from_lot=jar.about, to_lot=goal, kind=kind)
    truth = _hearts(told, jars)
    at += timedelta(minutes=30)
    found = told.spirit(truth.volume_l(20.0), truth.abv(), CELLAR_C, 0.002)
    yield told.first(Measure, at, lot=blend.about, **found.columns)
    yield from _Cellar(told, run, blend).on(truth, at + timedelta(hours=1))


def _hearts(told: Told, jars: Sequence[Made]) -> Mixture:
    """Mix what the hearts truly hold."""
    whole = Mixture(0.0, 0.0)
    for jar, pure_l in jars:
        if jar.cut == "hearts" and jar.mass_kg is not None:
            ethanol_kg, held_kg = pure_l * ETHANOL_KG_L, jar.mass_kg - told.tare_kg(jar.number)
            whole += Mixture(ethanol_kg, max(held_kg - ethanol_kg, 0.0))
    return whole


@dataclass(frozen=True, slots=True)
class _Cellar:
    told: Told
    run: Occupancy
    spirit: Lot

    def on(self, truth: Mixture, at: datetime) -> Iterator[Fact]:
        """Fill the cask, then go on with the rest."""
        if self.run.batch == "rye 2":
            yield from self._cask(truth, at)
            truth = _part(truth, 1.0 - CASK_L / truth.volume_l(20.0))
        yield self.told.first(
            StageEntry, at, kind="proofing", batch=self.run.batch, lot=self.spirit.about,
            target_abv=STEPS_ABV[-1], daily_fall_abv=10.0, slow_from_abv=STEPS_ABV[0],
        )  # fmt: skip
        for target in STEPS_ABV:
            at += STEP
            if at > self.told.until:
                return
            truth = yield from self._water(truth, target, at)
        at += STEP / 2
        if at <= self.told.until:
            yield from self._bottles(truth, at)

    def _cask(self, truth: Mixture, at: datetime) -> Iterator[Fact]:
        told, batch = self.told, self.run.batch
        cask = told.first(Lot, at, kind="cask", name=f"cask 1 ({batch})", batch=batch)
        yield cask
        moved = Reading(volume_l=CASK_L, volume_temperature_c=20.0, volume_error_l=0.02)
        yield told.first(
            Transfer, at, from_lot=self.spirit.about, to_lot=cask.about, kind="move",
            **moved.columns,
        )  # fmt: skip
        full_kg = CASK_TARE_KG + contents_by_volume(CASK_L, truth.abv()).weight_in_air_kg
        yield from told.entry(
            at, kind="cask_weight", batch=batch, lot=cask.about,
            mass_kg=round(full_kg, 2), tare_kg=CASK_TARE_KG, text="Filled.",
        )  # fmt: skip
        later = at + SAMPLED_AFTER
        if later > told.until:
            return
        yield from told.entry(
            later, kind="sample", batch=batch, lot=cask.about, volume_l=SAMPLE_L,
            temperature_c=CELLAR_C, text=FIRST_TASTED,
        )  # fmt: skip
        left_kg = full_kg - contents_by_volume(SAMPLE_L, truth.abv()).weight_in_air_kg - NIGHT_KG
        yield from told.entry(
            later + timedelta(minutes=5), kind="cask_weight", batch=batch, lot=cask.about,
            mass_kg=round(left_kg, 2), tare_kg=CASK_TARE_KG,
            reading_abv=told.shown(truth.abv(), CELLAR_C), temperature_c=CELLAR_C,
        )  # fmt: skip

    def _water(self, truth: Mixture, target: float, at: datetime) -> Generator[Fact, None, Mixture]:
        """Add weighed water, wait, measure."""
        if truth.abv() <= target:
            return truth
        weight_kg = contents_by_volume(truth.volume_l(20.0), truth.abv()).weight_in_air_kg
        water = dilution_by_weight(weight_kg, truth.abv(), target)
        added_kg = round(water.water_weight_kg * 0.995, 2)  # a little short, on purpose
        yield self.told.first(
            Transfer, at, to_lot=self.spirit.about, kind="dilute", mass_kg=added_kg,
            text=f"Towards {target:g} % vol.", **WATER,
        )  # fmt: skip
        after = truth + Mixture.of_water(added_kg)
        found = self.told.spirit(after.volume_l(20.0), after.abv(), CELLAR_C, 0.002)
        measured = at + timedelta(hours=2)
        if measured <= self.told.until:
            yield self.told.first(Measure, measured, lot=self.spirit.about, **found.columns)
        return after

    def _bottles(self, truth: Mixture, at: datetime) -> Iterator[Fact]:
        told, batch = self.told, self.run.batch
        sample = Reading(volume_l=0.2, volume_temperature_c=20.0, volume_error_l=0.002)
        yield told.first(
            Transfer, at, from_lot=self.spirit.about, kind="sample", text="Kept for comparison.",
            **sample.columns,
        )  # fmt: skip
        count = int((truth.volume_l(20.0) - 0.5) / BOTTLE_L)
        yield from told.entry(
            at, kind="bottle_fill", batch=batch, lot=self.spirit.about, count=count,
            volume_l=BOTTLE_L, reading_abv=told.shown(truth.abv(), CELLAR_C),
            temperature_c=CELLAR_C, name=f"lot {batch}-1",
        )  # fmt: skip
        yield told.first(
            Transfer, at + timedelta(minutes=5), from_lot=self.spirit.about, kind="loss",
            text="Left in tub, funnel and filter.",
        )  # fmt: skip


def _part(whole: Mixture, share: float) -> Mixture:
    return Mixture(whole.ethanol_kg * share, whole.water_kg * share)
