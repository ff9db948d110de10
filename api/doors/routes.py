"""The routes of the doors, and the answer anyone gets: that the service is alive."""

from fastapi import APIRouter
from pydantic import BaseModel

from api.access import Role, needs
from api.doors import entering, keeping

router = APIRouter(tags=["doors"])
router.include_router(entering.router, prefix="/doors")
router.include_router(keeping.router, prefix="/doors")


class Alive(BaseModel):
    """That the service answers, and nothing else."""

    alive: bool = True


@router.get("/alive", dependencies=[needs(Role.ANYONE)])
async def alive() -> Alive:
    """Say that the service answers."""
    return Alive()
