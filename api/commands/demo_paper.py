"""The demonstration's older runs, from its crew's paper: no probe watched them.

One of each purpose that the watched batches have not, a wash that took two strips, and low wines
of two batches run together. Invented, like all of the demonstration.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from api.commands import demo_cask, demo_store
from api.commands.demo_reading import CELLAR_C, Reading, Told
from api.commands.demo_store import GIN, OLDER_HEARTS, TRIAL_HEARTS
from logger.store.record_tables import Batch, Lot, Mark, Transfer
from logger.store.tables import Fact, Occupancy

FIRST_DAY: Final = 17.0  # days before the probes
BREWHOUSE_C: Final = 20.0
POOL: Final = "feints pool"
DRAIN: Final = None  # away
PAPER_MASH: Final = "A mash before the probes, on paper only."
KINDS_MADE: Final = {"strip": "low_wines"}  # by purpose; the others make spirit


@dataclass(frozen=True, slots=True)
class Cut:
    """What a run gave from a mark on: how much, how strong, and where it went."""

    after_h: float
    mark: str
    volume_l: float
    abv: float | None  # None: a cleaning run shows no strength
    goal: str | None
    read_hot: bool = False  # what the glass showed in the warm liquid, put down as if at 20 °C


@dataclass(frozen=True, slots=True)
class Charge:
    """What a still was filled with: all of a lot, or some litres of it.

    The lot came from outside or a fermenter (`came`), was merged from others, or was there before.
    """

    kind: str
    name: str
    came: tuple[float, float] | None = None  # litres and % vol
    merged: tuple[str, ...] = ()
    litres: float | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """A run as the crew noted it."""

    batch: str
    note: str
    kind_of_wash: str
    purpose: str
    days_before: float
    lasted_h: float
    charge: Charge
    origin: str
    cuts: tuple[Cut, ...]
    left: tuple[float, float | None]  # in the pot, litres and % vol
    backset: str | None = DRAIN  # what is left, where it is kept for the next mash


RUNS: Final = (
    Run("first fire", "A new still, cleaned and fired before anything is drunk of it.", "other",
        "cleaning", 16.0, 3.0, Charge("water", "water with vinegar", (80.0, 0.0)), "The well.",
        (Cut(0.9, "first_drop", 6.0, None, DRAIN),), (73.5, None)),
    Run("first fire", "", "other",
        "sacrificial", 15.0, 4.0, Charge("low_wines", "bought for the first fire", (60.0, 20.0)),
        "Bought; not for drinking.",
        (Cut(0.9, "first_drop", 14.0, 66.0, DRAIN),), (45.5, 5.5)),
    Run("rye trial", "One slow run instead of two.", "grain",
        "single", 13.0, 8.0, Charge("wash", "wash rye trial", (200.0, 7.6)),
        "A trial mash, on paper only.",
        (Cut(1.2, "first_drop", 0.4, 78.0, DRAIN), Cut(1.5, "foreshots_end", 1.2, 75.0, POOL),
         Cut(1.8, "hearts", 10.6, 62.0, TRIAL_HEARTS), Cut(4.6, "tails", 9.2, 36.0, POOL)),
        (178.0, 2.4)),
    Run("feints 1", "What the pool had gathered, run once more.", "grain",
        "feints", 11.0, 7.0, Charge("feints", POOL, litres=60.0), "",
        (Cut(1.0, "first_drop", 0.5, 84.0, DRAIN), Cut(5.4, "tails", 4.5, 42.0, POOL),
         Cut(1.2, "hearts", 20.0, 78.0, "spirit of feints")),
        (34.5, 12.6)),
    Run("gin 1", "Juniper, coriander and lemon peel in bought neutral spirit.", "other",
        "botanical", 10.0, 5.0, Charge("spirit", "neutral spirit", (40.0, 45.0)),
        "Bought from a licensed house.",
        (Cut(0.9, "first_drop", 0.3, 85.0, DRAIN), Cut(1.0, "hearts", 16.5, 79.0, GIN),
         Cut(3.9, "tails", 4.0, 48.0, POOL)),
        (19.0, 14.0)),
    Run("rye a", "More wash than the pot takes: stripped in two.", "grain",
        "strip", 9.5, 5.5, Charge("wash", "wash rye a", (320.0, 7.9), litres=160.0), PAPER_MASH,
        (Cut(1.3, "first_drop", 40.0, 28.0, "low wines rye a"),), (118.0, 1.1)),
    Run("rye a", "", "grain",
        "strip", 9.0, 5.5, Charge("wash", "wash rye a"), PAPER_MASH,
        (Cut(1.2, "first_drop", 40.5, 27.7, "low wines rye a"),), (118.0, 1.1)),
    Run("rye b", "", "grain",
        "strip", 8.5, 6.0, Charge("wash", "wash rye b", (170.0, 7.6)), PAPER_MASH,
        (Cut(1.4, "first_drop", 42.0, 27.6, "low wines rye b"),), (126.0, 0.95),
        demo_store.BACKSET),
    Run("rye a and b", "The low wines of two batches, run together.", "grain",
        "spirit", 8.0, 8.0,
        Charge("low_wines", "low wines rye a and b", merged=("low wines rye a", "low wines rye b")),
        "", (Cut(1.2, "first_drop", 0.6, 84.0, DRAIN), Cut(1.4, "foreshots_end", 3.0, 82.0, POOL),
             Cut(1.9, "hearts", 24.0, 74.0, OLDER_HEARTS), Cut(5.3, "tails", 22.5, 43.0, POOL)),
        (74.0, 4.6)),
    Run("rye c", "Its low wines were read hot, as the balance suspects.", "grain",
        "strip", 7.0, 5.5, Charge("wash", "wash rye c", (150.0, 7.5)), PAPER_MASH,
        (Cut(1.3, "first_drop", 39.0, 29.5, "low wines rye c", read_hot=True),), (109.0, 1.0)),
)  # fmt: skip
POOL_L: Final = (70.0, 38.0)  # gathered in years before this record


def runs(told: Told, still: UUID, pool: Lot) -> Iterator[Fact]:
    """Write down the older runs of a still, what they gave to the pool, and the older cask."""
    came = told.spirit(*POOL_L, CELLAR_C, 0.003)
    yield told.first(
        Transfer, pool.effective_at, to_lot=pool.about, kind="receive",
        text="Gathered before this record.", **came.columns,
    )  # fmt: skip
    lots = {POOL: pool}
    batches: set[str] = set()
    for run in RUNS:
        if run.batch not in batches:
            batches.add(run.batch)
            yield told.first(
                Batch, _began(told, run), name=run.batch, note=run.note,
                kind_of_wash=run.kind_of_wash, on_grain=False,
            )  # fmt: skip
        yield from _Paper(told, run, lots).written(still)
    hearts = lots[OLDER_HEARTS]
    [cut] = [one for run in RUNS for one in run.cuts if one.goal == OLDER_HEARTS]
    assert cut.abv is not None  # noqa: S101 - of a run that shows strengths
    later = hearts.effective_at + timedelta(hours=14)
    yield from demo_cask.filled(told, hearts, later, cut.volume_l, cut.abv)
    yield from demo_store.kept(told, lots)


def _began(told: Told, run: Run) -> datetime:
    return told.began - timedelta(days=run.days_before)


@dataclass(frozen=True, slots=True)
class _Paper:
    told: Told
    run: Run
    lots: dict[str, Lot]  # by name; grows

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
        yield from self._left(held, ended - timedelta(minutes=5))

    def _left(self, held: Occupancy, at: datetime) -> Iterator[Fact]:
        """Let out what is left in the pot, or keep it."""
        left = self._read(*self.run.left).columns
        if self.run.backset is DRAIN:
            yield self.told.first(
                Transfer, at, from_lot=held.about, kind="discard", text="Left in the pot.", **left
            )
            return
        yield self._lot("backset", self.run.backset, at)
        there = self.lots[self.run.backset].about
        yield self.told.first(
            Transfer, at, from_lot=held.about, to_lot=there, kind="collect", **left
        )

    def _charge(self, held: Occupancy) -> Iterator[Fact]:
        """Fill the still from a lot, once that is there."""
        told, charge, at = self.told, self.run.charge, held.effective_at - timedelta(hours=1)
        if charge.name not in self.lots:
            yield self._lot(charge.kind, charge.name, at, origin=self.run.origin)
        source = self.lots[charge.name].about
        if charge.came is not None:
            came = self._read(*charge.came).columns
            yield told.first(Transfer, at, to_lot=source, kind="receive", **came)
        for name in charge.merged:
            other = self.lots[name].about
            yield told.first(Transfer, at, from_lot=other, to_lot=source, kind="merge")
        columns: dict[str, Any] = {}
        if charge.litres is not None:
            some = Reading(
                volume_l=charge.litres, volume_temperature_c=CELLAR_C, volume_error_l=0.3
            )
            columns = some.columns
        yield told.first(
            Transfer, held.effective_at, from_lot=source, to_lot=held.about, kind="charge",
            **columns,
        )  # fmt: skip

    def _lot(self, kind: str, name: str, at: datetime, origin: str = "") -> Lot:
        made = self.told.first(Lot, at, kind=kind, name=name, batch=self.run.batch, origin=origin)
        self.lots[name] = made
        return made

    def _taken(self, held: Occupancy, cut: Cut, at: datetime) -> Iterator[Fact]:
        """Measure what came over after a mark, and put it where it went."""
        told = self.told
        columns: dict[str, Any] = self._read(cut.volume_l, cut.abv).columns
        if cut.read_hot:
            columns |= {"reading_abv": cut.abv, "temperature_c": 20.0, "volume_temperature_c": None}
        goal = cut.goal
        if goal is DRAIN:
            yield told.first(Transfer, at, from_lot=held.about, kind="discard", **columns)
            return
        if goal not in self.lots:
            yield self._lot(KINDS_MADE.get(self.run.purpose, "spirit"), goal, at)
        there = self.lots[goal].about
        yield told.first(Transfer, at, from_lot=held.about, to_lot=there, kind="collect", **columns)

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
