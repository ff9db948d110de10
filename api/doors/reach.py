"""By which address a phone reaches the service."""

from socket import gethostname
from typing import Final

from starlette.requests import Request

from api.doors.addresses import Asker, host_name, is_loopback
from logger.settings import Settings

EVERY_ADDRESS: Final = ("0.0.0.0", "::")  # noqa: S104 - compared with, not bound to


UNREACHED: Final = (
    "The service listens on this machine only, so no phone can reach it; start it with --host, "
    "or name in host_names what a proxy calls it."
)


def root_of(request: Request, asks: Asker, settings: Settings) -> str | None:
    """Return the service's address as the page was opened; from the machine, as others open it."""
    host = request.headers.get("host", "")
    if is_loopback(host_name(host)):
        return root(settings)
    return f"{'https' if asks.secure else 'http'}://{host}"


def root(settings: Settings) -> str | None:
    """Return the address other machines open; None where the service hears no other machine."""
    host = settings.host_names[0] if settings.host_names else settings.host
    if is_loopback(host):
        return None
    if is_loopback(settings.host):  # a proxy stands before it, by HTTPS: see deploy
        return f"https://{host}"
    if host in EVERY_ADDRESS:
        own = gethostname().lower()
        host = own if "." in own else f"{own}.local"  # RFC 6762
    scheme = "http" if settings.tls_cert is None else "https"
    return f"{scheme}://{f'[{host}]' if ':' in host else host}:{settings.port}"
