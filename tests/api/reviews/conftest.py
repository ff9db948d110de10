"""Runs of known course: temperatures made from formulas, marks and jars entered as people do."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Self

import numpy as np
import pytest
from anyio.from_thread import start_blocking_portal

from api.app import create_app
from logger.clock import MICRO
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database, facts
from logger.store.record_tables import Batch, Jar, Mark, Transfer
from logger.store.scans import ScanWriter
from logger.store.tables import Condenser, Occupancy, Place, Placement, Vessel
from tests.api.conftest import Client, Stillhouse
from tests.api.reviews.shed import Shed

NUMBERS = count(1)
QUANTITIES = {"pressure": "pressure_hpa", "meter": "energy_kwh", "flow": "flow_l_min"}
SCALE = 16
DAY_S = 86_400


def course(seconds, drop_s=3600.0, boil_c=82.0):
    """Give pot and head at seconds from the beginning: cold for 600 s, a ramp, a slow rise."""
    seconds = np.asarray(seconds, dtype=float)
    ramp = 20.0 + (boil_c - 20.0) * (seconds - 600.0) / (drop_s - 600.0)
    later = boil_c + 0.02 / 60.0 * (seconds - drop_s)
    pot = np.where(seconds < 600.0, 20.0, np.where(seconds < drop_s, ramp, later))
    head = np.where(seconds < drop_s - 30.0, 20.0, 78.0 + 0.015 / 60.0 * (seconds - drop_s))
    return pot, head


def _reading(series, value):
    if np.isnan(value):
        return Reading(series, Grade.CRC, None)
    return Reading(series, Grade.OK, round(float(value) * series.counts_per_unit))


@dataclass
class Past:
    """A store in which runs are laid down; each still has two days of its own."""

    engine: object
    writer: object
    start: int  # of the still's own days
    base: dict = field(default_factory=dict)
    still: object = None
    series: dict = field(default_factory=dict)

    def furnish(self, *names, **vessel):
        """Begin anew: another still with probes at these places, and the next two days."""
        number = next(NUMBERS)
        self.start += 2 * DAY_S
        self.base = {"site": database.identity(self.engine).site, "who": "Mara"}
        base = {"effective_at": self.at(-DAY_S / 2)} | self.base
        said = {"name": f"still {number}", "kind": "still", "volume_l": 120.0, "power_kw": 6.0}
        self.still = Vessel.first(**said | vessel, **base)
        self.series = {
            name: SeriesKey(
                f"28-{number:06x}{place:06x}", QUANTITIES.get(name, "temperature_c"), SCALE
            )
            for place, name in enumerate(names)
        }
        made = [self.still]
        for name, series in self.series.items():
            spot = Place.first(name=name, vessel=self.still.about, **base)
            made += [spot, Placement.first(
                place=spot.about, probe_id=series.probe_id, quantity=series.quantity, **base
            )]  # fmt: skip
        facts.record(self.engine, *made)

    def condenser(self, **columns):
        made = Condenser.first(
            vessel=self.still.about, kind="product", name="condenser", **columns, **self.base,
            effective_at=self.at(0),
        )  # fmt: skip
        facts.record(self.engine, made)

    def read(self, seconds, **values):
        """Store readings at seconds from the start; NaN is a refused one."""
        period_s = int(seconds[1] - seconds[0])
        scans = []
        for place, second in enumerate(seconds):
            readings = tuple(
                _reading(self.series[name], row[place]) for name, row in values.items()
            )
            scans.append(Scan(self.start + int(second), period_s, readings))
        self.writer.append_many(scans)

    def run(self, begin_s, end_s, purpose="spirit", batch=None, charge=(84.0, 28.0)):
        """Enter a run; seconds are counted from the start of the store."""
        run = Occupancy.first(
            vessel=self.still.about, batch=batch or f"rye {next(NUMBERS)}", stage=purpose,
            effective_at=self.at(begin_s), ended_at=None if end_s is None else self.at(end_s),
            **self.base,
        )  # fmt: skip
        made = [run]
        if batch is None or not facts.all_current(self.engine, Batch, Batch.name == batch):
            made.append(Batch.first(name=run.batch, effective_at=run.effective_at, **self.base))
        if charge:
            made.append(Transfer.first(
                to_lot=run.about, kind="charge", volume_l=charge[0], reading_abv=charge[1],
                temperature_c=20.0, instrument="density_meter", effective_at=self.at(begin_s),
                **self.base,
            ))  # fmt: skip
        facts.record(self.engine, *made)
        return run

    def mark(self, run, kind, at_s, **columns):
        made = Mark.first(
            run=run.about, kind=kind, effective_at=self.at(at_s), **columns, **self.base
        )
        facts.record(self.engine, made)
        return made

    def jars(self, run, *rows):
        """Enter jars: (begin_s, end_s, volume_l, abv or None, cut or None)."""
        made = [
            Jar.first(
                run=run.about, number=number, effective_at=self.at(begin_s),
                ended_at=self.at(end_s), volume_l=volume_l, reading_abv=abv,
                temperature_c=None if abv is None else 20.0,
                instrument=None if abv is None else "density_meter", cut=cut, **self.base,
            )
            for number, (begin_s, end_s, volume_l, abv, cut) in enumerate(rows, 1)
        ]  # fmt: skip
        facts.record(self.engine, *made)

    def at(self, seconds):
        return datetime.fromtimestamp(self.start, UTC) + timedelta(seconds=seconds)


@pytest.fixture(scope="session")
def still_course():
    """How a still's temperatures go: `still_course(seconds)` gives pot and head."""
    return course


class Quiet(Client):
    """A client of a service whose feed does not run: nobody judges scans that nobody asks about."""

    def __enter__(self) -> Self:
        self._portal = self._held.enter_context(start_blocking_portal("asyncio"))
        self._held.callback(self.app.house.close)
        return self


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """One store and one service for a file: its writer's side, and a client."""
    stillhouse = Stillhouse(tmp_path_factory.mktemp("reviews") / "data")
    with Quiet(create_app(stillhouse.settings, stillhouse.clock), "127.0.0.1") as client:
        engine = database.engine(stillhouse.data)
        writer = ScanWriter(engine)
        start = stillhouse.clock.utc_us // MICRO - 400 * DAY_S
        yield Past(engine, writer, start), client
        writer.close()
        engine.dispose()


@pytest.fixture
def past(shop):
    """Lay down runs: `past.furnish("pot", "head")` first."""
    return shop[0]


@pytest.fixture
def reviewed(shop):
    """Ask the service for a review: `reviewed("runs/…")`."""

    def asked(path, status=200, **params):
        answer = shop[1].get(f"/api/reviews/{path}", params=params)
        assert answer.status_code == status, answer.text
        return answer.json()

    return asked


@pytest.fixture
def spirit_run(past):
    """A spirit run of 8 h with readings every 10 s, marks, four jars and a change of power."""
    past.furnish("pot", "head")
    seconds = np.arange(0, 28_800, 10)
    pot, head = course(seconds)
    past.read(seconds, pot=pot, head=head)
    run = past.run(0, 28_800)
    past.mark(run, "power", 600, power_kw=6.0)
    past.mark(run, "first_drop", 3600)
    past.mark(run, "foreshots_end", 4200)
    past.mark(run, "hearts", 7200)
    past.mark(run, "power", 10_800, power_kw=4.0)
    past.mark(run, "tails", 18_000)
    past.mark(run, "end", 21_600)
    past.mark(run, "power", 21_600, power_kw=0.0)
    past.jars(
        run,
        (3600, 4200, 0.5, 81.0, "foreshots"),
        (4200, 7200, 2.0, 78.0, "heads"),
        (7200, 18_000, 9.0, 70.0, "hearts"),
        (18_000, 21_600, 4.0, 35.0, "tails"),
    )
    return run


@pytest.fixture
def shed(tmp_path):
    made = Shed(tmp_path / "data")
    yield made
    made.house.close()


@pytest.fixture(scope="module")
def common_shed(tmp_path_factory):
    made = Shed(tmp_path_factory.mktemp("shed") / "data")
    yield made
    made.house.close()
