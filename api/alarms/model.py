"""How an alarm stands, and every way it can change: a pure state machine.

An alarm's own state says whether its condition holds and whether somebody has seen it. On top lie
three independent covers: a shelf (a person's, for a time or once), suppression (by design, as the
stage wants it) and out of service. Under a cover nothing sounds, but the condition is watched on;
when the last cover comes off while it holds, the alarm comes up as new.

Two properties hold in every state: nothing sounds while covered, and what came up is never gone
until a person has said so. So suppression by design waits for the acknowledgement.

From public descriptions of ISA-18.2 / IEC 62682, EEMUA 191 and OPC UA Part 9.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final


class Process(StrEnum):
    """An alarm's own state."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"  # the condition holds, nobody has said that they know
    ACKNOWLEDGED = "acknowledged"
    RETURNED = "returned"  # the condition has gone, and still nobody has said that they know
    LATCHED = "latched"  # acknowledged and gone; stays until it is reset
    HELD = "held"  # the condition holds underneath a cover


class Shelf(StrEnum):
    """How a person has laid an alarm aside."""

    NONE = "none"
    TIMED = "timed"
    ONCE = "once"  # until the condition has come and gone, and at most for a time


class Priority(StrEnum):
    """How urgent an alarm is; high is for injury or fire within minutes, nothing else."""

    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"


URGENCY: Final = {one: rank for rank, one in enumerate(Priority)}


class Trigger(StrEnum):
    """What can happen to an alarm; the name its event keeps."""

    RAISE = "raise"  # the condition has come
    CLEAR = "clear"  # the condition has gone
    ACKNOWLEDGE = "acknowledge"
    RESET = "reset"
    SHELVE = "shelve"
    SHELVE_ONCE = "shelve_once"
    UNSHELVE = "unshelve"
    SHELF_EXPIRES = "shelf_expires"
    SUPPRESS = "suppress"
    UNSUPPRESS = "unsuppress"
    TAKE_OUT_OF_SERVICE = "take_out_of_service"
    PUT_IN_SERVICE = "put_in_service"


@dataclass(frozen=True, slots=True)
class State:
    """How one alarm stands."""

    process: Process = Process.NORMAL
    shelf: Shelf = Shelf.NONE
    suppressed: bool = False
    out_of_service: bool = False

    @property
    def covers(self) -> tuple[str, ...]:
        """Name the covers that lie on it."""
        shelf = {Shelf.TIMED: ("shelved",), Shelf.ONCE: ("shelved_once",)}.get(self.shelf, ())
        return (
            *shelf,
            *(("suppressed",) if self.suppressed else ()),
            *(("out_of_service",) if self.out_of_service else ()),
        )

    @property
    def covered(self) -> bool:
        """Say whether any cover lies on it."""
        return self.shelf is not Shelf.NONE or self.suppressed or self.out_of_service

    @property
    def holds(self) -> bool:
        """Say whether the condition holds, covered or not."""
        return self.process in {Process.UNACKNOWLEDGED, Process.ACKNOWLEDGED, Process.HELD}

    @property
    def sounds(self) -> bool:
        """Say whether it is to be heard."""
        return self.process is Process.UNACKNOWLEDGED

    @property
    def standing(self) -> bool:
        """Say whether it belongs on the list of what stands now."""
        return self.process is not Process.NORMAL and not self.covered


REST: Final = State()


def after(state: State, trigger: Trigger, *, latching: bool = False) -> State:
    """Return the state that follows; the same where the trigger changes nothing."""
    if trigger in {Trigger.RAISE, Trigger.CLEAR}:
        return _condition(state, latching=latching, holds=trigger is Trigger.RAISE)
    if trigger is Trigger.ACKNOWLEDGE:
        return _acknowledged(state, latching=latching)
    if trigger is Trigger.RESET:
        return REST if state.process is Process.LATCHED else state
    if trigger is Trigger.SUPPRESS and state.process in UNSEEN:
        return state  # it waits: what has come up is never gone unseen
    return _settled(state, COVERS[trigger](state))


def _condition(state: State, *, latching: bool, holds: bool) -> State:
    if state.covered:
        process = Process.HELD if holds else Process.NORMAL
        shelf = state.shelf
        if shelf is Shelf.ONCE and state.holds and not holds:
            shelf = Shelf.NONE  # it has come and gone
        return replace(state, process=process, shelf=shelf)
    if holds:
        return state if state.holds else replace(state, process=Process.UNACKNOWLEDGED)
    if state.process is Process.ACKNOWLEDGED and latching:
        return replace(state, process=Process.LATCHED)
    return replace(state, process=GONE.get(state.process, state.process))


def _acknowledged(state: State, *, latching: bool) -> State:
    if state.process is Process.UNACKNOWLEDGED:
        return replace(state, process=Process.ACKNOWLEDGED)
    if state.process is Process.RETURNED:
        return replace(state, process=Process.LATCHED if latching else Process.NORMAL)
    return state


def _settled(before: State, covers: State) -> State:
    """Return a state whose process fits the covers that lie on it now."""
    if covers.covered:
        return replace(covers, process=Process.HELD if before.holds else Process.NORMAL)
    if before.covered:  # the last one came off
        return replace(covers, process=Process.UNACKNOWLEDGED) if before.holds else covers
    return covers


UNSEEN: Final = {Process.UNACKNOWLEDGED, Process.RETURNED, Process.LATCHED}
GONE: Final[Mapping[Process, Process]] = {
    Process.UNACKNOWLEDGED: Process.RETURNED,
    Process.ACKNOWLEDGED: Process.NORMAL,
}
COVERS: Final[Mapping[Trigger, Callable[[State], State]]] = {
    Trigger.SHELVE: lambda state: replace(state, shelf=Shelf.TIMED),
    Trigger.SHELVE_ONCE: lambda state: replace(state, shelf=Shelf.ONCE),
    Trigger.UNSHELVE: lambda state: replace(state, shelf=Shelf.NONE),
    Trigger.SHELF_EXPIRES: lambda state: replace(state, shelf=Shelf.NONE),
    Trigger.SUPPRESS: lambda state: replace(state, suppressed=True),
    Trigger.UNSUPPRESS: lambda state: replace(state, suppressed=False),
    Trigger.TAKE_OUT_OF_SERVICE: lambda state: replace(state, out_of_service=True),
    Trigger.PUT_IN_SERVICE: lambda state: replace(state, out_of_service=False),
}
