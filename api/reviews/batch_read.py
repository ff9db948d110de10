"""Everything the story of batches is made from, read from the store at once."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from sqlmodel import col

from api.house import House
from api.record.books_read import BooksRead, read_books
from api.record.entries import entries, sg_of
from api.record.stages import expectation
from api.reviews.facts_read import Site, grounds_with
from api.reviews.figures import Figures
from logger.store import facts
from logger.store.record_rules import RUNS
from logger.store.record_tables import Batch, StageEntry
from logger.store.tables import Occupancy

FOLLOWS = "follows"
LAST_RUNS = frozenset({"spirit", "single", "botanical"})  # what they give is the batch's spirit


@dataclass(frozen=True, slots=True)
class BatchRead:
    """One batch with all that goes by its name."""

    batch: Batch
    held: Sequence[Occupancy]
    said: Sequence[StageEntry]
    runs: Sequence[Figures]

    @property
    def began_at(self) -> datetime:
        """Since when it held a vessel, or was entered."""
        return min([one.effective_at for one in self.held], default=self.batch.effective_at)

    def of(self, kind: str) -> list[StageEntry]:
        """Return the entries of a kind."""
        return [one for one in self.said if one.kind == kind]

    @property
    def bill_kg(self) -> float | None:
        """The mass of the bill."""
        masses = [one.mass_kg for one in self.of("grain") if one.mass_kg is not None]
        return sum(masses) if masses else None

    @property
    def pitched_at(self) -> datetime | None:
        """When the yeast went in."""
        return min((one.effective_at for one in self.of("yeast")), default=None)

    @property
    def gravities(self) -> list[tuple[datetime, float]]:
        """The gravities, corrected."""
        read = ((one.effective_at, sg_of(one)) for one in self.of("gravity"))
        return [(at, sg) for at, sg in read if sg is not None]

    @property
    def original_sg(self) -> float | None:
        """The gravity nearest the pitching."""
        pitched = self.pitched_at
        if not self.gravities:
            return None
        if pitched is None:
            return self.gravities[0][1]
        return min(self.gravities, key=lambda one: abs(one[0] - pitched))[1]

    @property
    def final_sg(self) -> float | None:
        """The last gravity, where there are two."""
        return self.gravities[-1][1] if len(self.gravities) > 1 else None

    @property
    def expected_l(self) -> float | None:
        """The alcohol its bill can give."""
        found, _ = expectation(self.said)
        return found.pure_alcohol_l if found else None

    @property
    def spirit_l(self) -> float | None:
        """The pure alcohol of its last distillation; of all runs where it had no other."""
        last = [one for one in self.runs if one.ground.run.stage in LAST_RUNS]
        came = [one.pure_alcohol_l for one in last if one.has_alcohol]
        return sum(came) if came else None

    @property
    def hearts_l(self) -> float | None:
        """The pure alcohol of the hearts of all runs."""
        cuts = (one.cut("hearts") for one in self.runs)
        found = [one.pure_alcohol_l for one in cuts if one and one.pure_alcohol_l is not None]
        return sum(found) if found else None

    @property
    def energy_kwh(self) -> float | None:
        """The energy of its runs; None where one's is not known."""
        used = [one.energy.amount for one in self.runs]
        known = [one for one in used if one is not None]
        return sum(known) if known and len(known) == len(used) else None

    @property
    def bottles(self) -> int:
        """Bottles filled."""
        return sum(one.count or 0 for one in self.of("bottle_fill"))

    @property
    def goes_on(self) -> Occupancy | None:
        """What holds a vessel now."""
        return next((one for one in reversed(self.held) if one.ended_at is None), None)


@dataclass(frozen=True, slots=True)
class Cellar:
    """All batches, and the books."""

    batches: Sequence[BatchRead]
    books: BooksRead
    site: Site
    links: Sequence[StageEntry]

    @property
    def vessel_names(self) -> Mapping[UUID, str]:
        """Vessels' names by their ids."""
        return {about: one.name for about, one in self.books.vessels.items()}

    def one(self, batch_id: UUID) -> BatchRead | None:
        """Return a batch."""
        return next((one for one in self.batches if one.batch.about == batch_id), None)


def read_cellar(house: House, batch: Batch | None = None) -> Cellar:
    """Read all batches, or one of them."""
    engine = house.reader.engine
    batches = [batch] if batch is not None else facts.all_current(engine, Batch)
    held, said = defaultdict(list), defaultdict(list)
    for one in facts.occupancies(engine):
        held[one.batch].append(one)
    for entry in entries(house, batch.name if batch else None):
        said[entry.batch].append(entry)
    books, site = read_books(engine), Site.read(engine)
    names = {one.name for one in batches}
    runs = [one for name in names for one in held[name] if one.stage in RUNS]
    read: dict[str, list[Figures]] = defaultdict(list)
    runs.sort(key=lambda run: run.effective_at)
    for ground in grounds_with(house, runs, site, books):
        read[ground.run.batch].append(Figures(ground))
    return Cellar(
        [BatchRead(one, held[one.name], said[one.name], read[one.name]) for one in batches],
        books,
        site,
        links_of(house),
    )


def links_of(house: House) -> Sequence[StageEntry]:
    """Read which batches were begun from others' plans."""
    engine = house.reader.engine
    return facts.all_current(engine, StageEntry, col(StageEntry.kind) == FOLLOWS)
