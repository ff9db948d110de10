"""The simulation's panel: faults of probes and plant, and time made to pass; never a real house."""

import json
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import Depends
from pydantic import BaseModel, Field

from api import simulation_words as words
from api.access import Role, needs
from api.entries import Entry, ProbeId, Text
from api.errors import declared
from api.house import House, Housed
from api.probes import Known
from api.routing import Router
from api.site import stored
from calc.errors import OutOfRangeError
from logger.bus import control
from logger.bus.faults import Fault
from logger.errors import NotFoundError
from logger.plant import orders, troubles
from logger.plant.troubles import Trouble
from logger.settings import KERNEL_BUS
from logger.store.tables import TEMPERATURE


def simulated(house: Housed) -> House:
    """Let nobody cause faults in a real house."""
    if not stored(house.reader.engine)[0].simulated:
        raise NotFoundError(
            "This is a real house and no simulation, so nothing can be caused here; "
            "wormtub demo shows one."
        )
    return house


Simulated = Annotated[House, Depends(simulated)]
router = Router(
    prefix="/simulation",
    tags=["simulation"],
    dependencies=[needs(Role.WATCH)],
    responses=declared(404),
)


class FaultKind(BaseModel):
    """A fault that can be caused."""

    kind: Literal["bus", "plant"]
    name: str
    says: str
    places: Annotated[int, Field(description="Of the plant, how many it is at.")] = 0
    amount: Annotated[float | None, Field(description="As it is unless said otherwise.")] = None
    unit: str | None = None


class SimulatedProbe(BaseModel):
    """A probe of the simulated bus."""

    probe_id: str
    vessel: str | None
    place: str | None
    fault: str | None


class Standing(BaseModel):
    """A fault of the plant that stands."""

    name: str
    amount: float
    places: list[str]


class PlantState(BaseModel):
    """How the simulated plant truly stands."""

    t_s: Annotated[float, Field(description="Seconds of the scenario.")]
    finished: bool
    stages: Annotated[dict[str, str], Field(description="What each vessel does.")]
    vapour_abv: float
    spout_abv: float
    spout_l_min: float
    collected_l: float
    pressure_hpa: float


class Simulation(BaseModel):
    """The state of the simulation, and what can be caused."""

    says: str
    plant: PlantState | None
    places: Annotated[list[str], Field(description="Of the plant, for its faults.")]
    probes: list[SimulatedProbe]
    faults: list[FaultKind]
    standing: list[Standing]
    longest_jump_s: float = orders.LONGEST_JUMP_S


class ProbeFault(Entry):
    """A fault of a probe to cause, or to end with null."""

    probe_id: ProbeId
    fault: Fault | None


class PlantOrder(Entry):
    """A fault of the plant to cause or to end."""

    fault: Trouble
    on: bool
    amount: Annotated[float | None, Field(ge=0, le=1000, allow_inf_nan=False)] = None
    places: Annotated[list[Text], Field(max_length=2, default_factory=list)]


class Jump(Entry):
    """Time to pass at once."""

    seconds: Annotated[float, Field(gt=0, le=orders.LONGEST_JUMP_S, allow_inf_nan=False)]


@router.get("", name="state")
def read(house: Simulated) -> Simulation:
    """Return how the simulation stands and what can be caused in it."""
    return _simulation(house)


@router.post("/probes", dependencies=[needs(Role.OPERATE)])
def fault_probe(house: Simulated, body: ProbeFault) -> Simulation:
    """Make a probe fail, or heal it."""
    control.ask(_bus(house), body.probe_id, body.fault)
    return _simulation(house)


@router.post("/plant", dependencies=[needs(Role.OPERATE)])
def fault_plant(house: Simulated, body: PlantOrder) -> Simulation:
    """Let something go wrong with the plant, or end it."""
    bus = _bus(house)
    if body.on:
        orders.befall(bus, _in_words(body), _places())
    else:
        orders.mend(bus, body.fault)
    return _simulation(house)


@router.post("/jump", dependencies=[needs(Role.OPERATE)])
def jump(house: Simulated, body: Jump) -> Simulation:
    """Take the plant ahead in its run; what its probes feel goes with it."""
    orders.jump(_bus(house), body.seconds)
    return _simulation(house)


def _bus(house: House) -> Path:
    """Name the simulated bus: the settings' own, or the one a demonstration keeps in its data."""
    bus = house.settings.bus
    return house.settings.data / "bus" / "w1" if bus == KERNEL_BUS else bus


def _in_words(body: PlantOrder) -> str:
    if body.amount is not None and body.fault not in words.AMOUNTS:
        raise OutOfRangeError(f"{body.fault} has no amount; leave it out.", quantity="amount")
    at = f" at {' and '.join(body.places)}" if body.places else ""
    by = f" by {body.amount:g}" if body.amount is not None else ""
    return f"{body.fault}{at}{by}"


def _places() -> tuple[str, ...]:
    from logger.plant.distillery import demo_size  # noqa: PLC0415 - only a simulation needs it

    return demo_size().places


def _simulation(house: House) -> Simulation:
    bus = _bus(house)
    plant = _plant(bus)
    says = "Everything here is simulated: an invented distillery, invented readings."
    if plant is None:
        says += " Its plant does not run; start it with wormtub demo."
    return Simulation(
        says=says,
        plant=plant,
        places=list(_places()),
        probes=_probes(house, control.folder_beside(bus)),
        faults=_kinds(),
        standing=_standing(control.folder_beside(bus)),
    )


def _plant(bus: Path) -> PlantState | None:
    try:
        said: dict[str, Any] = json.loads(orders.state_file(bus).read_bytes())
    except (FileNotFoundError, NotADirectoryError):
        return None
    return PlantState.model_validate({"finished": said["finished"], **said["truth"]})


def _probes(house: House, folder: Path) -> list[SimulatedProbe]:
    known = Known.read(house)
    ids = sorted({c.probe_id for c in known.channels if c.quantity == TEMPERATURE})
    placed = {
        line.channel.probe_id: line
        for line in known.placed.values()
        if line.channel.quantity == TEMPERATURE
    }
    wanted = control.wanted(folder, ids)
    return [
        SimulatedProbe(
            probe_id=probe_id,
            vessel=placed[probe_id].vessel if probe_id in placed else None,
            place=placed[probe_id].place if probe_id in placed else None,
            fault=wanted.get(probe_id),
        )
        for probe_id in ids
    ]


def _kinds() -> list[FaultKind]:
    bus = [FaultKind(kind="bus", name=name, says=says) for name, says in words.BUS.items()]
    plant = [
        FaultKind(
            kind="plant",
            name=name,
            says=says,
            places=troubles.PLACES.get(Trouble(name), 0),
            amount=troubles.DEFAULTS.get(Trouble(name)),
            unit=words.AMOUNTS.get(name),
        )
        for name, says in words.PLANT.items()
    ]
    return [*bus, *plant]


def _standing(folder: Path) -> list[Standing]:
    return [
        Standing(name=case.trouble, amount=case.amount, places=list(case.places))
        for case in orders.standing(folder, _places()).values()
    ]
