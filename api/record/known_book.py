"""The lots' book over a record that has been read whole: every lot, without asking the store again.

Each step looks only at what lies before it, so nothing goes round in circles.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from uuid import UUID

from api.record.collected import Collected
from api.record.lot_book import EMPTY, EVER, UNKNOWN, LotBook
from logger.store.gauging import WATER, Content, content_of
from logger.store.record_tables import Lot, Measure, Transfer


class KnownBook(LotBook):
    """What lots and jars hold; what was worked out is kept."""

    def __init__(
        self,
        lots: Mapping[UUID, Lot],
        jars: Iterable[Collected],
        transfers: Iterable[Transfer],
        measures: Iterable[Measure],
        silent: frozenset[UUID],
    ) -> None:
        self.silent = silent
        self._lots = lots
        self._known = {one.jar.about: _in_jar(one) for one in jars}
        self._events: dict[UUID, list[Transfer | Measure]] = defaultdict(list)
        for move in transfers:
            for end in {move.from_lot, move.to_lot} - {None}:
                assert end is not None  # noqa: S101 - taken out above
                self._events[end].append(move)
        for one in measures:
            self._events[one.lot].append(one)
        self._held: dict[tuple[UUID, datetime], Content] = {}
        self._moved: dict[UUID, Content] = {}

    def held(self, about: UUID, at: datetime = EVER) -> Content:
        """Say what a lot or a jar holds at a moment."""
        if (about, at) not in self._held:
            before = [one for one in self._events[about] if one.effective_at < at]
            self._held[about, at] = self._folded(about, self._start(about), before)
        return self._held[about, at]

    def moved(self, move: Transfer) -> Content:
        """Say what went in a transfer: all there was where it says no volume and no mass."""
        if move.id not in self._moved:
            self._moved[move.id] = self._moves_now(move)
        return self._moved[move.id]

    def _start(self, about: UUID) -> Content:
        lot = self._lots.get(about)
        if lot is None:
            return self._known.get(about, UNKNOWN)
        return replace(EMPTY, strength=WATER) if lot.kind == "water" else EMPTY

    def _measures(self, lot: UUID, at: datetime) -> Sequence[Measure]:
        return [
            one for one in self._events[lot] if isinstance(one, Measure) and one.effective_at == at
        ]

    def _moves_now(self, move: Transfer) -> Content:
        says_how_much = bool(move.volume_l or move.mass_kg)
        own = self._own_strength(move)
        if own is not None and says_how_much:
            return content_of(move) or UNKNOWN
        source = UNKNOWN
        if move.from_lot is not None:
            source = self.held(move.from_lot, move.effective_at)
        strength = own or source.strength or self._read_then(move)
        if not says_how_much:
            return replace(source, strength=strength)
        said = self._said(move, strength)
        return said or replace(source, strength=strength)


def _in_jar(one: Collected) -> Content:
    content = one.content or UNKNOWN
    return content if one.enters_the_books else replace(content, strength=None)
