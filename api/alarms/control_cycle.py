"""How long a cycle of the heat's control lasts, as the site has said it."""

import orjson
from sqlalchemy import Engine

from api.access import Asking, Role, needs
from api.alarms.bodies import ControlCycle, ControlCycleChange
from api.alarms.book import CONTROL_CYCLE
from api.entries import correct, entered, store
from api.errors import declared
from api.house import Housed
from api.routing import Router
from logger.errors import ConflictError
from logger.store import facts
from logger.store.tables import Setting

router = Router(prefix="/alarms/control-cycle", tags=["alarms"], dependencies=[needs(Role.WATCH)])


@router.get("")
def read(house: Housed) -> ControlCycle:
    """Return it."""
    return _record(house.reader.engine)


@router.put("", dependencies=[needs(Role.OWN)], responses=declared(409))
def change(house: Housed, asking: Asking, body: ControlCycleChange) -> ControlCycle:
    """Set it; the slopes are judged over longer windows where they must be."""
    old, value = _kept(house.engine), orjson.dumps(body.seconds).decode()
    if old is not None:
        correct(house, asking, old, body.version, {"value": value})
    elif body.version:
        raise ConflictError(f"Nothing has version {body.version} here yet; load it again.")
    else:
        store(house, Setting.first(key=CONTROL_CYCLE, value=value, **entered(house, asking)))
    return _record(house.engine)


def _record(engine: Engine) -> ControlCycle:
    kept = _kept(engine)
    if kept is None:
        return ControlCycle(seconds=0.0, version=0)
    return ControlCycle(seconds=orjson.loads(kept.value), version=kept.version)


def _kept(engine: Engine) -> Setting | None:
    found = facts.all_current(engine, Setting)
    return next((one for one in found if one.key == CONTROL_CYCLE), None)
