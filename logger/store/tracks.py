"""Tracks: which series was at which place when, and under which calibration.

Placements, calibrations and clock epochs are ranges of true time; here they are joined and turned
into ranges of slots, which is what the history is stored by. A probe that has no place for a while
has a track of its own for that while.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final, NamedTuple
from uuid import UUID

from sqlalchemy import Engine
from sqlmodel import Session, select

from logger.store.failures import file_of, told
from logger.store.series import IMPORTED
from logger.store.standing import current
from logger.store.tables import TEMPERATURE, Calibration, Place, Placement, Series, Vessel
from logger.store.timeline import END_SLOT, SECOND_US, EpochTable
from logger.store.types import to_us


class Span(NamedTuple):
    """A range of true time in microseconds UTC, the end excluded."""

    from_us: int
    to_us: int

    def meets(self, other: "Span") -> bool:
        """Say whether two ranges share a moment."""
        return self.from_us < other.to_us and other.from_us < self.to_us


ALWAYS: Final = Span(-END_SLOT * SECOND_US, 2 * END_SLOT * SECOND_US)  # whatever the clock's error


@dataclass(frozen=True, slots=True)
class Piece:
    """A series over a range of slots, the last excluded: value = slope x measured + offset."""

    series: int
    counts_per_unit: int
    from_slot: int
    to_slot: int
    slope: float = 1.0
    offset: float = 0.0

    @property
    def calibrated(self) -> bool:
        """Say whether the calibration changes anything."""
        return (self.slope, self.offset) != (1.0, 0.0)


@dataclass(frozen=True, slots=True)
class Track:
    """What one line on the chart, or one column of an export, is made of."""

    column: str  # plain name in an export: head, still.head, pressure_hpa, or a probe's id
    quantity: str  # temperature_c, pressure_hpa
    place: UUID | None  # what the place's facts are about; None for a probe without a place
    place_name: str | None
    vessel_name: str | None
    probe_id: str | None  # for a probe without a place
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class _Ground:
    """Everything tracks are made from, read at one moment."""

    epochs: EpochTable
    vessels: Sequence[Vessel]
    places: Sequence[Place]
    placements: Sequence[Placement]
    calibrations: Sequence[Calibration]
    series: Sequence[Series]


def tracks(engine: Engine, from_us: int, to_us: int) -> list[Track]:
    """Make the tracks of a range: of each place used in it, and each probe without one in it.

    Their pieces are not cut at its ends, since a bucket there reaches beyond it.
    """
    ground, span = _read(engine), Span(from_us, to_us)
    made = [*_place_tracks(ground, span), *_probe_tracks(ground, span)]
    return _with_columns(made)


def _read(engine: Engine) -> _Ground:
    with told(file_of(engine)), Session(engine) as session:
        ground = _Ground(
            EpochTable.read(session.connection()),
            current(session, Vessel),
            current(session, Place),
            current(session, Placement),
            current(session, Calibration),
            session.exec(select(Series)).all(),
        )
        session.expunge_all()
        return ground


def _place_tracks(ground: _Ground, span: Span) -> Iterator[Track]:
    vessels = {vessel.about: vessel.name for vessel in ground.vessels}
    for place in ground.places:
        placements = [one for one in ground.placements if one.place == place.about]
        for quantity in sorted({one.quantity for one in placements if _span(one).meets(span)}):
            pieces = chain.from_iterable(
                _pieces(ground, one.probe_id, quantity, _span(one))
                for one in placements
                if one.quantity == quantity
            )
            if made := tuple(pieces):
                vessel = vessels.get(place.vessel) if place.vessel else None
                yield Track("", quantity, place.about, place.name, vessel, None, made)


def _probe_tracks(ground: _Ground, span: Span) -> Iterator[Track]:
    for probe_id, quantity in sorted({(one.probe_id, one.quantity) for one in ground.series}):
        if probe_id.startswith(IMPORTED) and any(p.probe_id == probe_id for p in ground.placements):
            continue  # all it ever said lies within its placement
        pieces = chain.from_iterable(
            _pieces(ground, probe_id, quantity, free)
            for free in _unplaced(ground, probe_id, quantity)
            if free.meets(span)
        )
        if made := tuple(pieces):
            yield Track("", quantity, None, None, None, probe_id, made)


def _span(placement: Placement) -> Span:
    end_us = ALWAYS.to_us if placement.ended_at is None else to_us(placement.ended_at)
    return Span(to_us(placement.effective_at), end_us)


def _unplaced(ground: _Ground, probe_id: str, quantity: str) -> Iterator[Span]:
    free_us = ALWAYS.from_us
    for one in ground.placements:  # by begin, and never two at once
        if (one.probe_id, one.quantity) == (probe_id, quantity):
            taken = _span(one)
            if free_us < taken.from_us:
                yield Span(free_us, taken.from_us)
            free_us = taken.to_us
    if free_us < ALWAYS.to_us:
        yield Span(free_us, ALWAYS.to_us)


def _pieces(ground: _Ground, probe_id: str, quantity: str, span: Span) -> Iterator[Piece]:
    for series in ground.series:
        if (series.probe_id, series.quantity) == (probe_id, quantity):
            yield from _joined(_series_pieces(ground, series, span))


def _series_pieces(ground: _Ground, series: Series, span: Span) -> Iterator[Piece]:
    for part, slope, offset in _calibrated(ground.calibrations, series, span):
        for slots in ground.epochs.slots(*part):
            cut = (slots.from_slot, slots.to_slot)
            yield Piece(series.id or 0, series.counts_per_unit, *cut, slope, offset)


def _calibrated(
    calibrations: Sequence[Calibration], series: Series, span: Span
) -> Iterator[tuple[Span, float, float]]:
    """Cut a span where the calibration changes."""
    key = (series.probe_id, series.quantity)
    mine = [one for one in calibrations if (one.probe_id, one.quantity) == key]
    starts = [(span.from_us, 1.0, 0.0)]
    starts += [(to_us(one.effective_at), one.slope, one.offset) for one in mine]
    ends = [*(start for start, _, _ in starts[1:]), span.to_us]
    for (start, slope, offset), end in zip(starts, ends, strict=True):
        part = Span(max(start, span.from_us), min(end, span.to_us))
        if part.from_us < part.to_us:
            yield part, slope, offset


def _joined(pieces: Iterator[Piece]) -> Iterator[Piece]:
    """Join neighbours that only a clock epoch parts."""
    held: Piece | None = None
    for piece in pieces:
        if held and _continues(held, piece):
            piece = Piece(  # noqa: PLW2901 - the two become one
                held.series, held.counts_per_unit, held.from_slot, piece.to_slot, *_rule(held)
            )
        elif held:
            yield held
        held = piece
    if held:
        yield held


def _rule(piece: Piece) -> tuple[float, float]:
    return piece.slope, piece.offset


def _continues(first: Piece, second: Piece) -> bool:
    return first.to_slot == second.from_slot and _rule(first) == _rule(second)


def _with_columns(made: list[Track]) -> list[Track]:
    """Name each track's column: plainly, with the vessel where there are several."""
    several = len({track.vessel_name for track in made if track.vessel_name}) > 1
    plain = [_column(track, with_vessel=several) for track in made]
    times = Counter(plain)
    named = zip(made, plain, strict=True)
    return [
        Track(
            name if times[name] == 1 else _full_column(track),
            track.quantity,
            track.place,
            track.place_name,
            track.vessel_name,
            track.probe_id,
            track.pieces,
        )
        for track, name in named
    ]


def _column(track: Track, *, with_vessel: bool) -> str:
    if track.quantity != TEMPERATURE:
        return track.quantity
    if track.place_name is None:
        return track.probe_id or ""
    prefix = f"{track.vessel_name}." if with_vessel and track.vessel_name else ""
    return prefix + track.place_name


def _full_column(track: Track) -> str:
    parts = (track.vessel_name, track.place_name, track.probe_id, track.quantity)
    return ".".join(part for part in parts if part)
