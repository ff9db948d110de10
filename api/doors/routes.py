"""The routes of the doors, and the answer anyone gets: that the service is alive."""

from pydantic import BaseModel

from api.access import Role, needs
from api.doors import entering, keeping
from api.routing import Router

router = Router(tags=["doors"])
router.take(entering.router, prefix="/doors")
router.take(keeping.router, prefix="/doors")


class Alive(BaseModel):
    """That the service answers, and nothing else."""

    alive: bool = True


@router.get("/alive", dependencies=[needs(Role.ANYONE)])
async def alive() -> Alive:
    """Say that the service answers."""
    return Alive()
