"""The web server around the application: one worker, a clean stop, and word to systemd."""

import logging
import signal
import socket

import typer
import uvicorn

from api.access import is_loopback
from api.app import Service
from logger.errors import SettingsError
from logger.notify import notify
from logger.settings import Settings

EVERY_ADDRESS = ("0.0.0.0", "::")  # noqa: S104 - compared with, not bound to
GRACE_S = 5  # for answers under way; the streams end by themselves
CAUTION = (
    "Whoever reaches this address can watch; changes are made on the machine itself. "
    "Keep it inside your own network: it is no address for the open internet."
)


class Server(uvicorn.Server):
    """uvicorn that says where it listens and ends the live streams when it is told to stop."""

    def __init__(self, app: Service, settings: Settings) -> None:
        self.house = app.house
        self.settings = settings
        config = uvicorn.Config(
            app,
            host=settings.host,
            port=settings.port,
            workers=1,
            loop="uvloop",
            http="httptools",
            ws="none",
            lifespan="on",
            log_config=None,
            log_level=logging.WARNING,
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=GRACE_S,
        )
        super().__init__(config)

    def run(self, sockets: list[socket.socket] | None = None) -> None:
        """Serve until told to stop; a stop that was asked for is a success."""
        ours = {
            number: signal.signal(number, _stopped) for number in (signal.SIGTERM, signal.SIGINT)
        }
        try:
            super().run(sockets or [self._listening()])
        finally:
            for number, before in ours.items():
                signal.signal(number, before)

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, then say so to people and to systemd."""
        await super().startup(sockets)
        if self.started:
            typer.echo(f"Wormtub is at {address(self.settings)}")
            if not is_loopback(self.settings.host):
                typer.echo(CAUTION)
            notify("READY=1")

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End the streams first: they would hold their connections open."""
        notify("STOPPING=1")
        self.house.hub.close()
        await super().shutdown(sockets)

    def _listening(self) -> socket.socket:
        family = socket.AF_INET6 if ":" in self.settings.host else socket.AF_INET
        listening = socket.socket(family)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((self.settings.host, self.settings.port))
        except OSError as error:
            listening.close()
            raise SettingsError(
                f"{address(self.settings)} cannot be listened on ({error.strerror}); "
                "choose another with --host or --port."
            ) from None
        return listening


def address(settings: Settings) -> str:
    """Return the address to open in a browser; a service on every address goes by its name."""
    host = socket.gethostname() if settings.host in EVERY_ADDRESS else settings.host
    return f"http://{f'[{host}]' if ':' in host else host}:{settings.port}"


def _stopped(_number: int, _frame: object) -> None:
    """Take the signal that uvicorn raises again once it has stopped."""
