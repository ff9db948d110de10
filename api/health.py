"""How the house does: each part in a sentence, with what to do where something is wrong."""

import shutil
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Final

from fastapi import APIRouter
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool

from api.access import Role, needs
from api.board import Standing
from api.house import House, Housed
from api.messages import stale_after_s
from api.versions import program_version
from logger.reading import Grade
from logger.store.database import FILE_NAME, HEAD

MEGABYTE: Final = 1_000_000
LOW_MB: Final = 200  # a hot day at one scan a second grows the file by a few MB
EMPTY_MB: Final = 20
LOCKS: Final = Path("/proc/locks")

router = APIRouter(prefix="/health", tags=["about"], dependencies=[needs(Role.WATCH)])


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


class Health(BaseModel):
    """How the house does; `state` is the worst of its parts'."""

    state: State
    checks: list[Check]
    program_version: str
    schema_version: str
    watchers: int


@router.get("")
async def health(house: Housed) -> Health:
    """Return how logger, probes, clock, disk, store and service do."""
    checks = [
        await run_in_threadpool(_logger, house, house.age_s),
        _probes(house.board.standings()),
        await run_in_threadpool(_clock, house),
        await run_in_threadpool(_disk, house),
        await run_in_threadpool(_store, house),
    ]
    worst = max((one.state for one in checks), key=list(State).index)
    return Health(
        state=worst,
        checks=checks,
        program_version=program_version(),
        schema_version=HEAD,
        watchers=len(house.hub),
    )


def _logger(house: House, age_s: float | None) -> Check:
    runs = _runs(house.settings.data / "logger.lock")
    if age_s is None:
        says = "The logger runs but has stored no scan yet." if runs else "No scan is stored yet."
        do = "Wait a moment; then see what the logger says." if runs else "Start wormtub log."
        return Check(name="logger", state=State.WARN if runs else State.BAD, says=says, do=do)
    period_s = house.board.latest.period_s if house.board.latest else None
    if age_s > stale_after_s(period_s):
        how = "hangs" if runs else "is not running"
        says = f"The newest scan is {_age(age_s)} old; the logger {how}."
        do = "Restart the logger and see what it says." if runs else "Start wormtub log."
        return Check(name="logger", state=State.BAD, says=says, do=do)
    return Check(name="logger", state=State.OK, says=f"The newest scan is {_age(age_s)} old.")


def _runs(lock: Path) -> bool:
    """Say whether some process holds a lock, without touching it: proc_locks(5)."""
    try:
        mark = f":{lock.stat().st_ino} "
        return any("FLOCK" in line and mark in line for line in LOCKS.read_text().splitlines())
    except OSError:
        return False


def _probes(shown: tuple[Standing, ...]) -> Check:
    bad = [one for one in shown if one.grade is not Grade.OK]
    if not shown:
        says, do = (
            "No probe has been read yet.",
            "Check the wiring and the bus folder (wormtub probes).",
        )
        return Check(name="probes", state=State.WARN, says=says, do=do)
    if not bad:
        return Check(name="probes", state=State.OK, says=f"All {len(shown)} probes read well.")
    names = ", ".join(f"{_name(one)} ({one.grade.name.lower()})" for one in bad)
    return Check(
        name="probes",
        state=State.BAD if any(one.line.place for one in bad) else State.WARN,
        says=f"{len(bad)} of {len(shown)} probes gave no good reading: {names}.",
        do="Check the cable, the connections and the supply of the probes named.",
    )


def _clock(house: House) -> Check:
    if house.clock.synchronised():
        return Check(name="clock", state=State.OK, says="The clock is kept right by a time source.")
    return Check(
        name="clock",
        state=State.WARN,
        says="The clock is not synchronised, so times may be wrong; no reading is lost.",
        do="Connect the machine to a network with a time server, or set the clock by hand; the "
        "times of what was logged meanwhile are put right then.",
    )


def _disk(house: House) -> Check:
    free_mb = shutil.disk_usage(house.settings.data).free / MEGABYTE
    says = f"{free_mb:,.0f} MB are free where the data lie."
    if free_mb > LOW_MB:
        return Check(name="disk", state=State.OK, says=says)
    state = State.BAD if free_mb < EMPTY_MB else State.WARN
    return Check(name="disk", state=state, says=says, do="Free space there, or fit a larger card.")


def _store(house: House) -> Check:
    size_mb = (house.settings.data / FILE_NAME).stat().st_size / MEGABYTE
    house.reader.latest()  # raises a sentence where the file cannot be read
    return Check(name="store", state=State.OK, says=f"The record takes {size_mb:,.1f} MB.")


def _name(one: Standing) -> str:
    return one.line.place or one.line.channel.probe_id


def _age(age_s: float) -> str:
    if age_s < 120:
        return f"{age_s:.0f} s"
    return f"{age_s / 60:.0f} min" if age_s < 7200 else f"{age_s / 3600:.0f} h"
