"""A check of the house: one part, how it does in a sentence, and what to do about it."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, Field
from sqlalchemy import Engine

from api.board import Standing
from logger.clock import Clock
from logger.settings import Settings
from logger.store.types import to_datetime


class State(StrEnum):
    """How bad it is."""

    OK = "ok"
    WARN = "warn"
    BAD = "bad"


class Check(BaseModel):
    """One part of the house: how it does, and what to do about it."""

    name: str
    state: State
    says: str
    do: Annotated[str | None, Field(description="What to do; null where nothing is wrong.")] = None


@dataclass(frozen=True, slots=True)
class Ground:
    """What the checks look at, from inside the service or beside it."""

    settings: Settings
    engine: Engine  # read-only
    clock: Clock
    standings: tuple[Standing, ...]
    slot: int | None  # the newest scan's; None without one
    age_s: float | None  # and how old it is
    period_s: int | None
    system: Path = Path("/sys")  # where the kernel tells of the machine

    @property
    def now(self) -> datetime:
        """The time, as the machine knows it."""
        return to_datetime(self.clock.now().utc_us)


def fine(name: str, says: str) -> Check:
    """Say that a part does well."""
    return Check(name=name, state=State.OK, says=says)


def warn(name: str, says: str, do: str) -> Check:
    """Say that something should be done about a part."""
    return Check(name=name, state=State.WARN, says=says, do=do)


def bad(name: str, says: str, do: str) -> Check:
    """Say that a part does not do its work."""
    return Check(name=name, state=State.BAD, says=says, do=do)


def age(age_s: float) -> str:
    """Say how long something took or has been."""
    if age_s < 120:
        return f"{age_s:.0f} s"
    if age_s < 7200:
        return f"{age_s / 60:.0f} min"
    return f"{age_s / 3600:.0f} h" if age_s < 172_800 else f"{age_s / 86_400:.0f} days"
