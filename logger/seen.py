"""Which probes the logger has found, kept so that people can name and place them."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Final

from sqlalchemy import Engine
from sqlmodel import Session

from logger.bus.inventory import ProbeFacts
from logger.reading import Grade, Scan
from logger.store.failures import file_of, told
from logger.store.tables import ProbeSeen
from logger.store.types import now

AGAIN_S: Final = 3600  # how exactly the record knows when a probe was last on the bus


class SeenProbes:
    """Remembers what was recorded of each probe, so that only news is written."""

    def __init__(self) -> None:
        self._recorded: dict[str, tuple[ProbeFacts, int]] = {}

    def news(self, facts: Iterable[ProbeFacts], scan: Scan) -> Sequence[ProbeFacts]:
        """Pick the probes on the bus that are new, have changed, or were recorded long ago."""
        gone = {r.series.probe_id for r in scan.readings if r.grade is Grade.GONE}
        found = [one for one in facts if one.probe_id not in gone and self._is_news(one, scan.slot)]
        self._recorded.update({one.probe_id: (one, scan.slot) for one in found})
        return found

    def _is_news(self, facts: ProbeFacts, slot: int) -> bool:
        known, recorded_slot = self._recorded.get(facts.probe_id, (None, 0))
        return known != facts or slot - recorded_slot >= AGAIN_S


def record(engine: Engine, found: Sequence[ProbeFacts]) -> None:
    """Store what was found; when a probe was first seen stays as it is."""
    with told(file_of(engine)), Session(engine) as session:
        for facts in found:
            row = session.get(ProbeSeen, facts.probe_id) or ProbeSeen(**asdict(facts))
            row.sqlmodel_update({**asdict(facts), "last_seen_at": now()})
            session.add(row)
        session.commit()
