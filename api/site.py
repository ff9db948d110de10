"""The site: its name, time zone, units and altitude."""

from functools import cache
from typing import Annotated, Any, Final, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from pydantic import AfterValidator, BaseModel, BeforeValidator, Field
from sqlalchemy import Engine
from tzlocal import get_localzone_name

from api.access import Asking, Role, needs
from api.entries import Entry, LongText, Text, Version, correct, entered, store
from api.errors import declared
from api.house import House, Housed
from api.routing import Router
from api.versions import program_version
from logger.errors import ConflictError
from logger.store import facts
from logger.store.tables import Setting

KEY: Final = "site"

router = Router(prefix="/site", tags=["site"], dependencies=[needs(Role.WATCH)])


@cache  # a walk through all the files of the zones
def _zones() -> frozenset[str]:
    return frozenset(available_timezones())


def _time_zone(name: str) -> str:
    if name not in _zones():
        raise ValueError(f'"{name[:60]}" is no time zone; give an IANA name such as Europe/Vienna.')
    return name


def _or_nobody(given: object) -> object:
    """Let an empty text take back who the owner is."""
    return None if given == "" else given


TimeZone = Annotated[str, Field(max_length=60), AfterValidator(_time_zone)]
AltitudeM = Annotated[float, Field(ge=-500, le=4200, allow_inf_nan=False)]  # down to 600 hPa


class SiteFields(Entry):
    """What is said of the site."""

    name: Text = "Stillhouse"
    owner: Text | None = None
    lawful_basis: Annotated[
        LongText | None, Field(description="What allows this work, as the owner records it.")
    ] = None
    time_zone: TimeZone
    temperature_unit: Literal["C", "F"] = "C"
    altitude_m: AltitudeM | None = None


class SiteValue(SiteFields):
    """What the store keeps of it; only the demo says that it is a simulation."""

    simulated: bool = False
    said: tuple[str, ...] | None = None  # fields people set; None: kept before this was

    def says(self, field: str) -> bool:
        """Tell whether somebody set a field, or it only holds because nobody did."""
        return self.said is None or field in self.said


class SiteChange(Entry):
    """What shall stand of the site from now on; what is left out stays as it is."""

    name: Text = "Stillhouse"
    owner: Annotated[Text | None, BeforeValidator(_or_nobody)] = None
    lawful_basis: LongText | None = None
    time_zone: TimeZone = "UTC"
    temperature_unit: Literal["C", "F"] = "C"
    altitude_m: AltitudeM | None = None
    version: Version

    def said(self) -> dict[str, Any]:
        """Return what was sent; an empty text takes back what was said."""
        sent = self.model_dump(exclude_unset=True, exclude={"version"})
        return {key: None if value == "" else value for key, value in sent.items()}


class SiteRecord(BaseModel):
    """The site as it stands; `version` is 0 until somebody has said anything."""

    name: str
    owner: str | None
    lawful_basis: str | None
    time_zone: str
    temperature_unit: Literal["C", "F"]
    altitude_m: float | None
    simulated: bool
    version: int
    store_epoch: Annotated[str, Field(description="Changes when a backup is restored.")]
    program_version: str


@router.get("")
def read(house: Housed) -> SiteRecord:
    """Return the site's name, time zone, units and altitude."""
    return _record(house)


@router.put("", dependencies=[needs(Role.OPERATE)], responses=declared(409))
def change(house: Housed, asking: Asking, body: SiteChange) -> SiteRecord:
    """Say what the site is called, where it lies and which units it uses."""
    kept, _ = stored(house.reader.engine)
    changes = body.said()
    if kept.said is not None:
        changes["said"] = tuple(sorted({*kept.said, *changes}))
    value = kept.model_copy(update=changes)
    old = _setting(house.reader.engine)
    if old is not None:
        correct(house, asking, old, body.version, {"value": value.model_dump_json()})
    elif body.version:
        raise ConflictError(f"The site has no version {body.version} yet; load it again.")
    else:
        made = Setting.first(key=KEY, value=value.model_dump_json(), **entered(house, asking))
        store(house, made)
    return _record(house)


def stored(engine: Engine) -> tuple[SiteValue, int]:
    """Return what is said of the site and its version, with what holds where nothing is said."""
    setting = _setting(engine)
    if setting is None:
        return SiteValue(time_zone=local_time_zone(), said=()), 0
    return SiteValue.model_validate_json(setting.value), setting.version


def local_time_zone() -> str:
    """Return the machine's IANA time zone; UTC where it has none."""
    try:
        name = get_localzone_name()
    except (ZoneInfoNotFoundError, LookupError):
        return "UTC"
    return name if name in _zones() else "UTC"


def zone(engine: Engine) -> ZoneInfo:
    """Return the site's time zone."""
    return ZoneInfo(stored(engine)[0].time_zone)


def _setting(engine: Engine) -> Setting | None:
    found = facts.all_current(engine, Setting)
    return next((one for one in reversed(found) if one.key == KEY), None)


def _record(house: House) -> SiteRecord:
    value, version = stored(house.reader.engine)
    return SiteRecord(
        **value.model_dump(exclude={"said"}),
        version=version,
        store_epoch=str(house.identity.epoch),
        program_version=program_version(),
    )
