"""How the house does: each part in a sentence, with what to do where something is wrong."""

from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool

from api.access import Role, needs
from api.checks.all import go_round, worst
from api.checks.check import Check, Ground, State
from api.house import House, Housed
from api.routing import Router
from api.versions import program_version
from logger.store.database import HEAD

router = Router(prefix="/health", tags=["about"], dependencies=[needs(Role.WATCH)])


class Health(BaseModel):
    """How the house does; `state` is the worst of its parts'."""

    state: State
    checks: list[Check]
    program_version: str
    schema_version: str
    watchers: int


@router.get("")
async def health(house: Housed) -> Health:
    """Return how each part of the house does, from the wires to the backups."""
    checks = await run_in_threadpool(go_round, _ground(house))
    return Health(
        state=worst(checks),
        checks=checks,
        program_version=program_version(),
        schema_version=HEAD,
        watchers=len(house.hub),
    )


def _ground(house: House) -> Ground:
    """Gather on the event loop what belongs to it."""
    board = house.board
    return Ground(
        settings=house.settings,
        engine=house.reader.engine,
        clock=house.clock,
        standings=board.standings(),
        slot=board.latest.slot if board.latest else None,
        age_s=house.age_s,
        period_s=board.latest.period_s if board.latest else None,
    )
