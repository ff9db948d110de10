"""The first run: what there is to say of a new house, what has been said, and what comes next."""

from collections.abc import Callable
from typing import Annotated, Final, Literal

from pydantic import BaseModel, Field, TypeAdapter
from starlette.concurrency import run_in_threadpool

from api import pressure, site
from api.access import Asking, Role, Visitor, needs
from api.entries import correct, entered, store
from api.house import House, Housed
from api.layout import Channel
from api.routing import Router
from calc.quantities import PRESSURE
from logger.store import facts
from logger.store.tables import TEMPERATURE, Setting

KEY: Final = "guide"
SKIPPED: Final = TypeAdapter(tuple[str, ...])
LAWFUL: Final = (
    "Distilling spirit without a licence or permit is unlawful in many places, at home and for "
    "your own use as well (in the United States 27 CFR 19.51, in the United Kingdom a distiller's "
    "licence). Wormtub cannot tell what holds where you are and assumes nothing: ask your "
    "authority, and record here what allows your work."
)
FIRE: Final = (
    "Alcohol vapour burns and explodes. Wormtub watches; it is no safety device and replaces no "
    "person beside the still. Local codes and licensed practice go before anything it says."
)

StepName = Literal[
    "owner", "lawful_basis", "time_zone", "units", "pressure", "vessels", "probes"
]  # fmt: skip
State = Literal["done", "skipped", "open"]

router = Router(prefix="/guide", tags=["guide"], dependencies=[needs(Role.WATCH)])


class Step(BaseModel):
    """One thing to say; a step that is done counts as done even where it was skipped."""

    name: StepName
    title: str
    state: State
    says: Annotated[str, Field(description="What stands, or what to do first.")]
    caution: str | None = None


class Guide(BaseModel):
    """The steps in their order, and the first that is open."""

    steps: list[Step]
    next: StepName | None
    done: Annotated[bool, Field(description="No step is open.")]
    caution: str


class _Known(BaseModel):
    """What the steps are judged from, read at once."""

    site: site.SiteValue
    pressure: str | None
    vessels: list[str]
    unplaced: list[str]
    placed: int
    simulated_now: bool


Judge = Callable[[_Known], tuple[bool, str]]


@router.get("")
async def read(house: Housed) -> Guide:
    """Return how far the house is set up, and what to do next."""
    return await _guide(house)


@router.put("/{step}/skip", dependencies=[needs(Role.OPERATE)])
async def skip(house: Housed, asking: Asking, step: StepName) -> Guide:
    """Leave a step for later; it is found again in the guide."""
    await run_in_threadpool(_keep, house, asking, step, skipped=True)
    return await _guide(house)


@router.delete("/{step}/skip", dependencies=[needs(Role.OPERATE)])
async def unskip(house: Housed, asking: Asking, step: StepName) -> Guide:
    """Take a step up again."""
    await run_in_threadpool(_keep, house, asking, step, skipped=False)
    return await _guide(house)


async def _guide(house: House) -> Guide:
    measured = pressure.measured(house)  # the board belongs to the event loop
    shown = [one.line for one in house.board.standings()]
    channels = {
        (line.channel, line.place_id) for line in shown if line.channel.quantity == TEMPERATURE
    }
    return await run_in_threadpool(_judged, house, measured, channels)


def _judged(
    house: House, measured: pressure.Known | None, channels: set[tuple[Channel, str | None]]
) -> Guide:
    known = _known(house, measured, channels)
    skipped = _skipped(house)
    steps = []
    for name, title, judge, caution in STEPS:
        done, says = judge(known)
        state: State = "done" if done else "skipped" if name in skipped else "open"
        steps.append(Step(name=name, title=title, state=state, says=says, caution=caution))
    following = next((step.name for step in steps if step.state == "open"), None)
    return Guide(steps=steps, next=following, done=following is None, caution=FIRE)


def _known(
    house: House, measured: pressure.Known | None, channels: set[tuple[Channel, str | None]]
) -> _Known:
    value, _ = site.stored(house.reader.engine)
    return _Known(
        site=value,
        pressure=_pressure(house, measured, value),
        vessels=[one.name for one in facts.vessels(house.reader.engine)],
        unplaced=sorted(channel.probe_id for channel, place in channels if place is None),
        placed=sum(place is not None for _, place in channels),
        simulated_now=value.simulated,
    )


def _pressure(house: House, measured: pressure.Known | None, value: site.SiteValue) -> str | None:
    """Say where the pressure comes from, or None where nobody has said."""
    if measured is None and value.altitude_m is None and pressure.by_hand(house, house.now) is None:
        return None
    return pressure.pressure_now(house, measured).says


def _owner(known: _Known) -> tuple[bool, str]:
    owner = known.site.owner
    return owner is not None, f"The owner is {owner}." if owner else "Say whose house this is."


def _lawful_basis(known: _Known) -> tuple[bool, str]:
    basis = known.site.lawful_basis
    if basis:
        return True, f"Recorded by the owner: {basis}"
    if known.simulated_now:
        return False, "Nothing is distilled in a simulation; a real house records its basis here."
    return False, "Nothing is recorded. Write down what allows this work: a licence, its number."


def _time_zone(known: _Known) -> tuple[bool, str]:
    zone = known.site.time_zone
    if known.site.says("time_zone"):
        return True, f"Times are shown in {zone}."
    return False, f"The machine's own is {zone}; confirm it, or choose another."


def _units(known: _Known) -> tuple[bool, str]:
    unit = known.site.temperature_unit
    if known.site.says("temperature_unit"):
        return True, f"Temperatures are shown in °{unit}."
    return False, f"Temperatures are shown in °{unit} until you choose; the record is in °C."


def _said_pressure(known: _Known) -> tuple[bool, str]:
    if known.pressure is not None:
        return True, known.pressure
    return False, (
        f"Enter the altitude, or a barometer's reading ({PRESSURE.low:g} to {PRESSURE.high:g} hPa, "
        "not reduced to sea level); boiling points depend on it."
    )


def _vessels(known: _Known) -> tuple[bool, str]:
    if known.vessels:
        return True, f"There stand {', '.join(known.vessels)}."
    return False, "Add what stands in your house; begin with the still and the size of its pot."


def _probes(known: _Known) -> tuple[bool, str]:
    left = f" Without a place: {', '.join(known.unplaced)}." if known.unplaced else ""
    if known.placed:
        have = "One probe has" if known.placed == 1 else f"{known.placed} probes have"
        return True, f"{have} a place.{left}"
    if known.unplaced:
        return False, (
            "No probe has a place. Warm one in your hand, and it is offered when it rises." + left
        )
    return False, "No probe is read yet. Connect one to the bus and start wormtub log."


STEPS: Final[tuple[tuple[StepName, str, Judge, str | None], ...]] = (
    ("owner", "Owner", _owner, None),
    ("lawful_basis", "Lawful basis", _lawful_basis, LAWFUL),
    ("time_zone", "Time zone", _time_zone, None),
    ("units", "Units", _units, None),
    ("pressure", "Altitude or barometer", _said_pressure, None),
    ("vessels", "Vessels", _vessels, None),
    ("probes", "Probes to places", _probes, None),
)


def _skipped(house: House) -> tuple[str, ...]:
    setting = _setting(house)
    return SKIPPED.validate_json(setting.value) if setting else ()


def _setting(house: House) -> Setting | None:
    found = facts.all_current(house.engine, Setting)
    return next((one for one in reversed(found) if one.key == KEY), None)


def _keep(house: House, asking: Visitor, step: StepName, *, skipped: bool) -> None:
    names = {*_skipped(house), step} if skipped else {*_skipped(house)} - {step}
    value = SKIPPED.dump_json(tuple(sorted(names))).decode()
    old = _setting(house)
    if old is None:
        store(house, Setting.first(key=KEY, value=value, **entered(house, asking)))
    else:
        correct(house, asking, old, old.version, {"value": value})
