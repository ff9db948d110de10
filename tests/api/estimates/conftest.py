"""A furnished store with a run in it, and a desk on it that works when it is told to."""

from dataclasses import dataclass, field

import pytest

from api.estimates.desk import Desk
from api.estimates.estimate import Estimate
from logger.clock import MICRO
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database, facts
from logger.store.tables import Occupancy, Place, Placement, Vessel
from logger.store.types import to_datetime

START = 1_790_000_000  # 2026-09-21T14:13:20Z, where the fake clock begins
PLACES = ("pot", "head", "spout", "room")
BAROMETER = "iio-bme280-pressure"


@dataclass
class Counting:
    """An estimator whose estimates say what it knows and has seen."""

    steps: list = field(default_factory=list)
    known: list = field(default_factory=list)
    probes: list = field(default_factory=list)
    raises: Exception | None = None

    def know(self, ground, probes):
        self.known.append(ground)
        self.probes.append(probes)

    def see(self, steps):
        self.steps += steps
        if self.raises is not None:
            raise self.raises

    def tell(self):
        values = [one.values.get("pot") for one in self.steps]
        good = [one for one in values if one is not None]
        if not good:
            return (Estimate("pot_abv", None, None, None, "Nothing has been read."),)
        mean = sum(good) / len(good)
        return (Estimate("pot_abv", mean, mean - 1, mean + 1, None, mean - 0.5, mean + 0.5),)


@dataclass
class Bench:
    """A store, and as many desks on it as a test wants, one by one."""

    stillhouse: object
    slot: int = START
    made: list = field(default_factory=list)
    heard: list = field(default_factory=list)

    def furnish(self):
        self.stillhouse.log(self.scan(elsewhere=20.0))
        self.engine = database.engine(self.stillhouse.data)
        self.reading = database.engine(self.stillhouse.data, read_only=True)
        self.base = {
            "site": database.identity(self.engine).site,
            "who": "Anna",
            "effective_at": self.at(-100),
        }
        self.still = Vessel.first(name="still", kind="still", volume_l=100.0, **self.base)
        made = [self.still]
        for name in PLACES:
            vessel = None if name == "room" else self.still.about
            place = Place.first(name=name, vessel=vessel, **self.base)
            made += [place, Placement.first(place=place.about, probe_id=name, **self.base)]
        facts.record(self.engine, *made)
        return self

    def at(self, seconds):
        return to_datetime((START + seconds) * MICRO)

    def enter(self, table, seconds=0, /, **columns):
        one = table.first(**(self.base | {"effective_at": self.at(seconds)}), **columns)
        facts.record(self.engine, one)
        return one

    def begin(self, stage="strip", seconds=0, **columns):
        return self.enter(
            Occupancy, seconds, vessel=self.still.about, batch="rye 1", stage=stage, **columns
        )

    def scan(self, period_s=1, barometer=None, **values):
        self.slot += period_s
        read = [self.reading_of(*one) for one in values.items()]
        if barometer is not None:
            series = SeriesKey(BAROMETER, "pressure_hpa", 16)
            read.append(Reading(series, Grade.OK, round(barometer * 16)))
        return Scan(self.slot, period_s, tuple(read))

    def reading_of(self, probe, value):
        key = SeriesKey(probe, "temperature_c", 16)
        if value is None:
            return Reading(key, Grade.CRC, None)
        return Reading(key, Grade.OK, round(value * 16))

    def log(self, number, period_s=1, **values):
        self.stillhouse.log(*(self.scan(period_s, **values) for _ in range(number)))

    @property
    def now(self):
        return to_datetime(self.stillhouse.clock.utc_us)

    def desk(self, raises=()):
        problems = iter(raises)

        def counted(held, hour):
            del held, hour
            self.made.append(Counting(raises=next(problems, None)))
            return self.made[-1]

        desk = Desk(self.engine, self.reading, lambda: self.now, make=counted)
        desk.heard.append(self.heard.append)
        desk.seen(self.slot)
        return desk

    def close(self):
        for one in (self.engine, self.reading):
            one.dispose()


@pytest.fixture
def bench(stillhouse):
    made = Bench(stillhouse).furnish()
    yield made
    made.close()
