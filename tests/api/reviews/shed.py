"""A house with one still, in this process, that takes imports; and what it is given."""

from datetime import UTC, datetime, timedelta

import numpy as np

from api.access import Role, Visitor
from api.house import House
from api.imports.bodies import NewImport
from api.imports.storing import import_run
from logger.clock import FakeClock
from logger.settings import Settings
from logger.store import database, facts
from logger.store.export import rows
from logger.store.scans import ScanReader
from logger.store.tables import Place, Vessel
from logger.store.timeline import EpochTable
from logger.store.tracks import tracks

COUNT, DELETE = 'SELECT count(*) FROM "{}"', "DELETE FROM {}"
NOW = 1_790_000_000  # 2026-09-21
BEGAN = datetime(2019, 3, 4, 8, 0, tzinfo=UTC)
MARA = Visitor("Mara", Role.OPERATE)
COURSE_S = np.arange(0, 28_800, 10)


class Shed:
    """A house with one still, in this process."""

    def __init__(self, data) -> None:
        database.prepare(data)
        self.house = House(Settings(data=data), FakeClock(NOW * 1_000_000))
        self.engine = self.house.engine
        self.base = {
            "site": self.house.identity.site,
            "who": "Mara",
            "effective_at": datetime.fromtimestamp(NOW - 86_400, UTC),
        }
        self.still = Vessel.first(name="pot still", kind="still", volume_l=120.0, **self.base)
        self.spots = {
            name: Place.first(name=name, vessel=self.still.about, **self.base)
            for name in ("pot", "head")
        }
        facts.record(self.engine, self.still, *self.spots.values())
        self.fresh = self.counts()

    def take(self, trace, **more):
        said = {"vessel_id": self.still.about, "purpose": "spirit", "batch": "old rye"} | more
        return import_run(self.house, MARA, NewImport(trace=trace, **said))

    def counts(self):
        """Count the rows of every table, and sum up the readings."""
        with self.engine.connect() as connection:
            names = [
                name
                for (name,) in connection.exec_driver_sql(
                    "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
                )
            ]
            return {
                name: connection.exec_driver_sql(COUNT.format(name)).scalar_one() for name in names
            }

    def read(self, from_at, to_at):
        """Read what an export would write."""
        span = (int(from_at.timestamp() * 1e6), int(to_at.timestamp() * 1e6))
        wanted = tracks(self.engine, *span)
        reader = ScanReader(self.house.reader.engine)
        return list(rows(reader, wanted, EpochTable.load(self.engine), *span))


def lines(*told, head="time,pot,head"):
    return "\n".join([head, *told]) + "\n"


def a_trace(seconds, pot, head, began=BEGAN, more="", cell=""):
    return lines(
        *(
            f"{(began + timedelta(seconds=int(s))).isoformat()},{p:.4f},{h:.4f}{cell}"
            for s, p, h in zip(seconds, pot, head, strict=True)
        ),
        head=f"time,pot,head{more}",
    )


MARKS = """time,mark,power_kw,text,smell
2019-03-04T08:10:00+00:00,power,6,,
2019-03-04T09:00:00+00:00,first_drop,,,
2019-03-04T09:10:00+00:00,foreshots_end,,,nail varnish
2019-03-04T10:00:00+00:00,hearts,,"pears, at last",pear drops; bread
2019-03-04T13:00:00+00:00,tails,,,
2019-03-04T14:00:00+00:00,end,,,
"""
JARS = """time,volume_l,reading_abv,temperature_c,instrument,cut
2019-03-04T09:10:00+00:00,0.5,81,20,density_meter,foreshots
2019-03-04T10:00:00+00:00,2,78,20,density_meter,heads
2019-03-04T13:00:00+00:00,9,70,20,density_meter,hearts
2019-03-04T14:00:00+00:00,4,35,20,density_meter,tails
"""
GOOD = ("2019-03-04T08:00:00Z,20,20", "2019-03-04T08:01:00Z,21,20", "2019-03-04T08:02:00Z,22,20")
