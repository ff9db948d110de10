"""The demonstration's record: what its crew would have written down of two batches and a run.

Everything comes from the plant's own truth, as noted in the diary, and is read as instruments read
it: with their errors, at the liquid's temperature, on their scales. Nobody's record; invented.
"""

from collections.abc import Generator, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any, Final

from sqlalchemy import Engine

from api.commands import demo_cellar, demo_jars, demo_paper, demo_slips, demo_store
from api.commands.demo_diary import Diary, StillSeen, TankSeen
from api.commands.demo_reading import Reading, Told
from calc.hydrometer import water_density
from logger.plant import distillery
from logger.plant.distillery import CHARGE_ABV, CHARGE_C, CHARGE_L
from logger.store import facts
from logger.store.record_tables import (
    Batch,
    JarVessel,
    Lot,
    Mark,
    Measure,
    StageEntry,
    Transfer,
)
from logger.store.tables import Fact, Occupancy

JARS: Final = range(1, 25)
JAR_L: Final = 3.0
TICKS: Final = ("vent_open", "outlet_clear", "element_covered", "water_proven", "receiver_placed")
REST_C: Final = (60.0, 64.0)
KEPT_BATCH: Final = "rye 0"  # its low wines are older than the probes
# What the crew had on paper of its ferment: days before the probes came, gravity at 20 °C.
ON_PAPER: Final = (
    (9.0, 1.0560), (8.0, 1.0240), (7.0, 1.0060), (6.0, 1.0005), (5.0, 0.9995), (4.0, 0.9995),
)  # fmt: skip
YEAST: Final = "dried distiller's yeast"
NUTRIENT: Final = "yeast nutrient"
WORT_PH: Final = 5.4
PH_FALL: Final = 1.1
GRAVITY_EVERY_S: Final = 12 * 3600.0
LET_OUT: Final = timedelta(minutes=10)  # before the still is free again
Made = Generator[Fact, None, Lot]  # gives the lot that is there at the end
Seen = tuple[str, StillSeen, dict[str, Any]]  # a mark's kind, when, and what is said with it


def record(
    engine: Engine,
    common: dict[str, Any],
    occupancies: Sequence[Occupancy],
    past: tuple[Diary, datetime],
    live: tuple[Diary, datetime],
    until: datetime,
) -> None:
    """Write it all down, in one transaction; then close the books of what lies longest back."""
    told = Told(common, until)
    facts.record(engine, *_all(told, occupancies, past, live))
    facts.record(engine, *demo_store.closed(told, engine))


def _all(
    told: Told,
    occupancies: Sequence[Occupancy],
    past: tuple[Diary, datetime],
    live: tuple[Diary, datetime],
) -> Iterator[Fact]:
    yield from _jar_vessels(told)
    older = told.began - timedelta(days=demo_paper.FIRST_DAY)
    tub = demo_store.tub(told, older)
    pool = told.first(Lot, older, kind="feints", name=demo_paper.POOL, vessel=tub.about)
    yield from (tub, pool)
    still = next(one.vessel for one in occupancies if one.stage == "spirit")
    yield from demo_paper.runs(told, still, pool)
    for diary, began in (past, live):
        book = Book(told, diary, began, occupancies)
        for name in dict.fromkeys(mark.batch for mark in diary.run.crew.marks):
            yield from book.batch(name, pool)


def _jar_vessels(told: Told) -> Iterator[Fact]:
    for number in JARS:
        tare_kg = told.tare_kg(number)
        yield told.first(JarVessel, told.began, number=number, tare_kg=tare_kg, volume_l=JAR_L)


@dataclass(frozen=True, slots=True)
class Book:
    """One run of the plant, as its crew wrote it down."""

    told: Told
    diary: Diary
    began: datetime
    occupancies: Sequence[Occupancy]

    def at(self, t_s: float) -> datetime:
        """Return the moment of a second of the scenario."""
        return self.began + timedelta(seconds=t_s - distillery.BEGINS_AT_S)

    def batch(self, name: str, pool: Lot) -> Iterator[Fact]:
        """Write down a batch, from its mash to as far as it has come."""
        kept = name == KEPT_BATCH
        note = "Low wines kept back." if kept else "Rye and rye malt, off the grain."
        first = min(one.effective_at for one in self._held(name))
        first = self.began - timedelta(days=ON_PAPER[0][0]) if kept else first
        of = {"kind_of_wash": "grain", "on_grain": False}
        yield self.told.first(Batch, first, name=name, note=note, **of)
        if kept:
            yield from self._on_paper(name)
        yield from self._mash(name)
        wash = yield from self._ferment(name)
        low_wines: Lot | None = None
        for run in self._held(name):
            if run.stage == "strip" and wash is not None:
                low_wines = yield from self._strip(run, wash)
            elif run.stage == "spirit":
                if low_wines is None:
                    low_wines = yield from self._kept(run)
                yield from self._spirit(run, low_wines, pool)

    def _held(self, batch: str, *stages: str) -> list[Occupancy]:
        first, last = self.began, self.at(self.diary.run.t_s)
        return [
            one
            for one in self.occupancies
            if one.batch == batch
            and first <= one.effective_at <= last
            and (not stages or one.stage in stages)
        ]

    def _tank(self, batch: str, stage: str) -> list[TankSeen]:
        return [one for one in self.diary.tanks if (one.batch, one.stage) == (batch, stage)]

    def _mash(self, batch: str) -> Iterator[Fact]:
        """Write down bill, liquor, rest, and the wort as it went into the fermenter."""
        for mash in self._held(batch, "mash"):
            about: dict[str, Any] = {"batch": batch, "vessel": mash.vessel}
            at = mash.effective_at
            for kind, values in _script(self.diary, batch):
                yield self.told.first(StageEntry, at, kind=kind, **about, **values)
            rest_end = at + timedelta(minutes=80)
            low_c, high_c = REST_C
            yield self.told.first(
                StageEntry, at, kind="rest", name="saccharification", low_c=low_c, high_c=high_c,
                planned_min=60.0, ended_at=rest_end, **about,
            )  # fmt: skip
            yield self.told.first(StageEntry, rest_end, kind="iodine", starch_left=False, **about)
            wort = self._tank(batch, "mash")
            if wort:
                yield from self._gravity(wort[-1], about, self.at(wort[-1].t_s))
                litres = self.told.near(wort[-1].volume_l, 0.005, 0)
                yield self.told.first(
                    StageEntry, self.at(wort[-1].t_s), kind="volume", volume_l=litres,
                    temperature_c=round(wort[-1].temperature_c, 1), **about,
                )  # fmt: skip

    def _on_paper(self, batch: str) -> Iterator[Fact]:
        """Write down a ferment from before the probes, from its pitching until it was done."""
        pitched = self.began - timedelta(days=ON_PAPER[0][0])
        fed: dict[str, Any] = {"name": YEAST, "mass_kg": 0.3, "batch": batch}
        yield self.told.first(StageEntry, pitched, kind="yeast", **fed)
        for days, reading in ON_PAPER:
            yield self.told.first(
                StageEntry, self.began - timedelta(days=days), kind="gravity", batch=batch,
                reading_sg=reading, temperature_c=20.0, reference_temperature_c=20.0,
            )  # fmt: skip

    def _gravity(self, seen: TankSeen, about: dict[str, Any], at: datetime) -> Iterator[Fact]:
        """Give what a hydrometer for 20 °C shows in a sample as warm as the tank."""
        at_c = round(min(seen.temperature_c, 40.0), 1)
        shown = seen.sg * water_density(at_c) / water_density(20.0)
        reading = round((shown + 0.0003 * self.told.dice.standard_normal()) * 2000) / 2000
        yield self.told.first(
            StageEntry, at, kind="gravity", reading_sg=reading, temperature_c=at_c,
            reference_temperature_c=20.0, **about,
        )  # fmt: skip

    def _ferment(self, batch: str) -> Generator[Fact, None, Lot | None]:
        """Write down yeast and gravities; give the wash, measured, where it has fermented out."""
        found: Lot | None = None
        for held in self._held(batch, "ferment"):
            about: dict[str, Any] = {"batch": batch, "vessel": held.vessel}
            at = held.effective_at
            yield self.told.first(StageEntry, at, kind="yeast", name=YEAST, mass_kg=0.3, **about)
            fed = {"name": NUTRIENT, "mass_kg": 0.06}
            yield self.told.first(StageEntry, at, kind="nutrient", **fed, **about)
            seen = self._tank(batch, "ferment")
            for one in _looked_at(seen):
                yield from self._gravity(one, about, self.at(one.t_s))
                yield self._acidity(one, seen[0].sg, about)
            middle = seen[len(seen) // 3]
            smell = '["bread crust", "pear"]'
            yield self.told.first(
                StageEntry, self.at(middle.t_s), kind="smell", smell=smell, **about
            )
            if held.ended_at is not None:
                found = yield from self._wash(batch, held, seen[-1])
        return found

    def _acidity(self, seen: TankSeen, first_sg: float, about: dict[str, Any]) -> Fact:
        """Read a pH: it falls while the yeast works, and most of that early (invented)."""
        worked = min((first_sg - seen.sg) / 0.02, 1.0)
        ph = self.told.off(WORT_PH - PH_FALL * max(worked, 0.0), 0.03, 2)
        at_c = round(seen.temperature_c, 1)
        return self.told.first(
            StageEntry, self.at(seen.t_s), kind="ph", ph=ph, temperature_c=at_c, **about
        )

    def _wash(self, batch: str, held: Occupancy, last: TankSeen) -> Made:
        wash = self.told.first(
            Lot, held.effective_at, kind="wash", name=f"wash {batch}", vessel=held.vessel,
            batch=batch,
        )  # fmt: skip
        yield wash
        measured = Reading(
            volume_l=self.told.near(last.volume_l, 0.004, 0), volume_error_l=1.0,
            reading_abv=self.told.off(last.abv, 0.1, 1), temperature_c=20.0,
            instrument="from_gravities", reading_error_abv=0.2,
        )  # fmt: skip
        yield self.told.first(Measure, self.at(last.t_s), lot=wash.about, **measured.columns)
        return wash

    def _strip(self, run: Occupancy, wash: Lot) -> Made:
        """Charge from the fermenter, and run low wines into one receiver."""
        told, seen = self.told, self._still(run)
        assert run.ended_at is not None  # noqa: S101 - both batches are finished
        charge = Reading(volume_l=told.near(seen[0].pot_l, 0.003, 0), volume_error_l=1.0)
        yield told.first(
            Transfer, run.effective_at, from_lot=wash.about, to_lot=run.about, kind="charge",
            **charge.columns,
        )  # fmt: skip
        yield told.first(
            Transfer, run.effective_at + timedelta(minutes=5), from_lot=wash.about, kind="discard",
            text="Grain and what it kept.",
        )  # fmt: skip
        yield from self._marks(run, seen)
        low_wines = told.first(
            Lot, run.effective_at, kind="low_wines", name=f"low wines {run.batch}",
            batch=run.batch,
        )  # fmt: skip
        yield low_wines
        last = seen[-1]
        over = told.spirit(
            last.collected_l, 100.0 * last.collected_pure_l / last.collected_l, 18.5, 0.003
        )
        yield told.first(
            Transfer, run.ended_at - LET_OUT, from_lot=run.about, to_lot=low_wines.about,
            kind="collect", **over.columns,
        )  # fmt: skip
        yield from self._backset(run, last)
        return low_wines

    def _backset(self, run: Occupancy, last: StillSeen) -> Iterator[Fact]:
        """Let out what is left in the pot, measured by its gauge glass."""
        assert run.ended_at is not None  # noqa: S101 - asked of runs that are over
        left = Reading(
            volume_l=self.told.near(last.pot_l, 0.005, 0), volume_error_l=1.0,
            reading_abv=self.told.off(last.pot_abv, 0.03, 1), temperature_c=20.0,
            instrument="density_meter", reading_error_abv=0.05,
        )  # fmt: skip
        yield self.told.first(
            Transfer, run.ended_at - LET_OUT, from_lot=run.about, kind="discard",
            text="Left in the pot.", **left.columns,
        )  # fmt: skip

    def _kept(self, run: Occupancy) -> Made:
        """Receive low wines of batches before this record began, for the run that goes on."""
        told = self.told
        kept = told.first(
            Lot, self.began, kind="low_wines", name="low wines kept", batch=run.batch,
            origin="Batches before this record.",
        )  # fmt: skip
        yield kept
        came = told.spirit(CHARGE_L, CHARGE_ABV, CHARGE_C, 0.003)
        yield told.first(Transfer, self.began, to_lot=kept.about, kind="receive", **came.columns)
        return kept

    def _spirit(self, run: Occupancy, low_wines: Lot, pool: Lot) -> Iterator[Fact]:
        """Write down charge, marks and jars; and, when it is over, what became of the jars."""
        seen = self._still(run)
        yield self.told.first(
            Transfer, run.effective_at, from_lot=low_wines.about, to_lot=run.about, kind="charge"
        )
        yield from self._marks(run, seen)
        jars = demo_jars.jars(self.told, run, seen, self.at)
        yield from (jar for jar, _ in jars)
        if run.ended_at is None:
            return
        yield from demo_slips.of_a_run(self.told, run, [jar for jar, _ in jars])
        yield from self._backset(run, seen[-1])
        yield from demo_cellar.after(self.told, run, jars, pool)

    def _still(self, run: Occupancy) -> list[StillSeen]:
        end = run.ended_at or self.at(self.diary.run.t_s)
        return [one for one in self.diary.still if run.effective_at <= self.at(one.t_s) < end]

    def _marks(self, run: Occupancy, seen: Sequence[StillSeen]) -> Iterator[Fact]:
        """Tick the list, and press the marks at what is seen, some seconds late."""
        for key in TICKS:
            yield self.told.first(
                StageEntry, run.effective_at, kind="tick", name=key, refers=run.about,
                batch=run.batch, vessel=run.vessel,
            )  # fmt: skip
        for kind, one, more in _pressed(run, list(_seen_marks(run, seen))):
            late_s = abs(self.told.dice.normal(0.0, 8.0))
            at = min(self.at(one.t_s) + timedelta(seconds=late_s), self.told.until)
            at = at if run.ended_at is None else min(at, run.ended_at)
            yield self.told.first(Mark, at, run=run.about, kind=kind, **more)


def _script(diary: Diary, batch: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Give the bill and the liquor of a batch, as the crew's script has them."""
    now = ""
    for one in diary.run.crew.script.in_turn:
        if one.name == "batch":
            now = str(one.values[0])
        elif now == batch and one.name == "add_grain":
            name = str(one.values[1]).replace(" ", "-")
            yield "grain", {"mass_kg": one.values[0], "name": name}
        elif now == batch and one.name == "pour_water" and one.values[2] == "mash tun":
            yield "liquor", {"volume_l": one.values[0], "temperature_c": one.values[1]}


def _looked_at(seen: Sequence[TankSeen]) -> Iterable[TankSeen]:
    """Choose when a crew takes a gravity: twice a day."""
    due_s = 0.0
    for one in seen:
        if one.t_s >= due_s:
            yield one
            due_s = one.t_s + GRAVITY_EVERY_S


def _pressed(run: Occupancy, seen: list[Seen]) -> list[Seen]:
    """Leave out the last change of heat of a run that is on: it waits to be confirmed.

    It is seen in the temperatures, and proposed from them; so are, of the runs the demonstration
    goes on with, all that nobody presses.
    """
    changes = [one for one in seen if one[0] == "power"]
    return [one for one in seen if run.ended_at is not None or one is not changes[-1]]


def _seen_marks(run: Occupancy, seen: Sequence[StillSeen]) -> Iterator[Seen]:
    powers = [next(group) for _, group in groupby(seen, key=lambda one: one.power_kw)]
    for one in powers:
        yield "power", one, {"power_kw": one.power_kw}
    over = [one for one in seen if one.collected_l > 0.0]
    if over:
        yield "first_drop", over[0], {"source": "proposal"}
    names = [next(group) for _, group in groupby(over, key=lambda one: one.receiver)]
    for one in names:
        if one.receiver == "heads":
            yield "foreshots_end", one, {"smell": '["nail varnish"]'}
        elif one.receiver.startswith("hearts"):
            yield "hearts", one, {"smell": '["rye bread", "clean"]'}
        elif one.receiver == "feints":
            yield "tails", one, {"smell": '["wet cardboard"]'}
    off = [one for one in powers if one.power_kw == 0.0 and one.collected_l > 0.0]
    if off and run.ended_at is not None:
        yield "end", off[-1], {}
