"""The web server around the application: one worker, a clean stop, and word to systemd."""

import logging
import signal
import socket
import ssl

import typer
import uvicorn

from api.app import Service
from api.doors.addresses import is_loopback
from api.doors.protocol import bounded_for
from api.doors.reach import EVERY_ADDRESS
from logger.errors import SettingsError
from logger.notify import notify
from logger.settings import Settings

log = logging.getLogger(__name__)

GRACE_S = 5  # for answers under way; the streams end by themselves
CAUTION = (
    "From elsewhere a sign-in is asked for (wormtub people add NAME --role own makes the first). "
    "Keep it inside your own network: it is no address for the open internet."
)
PLAIN = (
    "It is served without encryption: a passphrase can be read by others on the network. "
    "wormtub certificate makes what HTTPS needs."
)
TICKS_BETWEEN_LOOKS = 20  # of a tenth of a second: whether the certificate was renewed


class Server(uvicorn.Server):
    """uvicorn that says where it listens and ends the live streams when it is told to stop."""

    def __init__(self, app: Service, settings: Settings) -> None:
        check_certificate(settings)
        self._certified = _changed_at(settings)
        self.house = app.house
        self.settings = settings
        config = uvicorn.Config(
            app,
            host=settings.host,
            port=settings.port,
            workers=1,
            loop="api.doors.gate:GatedLoop",
            http=bounded_for(settings.trusted_proxies),
            proxy_headers=False,  # api.doors.addresses reads them, from the proxies trusted
            ssl_certfile=settings.tls_cert,
            ssl_keyfile=settings.tls_key,
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
                if self.settings.tls_cert is None:
                    typer.echo(PLAIN)
            notify("READY=1")

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End the streams first: they would hold their connections open."""
        notify("STOPPING=1")
        self.house.hub.close()
        await super().shutdown(sockets)

    async def on_tick(self, counter: int) -> bool:
        """Take a renewed certificate into use, for the connections to come."""
        if counter % TICKS_BETWEEN_LOOKS == 0 and self.config.ssl is not None:
            self._look_at_certificate(self.config.ssl)
        return await super().on_tick(counter)

    def _look_at_certificate(self, context: ssl.SSLContext) -> None:
        changed_at = _changed_at(self.settings)
        if changed_at in (0, self._certified):
            return
        try:
            _load_certificate(context, self.settings)
        except SettingsError as error:
            log.warning("The certificate in use stays: %s", error)
        self._certified = changed_at

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
    scheme = "http" if settings.tls_cert is None else "https"
    return f"{scheme}://{f'[{host}]' if ':' in host else host}:{settings.port}"


def check_certificate(settings: Settings) -> None:
    """Raise SettingsError where HTTPS cannot be served with the files named."""
    if (settings.tls_cert is None) != (settings.tls_key is None):
        raise SettingsError(
            "HTTPS needs both --tls-cert and --tls-key; wormtub certificate makes the two files."
        )
    if settings.tls_cert is not None:
        _load_certificate(ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER), settings)


def _load_certificate(context: ssl.SSLContext, settings: Settings) -> None:
    try:
        context.load_cert_chain(str(settings.tls_cert), str(settings.tls_key))
    except OSError as error:  # of which ssl's own errors are
        raise SettingsError(
            f"HTTPS cannot be served with {settings.tls_cert} and {settings.tls_key} "
            f"({error.strerror or error}): name a certificate and its key, in PEM, readable for "
            "this user."
        ) from None


def _changed_at(settings: Settings) -> int:
    """Say when the certificate's file was written; 0 where there is none."""
    try:
        return settings.tls_cert.stat().st_mtime_ns if settings.tls_cert else 0
    except OSError:
        return 0


def _stopped(_number: int, _frame: object) -> None:
    """Take the signal that uvicorn raises again once it has stopped."""
