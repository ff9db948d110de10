"""The demonstration's older runs, from its crew's paper: no probe watched them.

One of each purpose that the watched batches have not. Invented, like all of the demonstration.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from api.commands.demo_reading import Reading, Told
from logger.store.record_tables import Batch, Lot, Mark, Transfer
from logger.store.tables import Fact, Occupancy

FIRST_DAY: Final = 17.0  # days before the probes
CELLAR_C: Final = 17.0
BREWHOUSE_C: Final = 20.0
POOL: Final = "feints pool"
DRAIN: Final = None  # away


@dataclass(frozen=True, slots=True)
class Cut:
    """What a run gave from a mark on: how much, how strong, and where it went."""

    after_h: float
    mark: str
    volume_l: float
    abv: float | None  # None: a cleaning run shows no strength
    goal: str | None


@dataclass(frozen=True, slots=True)
class Run:
    """A run as the crew noted it."""

    batch: str
    note: str
    kind_of_wash: str
    purpose: str
    days_before: float
    lasted_h: float
    charge: tuple[str, str, float, float]  # kind and name of the lot, litres, % vol
    origin: str
    cuts: tuple[Cut, ...]
    left: tuple[float, float | None]  # in the pot, litres and % vol


RUNS: Final = (
    Run("first fire", "A new still, cleaned and fired before anything is drunk of it.", "other",
        "cleaning", 16.0, 3.0, ("water", "water with vinegar", 80.0, 0.0), "The well.",
        (Cut(0.9, "first_drop", 6.0, None, DRAIN),), (73.5, None)),
    Run("first fire", "", "other",
        "sacrificial", 15.0, 4.0, ("low_wines", "bought for the first fire", 60.0, 20.0),
        "Bought; not for drinking.",
        (Cut(0.9, "first_drop", 14.0, 66.0, DRAIN),), (45.5, 5.5)),
    Run("rye trial", "One slow run instead of two.", "grain",
        "single", 13.0, 8.0, ("wash", "wash rye trial", 200.0, 7.6), "A trial mash, on paper only.",
        (Cut(1.2, "first_drop", 0.4, 78.0, DRAIN), Cut(1.5, "foreshots_end", 1.2, 75.0, POOL),
         Cut(1.8, "hearts", 10.6, 62.0, "hearts rye trial"), Cut(4.6, "tails", 9.2, 36.0, POOL)),
        (178.0, 2.4)),
    Run("feints 1", "What the pool had gathered, run once more.", "grain",
        "feints", 11.0, 7.0, ("feints", POOL, 60.0, 38.0), "",
        (Cut(1.0, "first_drop", 0.5, 84.0, DRAIN), Cut(5.4, "tails", 4.5, 42.0, POOL),
         Cut(1.2, "hearts", 20.0, 78.0, "spirit of feints")),
        (34.5, 12.6)),
    Run("gin 1", "Juniper, coriander and lemon peel in bought neutral spirit.", "other",
        "botanical", 10.0, 5.0, ("spirit", "neutral spirit", 40.0, 45.0),
        "Bought from a licensed house.",
        (Cut(0.9, "first_drop", 0.3, 85.0, DRAIN), Cut(1.0, "hearts", 16.5, 79.0, "gin, as run"),
         Cut(3.9, "tails", 4.0, 48.0, POOL)),
        (19.0, 14.0)),
)  # fmt: skip
POOL_L: Final = (70.0, 38.0)  # gathered in years before this record


def runs(told: Told, still: UUID, pool: Lot) -> Iterator[Fact]:
    """Write down the older runs of a still, and what they gave to the pool."""
    came = told.spirit(*POOL_L, CELLAR_C, 0.003)
    yield told.first(
        Transfer, pool.effective_at, to_lot=pool.about, kind="receive",
        text="Gathered before this record.", **came.columns,
    )  # fmt: skip
    batches: set[str] = set()
    for run in RUNS:
        if run.batch not in batches:
            batches.add(run.batch)
            yield told.first(
                Batch, _began(told, run), name=run.batch, note=run.note,
                kind_of_wash=run.kind_of_wash, on_grain=False,
            )  # fmt: skip
        yield from _Paper(told, run, pool).written(still)


def _began(told: Told, run: Run) -> datetime:
    return told.began - timedelta(days=run.days_before)


@dataclass(frozen=True, slots=True)
class _Paper:
    told: Told
    run: Run
    pool: Lot

    def written(self, still: UUID) -> Iterator[Fact]:
        """Give the run, its charge, its marks with what came of each, and what was left."""
        told, run, began = self.told, self.run, _began(self.told, self.run)
        ended = began + timedelta(hours=run.lasted_h)
        held = told.first(
            Occupancy, began, vessel=still, batch=run.batch, stage=run.purpose, ended_at=ended
        )
        yield held
        yield from self._charge(held)
        for cut in run.cuts:
            at = began + timedelta(hours=cut.after_h)
            yield told.first(Mark, at, run=held.about, kind=cut.mark)
            yield from self._taken(held, cut, ended - timedelta(minutes=20))
        yield told.first(Mark, ended - timedelta(minutes=15), run=held.about, kind="end")
        left_l, abv = run.left
        yield told.first(
            Transfer, ended - timedelta(minutes=5), from_lot=held.about, kind="discard",
            text="Left in the pot.", **self._read(left_l, abv).columns,
        )  # fmt: skip

    def _charge(self, held: Occupancy) -> Iterator[Fact]:
        """Fill the still: from the pool, or with what came from outside for this run."""
        told, (kind, name, litres, abv) = self.told, self.run.charge
        if name == POOL:
            some = Reading(volume_l=litres, volume_temperature_c=CELLAR_C, volume_error_l=0.3)
            source, columns = self.pool, some.columns
        else:
            at = held.effective_at - timedelta(hours=1)
            source = told.first(
                Lot, at, kind=kind, name=name, batch=self.run.batch,
                origin=self.run.origin,
            )  # fmt: skip
            yield source
            came = self._read(litres, abv).columns
            yield told.first(Transfer, at, to_lot=source.about, kind="receive", **came)
            columns = {}
        yield told.first(
            Transfer, held.effective_at, from_lot=source.about, to_lot=held.about, kind="charge",
            **columns,
        )  # fmt: skip

    def _taken(self, held: Occupancy, cut: Cut, at: datetime) -> Iterator[Fact]:
        """Measure what came over after a mark, and put it where it went."""
        told = self.told
        columns: dict[str, Any] = self._read(cut.volume_l, cut.abv).columns
        if cut.goal is DRAIN:
            kind, goal = "discard", None
        elif cut.goal == POOL:
            kind, goal = "collect", self.pool.about
        else:
            made = told.first(Lot, at, kind="spirit", name=cut.goal, batch=self.run.batch)
            yield made
            kind, goal = "collect", made.about
        yield told.first(Transfer, at, from_lot=held.about, to_lot=goal, kind=kind, **columns)

    def _read(self, litres: float, abv: float | None) -> Reading:
        """Read a volume and, where a cleaning run does not keep it silent, a strength."""
        if abv is None:
            return Reading(volume_l=self.told.near(litres, 0.004, 0), volume_error_l=1.0)
        if abv < 15.0:  # an alcoholometer shows too little there: gravities of a boiled sample
            return Reading(
                volume_l=self.told.near(litres, 0.004, 0), volume_error_l=1.0,
                reading_abv=self.told.off(abv, 0.03, 1), temperature_c=BREWHOUSE_C,
                instrument="density_meter", reading_error_abv=0.05,
            )  # fmt: skip
        return self.told.spirit(litres, abv, CELLAR_C, 0.003)
