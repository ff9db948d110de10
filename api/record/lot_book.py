"""What a lot holds at a moment: what came in, less what went out, from its last gauging on.

Liquids are mixed by mass through calc, so that what shrinks on mixing is shrunk here too. Errors
are standard errors and taken as independent of each other.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import cached_property
from math import hypot
from typing import Final
from uuid import UUID

from sqlmodel import Session, col, or_

from api.record.as_locked import as_locked
from api.record.collected import collected
from api.record.silent import silent_nodes, without_strength
from calc.mixture import Mixture
from logger.store.gauging import ROUNDING_L, WATER, Content, Strength, content_of, strength_of
from logger.store.record_tables import Jar, JarVessel, Lot, Mark, Measure, Transfer
from logger.store.standing import current
from logger.store.tables import Occupancy

EVER: Final = datetime.max.replace(tzinfo=UTC)
EMPTY: Final = Content(0.0, 0.0, None)
UNKNOWN: Final = Content(None, None, None)


class LotBook:
    """Reads lots in one session; what was worked out is kept."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._jars: dict[UUID, Content] = {}
        self._held: dict[tuple[UUID, datetime], Content] = {}

    @cached_property
    def silent(self) -> frozenset[UUID]:
        """The runs and jars whose strength is neither shown nor booked."""
        return silent_nodes(self._session)

    def charge(self, run: UUID) -> Content | None:
        """Add up what was charged into a run; None where nothing was entered."""
        came = self._moves(col(Transfer.to_lot) == run)
        if not came:
            return None
        return _sum([self.moved(one) for one in came])

    def held(self, about: UUID, at: datetime = EVER) -> Content:
        """Say what a lot or a jar holds at a moment.

        Each step looks only at what lies before it, so nothing goes round in circles.
        """
        if (about, at) not in self._held:
            self._held[about, at] = self._holds(about, at)
        return self._held[about, at]

    def _holds(self, about: UUID, at: datetime) -> Content:
        lots = current(self._session, Lot, col(Lot.about) == about)
        lot = lots[0] if lots else None
        touching = or_(col(Transfer.from_lot) == about, col(Transfer.to_lot) == about)
        moves = [one for one in self._moves(touching) if one.effective_at < at]
        start = self.filled(about) if lot is None else EMPTY
        if lot is not None and lot.kind == "water":
            start = replace(start, strength=WATER)
        measures = current(self._session, Measure, col(Measure.lot) == about)
        return self._folded(
            about, start, [*moves, *(one for one in measures if one.effective_at < at)]
        )

    def moved(self, move: Transfer) -> Content:
        """Say what went in a transfer: all there was where it says no volume and no mass."""
        own = self._own_strength(move)
        if own is not None and (move.volume_l or move.mass_kg):
            return content_of(move) or UNKNOWN
        source = UNKNOWN
        if move.from_lot is not None:
            source = self.held(move.from_lot, move.effective_at)
        strength = own or source.strength or self._read_then(move)
        said = self._said(move, strength)
        if said is None or (said.volume_l is None and not (move.volume_l or move.mass_kg)):
            return replace(source, strength=strength)
        return said

    def _read_then(self, move: Transfer) -> Strength | None:
        """Return what a lot of no known strength was read at in the moment something left it.

        It is gauged as it stands after, but taking something out leaves the strength as it was.
        """
        if move.from_lot is None or move.from_lot in self.silent:
            return None
        read = (strength_of(one) for one in self._measures(move.from_lot, move.effective_at))
        return next((one for one in read if one is not None), None)

    def _measures(self, lot: UUID, at: datetime) -> Sequence[Measure]:
        where = (col(Measure.lot) == lot, col(Measure.effective_at) == at)
        return current(self._session, Measure, *where)

    def _own_strength(self, move: Transfer) -> Strength | None:
        """Return what a transfer was read at; of a cleaning run that counts for nothing."""
        return None if move.from_lot in self.silent else strength_of(move)

    def _said(self, move: Transfer, strength: Strength | None) -> Content | None:
        said = content_of(move, strength)
        return without_strength(said) if said and move.from_lot in self.silent else said

    def _folded(self, about: UUID, start: Content, events: Sequence[Transfer | Measure]) -> Content:
        held = start
        for event in sorted(events, key=_order):
            if isinstance(event, Measure):
                held = _gauged(held, event)
            elif event.to_lot == about:
                held = _sum([held, self.moved(event)])
            else:
                held = _less(held, event)
        return held

    def filled(self, about: UUID) -> Content:
        """Say what a jar held when it was full; of a run nothing is known."""
        if about not in self._jars:
            jars = current(self._session, Jar, col(Jar.about) == about)
            if not jars:
                return UNKNOWN
            self._read_run(jars[0].run)
        return self._jars.get(about, UNKNOWN)

    def _read_run(self, run_id: UUID) -> None:
        runs = current(self._session, Occupancy, col(Occupancy.about) == run_id)
        if not runs:
            return
        jars = current(self._session, Jar, col(Jar.run) == run_id)
        marks = current(self._session, Mark, col(Mark.run) == run_id)
        vessels = {one.number: one for one in current(self._session, JarVessel)}
        locked = as_locked(self._session, jars).get(run_id, ())
        for one in collected(runs[0], jars, marks, vessels, locked):
            content = one.content or UNKNOWN
            known = content if one.enters_the_books else replace(content, strength=None)
            self._jars[one.jar.about] = known

    def _moves(self, where: object) -> Sequence[Transfer]:
        return current(self._session, Transfer, where)  # type: ignore[arg-type]


def _order(event: Transfer | Measure) -> tuple[datetime, bool, UUID]:
    """Of one moment, what moved comes first: a lot is gauged as it stands."""
    return event.effective_at, isinstance(event, Measure), event.id


def _gauged(held: Content, measure: Measure) -> Content:
    """Set what a lot holds to what was found; what was not read stays."""
    found = content_of(measure, held.strength)
    if found is None:
        return held
    if found.volume_l is None:
        return replace(held, strength=found.strength or held.strength)
    return found


def _less(held: Content, move: Transfer) -> Content:
    """Take something out: the strength stays."""
    went = content_of(move, held.strength)
    if held.volume_l is None:
        return held
    if went is None or went.volume_l is None:
        return replace(held, volume_l=0.0, volume_error_l=0.0)
    left_l = held.volume_l - went.volume_l
    left_l = 0.0 if abs(left_l) < ROUNDING_L else left_l
    error_l = hypot(held.volume_error_l or 0.0, went.volume_error_l or 0.0)
    return replace(held, volume_l=left_l, volume_error_l=error_l if left_l else 0.0)


def _sum(contents: Sequence[Content]) -> Content:
    """Mix; the strength is known where every part's is, the volume where every part's is."""
    parts = [one for one in contents if one.volume_l is None or one.volume_l > 0.0]
    if len(parts) == 1:
        return parts[0]
    if any(one.volume_l is None for one in parts):
        return UNKNOWN
    error_l = hypot(*(one.volume_error_l or 0.0 for one in parts))
    if not parts or any(one.strength is None for one in parts):
        return Content(sum(one.volume_l or 0.0 for one in parts), error_l, None)
    mixture = Mixture(0.0, 0.0)
    for one in parts:
        assert one.strength is not None  # noqa: S101 - looked at above
        mixture += Mixture.of_volume(one.volume_l or 0.0, one.strength.abv)
    alcohol_error_l = hypot(*(one.pure_alcohol_error_l or 0.0 for one in parts))
    volume_l, abv = mixture.volume_l(20.0), mixture.abv()
    error_abv = hypot(100.0 * alcohol_error_l, abv * error_l) / volume_l
    return Content(volume_l, error_l, Strength(abv, error_abv))
