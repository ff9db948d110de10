"""Clock epochs: which true UTC the slots stand for, kept as ranges that may be corrected.

A slot counts whole seconds; true UTC is slot + the offset of the epoch it lies in. Before the
first epoch, and in a store without any, the offset is 0. Rows are only added: a correction
supersedes the row it corrects.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, Engine
from sqlmodel import Session, col, select
from uuid_utils.compat import uuid7

from logger.errors import ConflictError, NotFoundError
from logger.store.failures import file_of, told
from logger.store.tables import ClockEpoch

SECOND_US: Final = 1_000_000
FIRST_SLOT: Final = 0
END_SLOT: Final = 1 << 40  # after every slot


class SlotPiece(NamedTuple):
    """A range of slots, the last excluded, that share one offset."""

    from_slot: int
    to_slot: int
    offset_us: int  # true UTC of a slot = slot x 1 000 000 + offset_us


@dataclass(frozen=True, slots=True)
class EpochTable:
    """The epochs that count, in order; they cover the whole axis."""

    pieces: tuple[SlotPiece, ...] = (SlotPiece(FIRST_SLOT, END_SLOT, 0),)

    @classmethod
    def load(cls, engine: Engine) -> "EpochTable":
        """Read them from the store."""
        with told(file_of(engine)), engine.connect() as connection:
            return cls.read(connection)

    @classmethod
    def read(cls, connection: Connection) -> "EpochTable":
        """Read them on a connection that is open already."""
        epochs = current_epochs(connection)
        starts = [(FIRST_SLOT, 0), *((epoch.from_slot, epoch.offset_us) for epoch in epochs)]
        ends = [*(start for start, _ in starts[1:]), END_SLOT]
        found = zip(starts, ends, strict=True)
        return cls(tuple(SlotPiece(a, b, offset) for (a, offset), b in found if a < b))

    def utc_us(self, slot: int) -> int:
        """Say which moment a slot stands for, in microseconds UTC."""
        piece = self.pieces[bisect_right(self.pieces, slot, key=lambda p: p.from_slot) - 1]
        return slot * SECOND_US + piece.offset_us

    def slots(self, from_us: int, to_us: int) -> list[SlotPiece]:
        """Find the slots whose moment is at or after `from_us` and before `to_us`."""
        cut = (
            SlotPiece(
                max(piece.from_slot, -((piece.offset_us - from_us) // SECOND_US)),
                min(piece.to_slot, -((piece.offset_us - to_us) // SECOND_US)),
                piece.offset_us,
            )
            for piece in self.pieces
        )
        return [piece for piece in cut if piece.from_slot < piece.to_slot]


def current_epochs(connection: Connection) -> Sequence[ClockEpoch]:
    """Read the epochs no other supersedes, by slot."""
    later = select(ClockEpoch.supersedes).where(col(ClockEpoch.supersedes).is_not(None))
    with Session(connection) as session:
        chosen = select(ClockEpoch).where(col(ClockEpoch.id).not_in(later))
        return session.exec(chosen.order_by("from_slot", "recorded_at")).all()


def begin_epoch(
    engine: Engine,
    *,
    from_slot: int,
    offset_us: int,
    boot_id: str,
    boottime_us: int,
    synchronised: bool,
) -> UUID:
    """Record that from this slot on the clock said slot + offset; returns the epoch's id."""
    epoch = ClockEpoch(
        id=uuid7(),
        from_slot=from_slot,
        offset_us=offset_us,
        boot_id=boot_id,
        boottime_us=boottime_us,
        synchronised=synchronised,
    )
    return _insert(engine, epoch)


def correct_epoch(engine: Engine, epoch: UUID, *, offset_us: int, synchronised: bool) -> UUID:
    """Record what an epoch's offset truly was; the row it had stays, superseded."""
    with told(file_of(engine)), Session(engine) as session:
        old = session.get(ClockEpoch, epoch)
        if old is None:
            raise NotFoundError(f"No clock epoch {epoch} is stored; load the epochs again.")
        if session.exec(select(ClockEpoch).where(ClockEpoch.supersedes == epoch)).first():
            raise ConflictError(f"The clock epoch {epoch} was corrected before; load it again.")
        new = _corrected(old, offset_us, synchronised=synchronised)
        made = new.id
        session.add(new)
        session.commit()
        return made


def correct_boot(engine: Engine, boot_id: str, *, utc_of_boot_us: int, synchronised: bool) -> int:
    """Correct a boot's unsynchronised epochs, now that it is known when it was; returns how many.

    `utc_of_boot_us` is the true time at which CLOCK_BOOTTIME stood at 0. Synchronised epochs and
    those of other boots stay as they are.
    """
    with told(file_of(engine)), Session(engine) as session:
        ours = [e for e in current_epochs(session.connection()) if e.boot_id == boot_id]
        wrong = [epoch for epoch in ours if not epoch.synchronised]
        for epoch in wrong:
            offset_us = utc_of_boot_us + epoch.boottime_us
            session.add(_corrected(epoch, offset_us, synchronised=synchronised))
        session.commit()
        return len(wrong)


def _corrected(old: ClockEpoch, offset_us: int, *, synchronised: bool) -> ClockEpoch:
    return ClockEpoch(
        id=uuid7(),
        from_slot=old.from_slot,
        offset_us=offset_us,
        boot_id=old.boot_id,
        boottime_us=old.boottime_us,
        synchronised=synchronised,
        supersedes=old.id,
    )


def _insert(engine: Engine, epoch: ClockEpoch) -> UUID:
    made = epoch.id
    with told(file_of(engine)), Session(engine) as session:
        session.add(epoch)
        session.commit()
    return made
