"""The address that notices lead to, and the one that hears the heartbeat."""

from typing import Annotated, Final, Self
from urllib.parse import urlsplit

from pydantic import AfterValidator, BaseModel, Field
from sqlalchemy import Engine

from api.alarms.notices.heartbeat import LONGEST_EVERY_S, SHORTEST_EVERY_S
from logger.store import facts
from logger.store.tables import Setting

KEY: Final = "notices"


def _web_address(text: str) -> str:
    if text and not _is_web_address(text):
        raise ValueError(
            f'"{text[:60]}" is no web address; give one that begins with http:// or https://.'
        )
    return text


def _is_web_address(text: str) -> bool:
    try:
        parts = urlsplit(text)
        return parts.scheme in {"http", "https"} and bool(parts.hostname) and parts.port != 0
    except ValueError:  # a port or an IPv6 address that is none
        return False


WebAddress = Annotated[
    str, Field(max_length=500, pattern=r"^[!-~]*$"), AfterValidator(_web_address)
]
EveryS = Annotated[int, Field(ge=SHORTEST_EVERY_S, le=LONGEST_EVERY_S)]


class Addresses(BaseModel):
    """What is set; an empty address is none."""

    link_address: Annotated[
        WebAddress, Field(description="Where phones open the pages: http://still.local:8080.")
    ] = ""
    heartbeat_address: Annotated[
        WebAddress, Field(description="Asked again and again while scans are judged.")
    ] = ""
    heartbeat_every_s: EveryS = LONGEST_EVERY_S

    @classmethod
    def stored(cls, engine: Engine) -> tuple[Self, Setting | None]:
        """Read what is set, and the fact that says so."""
        found = [one for one in facts.all_current(engine, Setting) if one.key == KEY]
        return (cls.model_validate_json(found[-1].value), found[-1]) if found else (cls(), None)
