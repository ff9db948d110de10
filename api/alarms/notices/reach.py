"""How people reach the house from a notice, and how the outside knows that it lives."""

from typing import Annotated

from pydantic import BaseModel, Field

from api.access import Asking, Role, needs
from api.alarms.notices.addresses import KEY, Addresses
from api.alarms.notices.words import CAUTIONS, HEAT
from api.entries import Entry, Version, correct, entered, store
from api.errors import declared
from api.house import House, Housed
from api.routing import Router
from logger.errors import ConflictError
from logger.state import LoggerState
from logger.store import facts
from logger.store.tables import Setting

router = Router(prefix="/alarms", tags=["alarms"], dependencies=[needs(Role.WATCH)])


class AddressesChange(Entry, Addresses):
    """What shall be set; what is left out stays as it is."""

    version: Version


class HeartbeatNow(BaseModel):
    """How the heart beats."""

    beats: int
    problem: Annotated[str, Field(description="Of the last beat; empty where it was answered.")]


class SounderNow(BaseModel):
    """What the logger says of sounder and lamp."""

    problem: Annotated[str, Field(description="Why a pin cannot be used; empty where none is.")]


class Reach(Addresses):
    """What is set, and how it does; `version` is 0 until somebody has set anything."""

    version: int
    heartbeat: HeartbeatNow
    sounder: SounderNow


class Caution(BaseModel):
    """One thing to know before relying on the alarms."""

    says: str
    vessel_id: Annotated[str | None, Field(description="The still it is about.")] = None


@router.get("/reach")
def read_reach(house: Housed) -> Reach:
    """Return the address in the notices, the heartbeat, and what the sounder's pins do."""
    return _record(house)


@router.put("/reach", dependencies=[needs(Role.OWN)], responses=declared(409))
def change_reach(house: Housed, asking: Asking, body: AddressesChange) -> Reach:
    """Set the address that notices lead to, and the heartbeat."""
    kept, old = Addresses.stored(house.reader.engine)
    sent = body.model_dump(exclude_unset=True, exclude={"version"})
    value = kept.model_copy(update=sent).model_dump_json()
    if old is not None:
        correct(house, asking, old, body.version, {"value": value})
    elif body.version:
        raise ConflictError(f"Nothing has version {body.version} here yet; load it again.")
    else:
        store(house, Setting.first(key=KEY, value=value, **entered(house, asking)))
    house.calling.reread()
    return _record(house)


@router.post("/sounder/test", status_code=202, dependencies=[needs(Role.OPERATE)])
def try_sounder(house: Housed) -> SounderNow:
    """Let sounder and lamp be heard and seen three times, by the logger that holds their pins."""
    house.calling.pulse.attempt()
    return _sounder(house)


@router.get("/cautions")
def cautions(house: Housed) -> list[Caution]:
    """Return what to know before relying on the alarms, each still's heat included."""
    of_stills = [
        Caution(says=HEAT[one.heat_source].format(one.name), vessel_id=str(one.about))
        for one in facts.vessels(house.reader.engine)
        if one.kind == "still" and one.heat_source in HEAT
    ]
    return [*(Caution(says=text) for text in CAUTIONS), *of_stills]


def _record(house: House) -> Reach:
    kept, old = Addresses.stored(house.reader.engine)
    beat = house.calling.heartbeat.beat
    return Reach(
        **kept.model_dump(),
        version=0 if old is None else old.version,
        heartbeat=HeartbeatNow(beats=beat.beats, problem=beat.problem),
        sounder=_sounder(house),
    )


def _sounder(house: House) -> SounderNow:
    state = LoggerState.read(house.settings.data)
    return SounderNow(problem=state.sounder_problem if state else "")
