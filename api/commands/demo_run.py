"""The demonstration from start to end: its data, its processes, the address to open."""

import errno
import http.client
import signal
import socket
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from threading import Event
from time import monotonic
from typing import Final

import typer

from api.commands import demo_seed
from api.commands.demo_children import Child, ChildError, together
from logger.bus.simulated_still import demo_channels
from logger.errors import SettingsError
from logger.settings import Settings

ANSWER_WITHIN_S: Final = 120.0  # a small machine with a slow card takes its time
WILDCARDS: Final = {"0.0.0.0": "127.0.0.1", "::": "::1"}  # noqa: S104 - told apart, not bound
SIGNALS: Final = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)


def show(settings: Settings) -> None:
    """Seed, start, say where to look, and stay until told to stop or a process ends."""
    _check_port(settings.host, settings.port)
    with _told_to_stop() as stop:
        typer.echo(f"Preparing a simulated distillery in {settings.data} ...")
        demo_seed.prepare(settings.data)
        with together(settings.data, *_commands(settings)) as children:
            if _until(lambda: _answers(settings), children, stop):
                typer.echo(_greeting(settings))
                _until(lambda: False, children, stop, within_s=None)
    typer.echo("The demonstration has stopped.")


def _commands(settings: Settings) -> Iterator[Sequence[str]]:
    data, bus = str(settings.data), str(settings.data / "bus" / "w1")
    [barometer] = demo_channels(Path(bus))
    iio = f"{barometer.device}/{barometer.channel}@{barometer.folder}"
    yield "simulate", "--bus", bus
    yield "log", "--data", data, "--bus", bus, "--iio", iio
    yield "serve", "--data", data, "--host", settings.host, "--port", str(settings.port)


def _until(
    done: Callable[[], bool],
    children: Sequence[Child],
    stop: Event,
    within_s: float | None = ANSWER_WITHIN_S,
) -> bool:
    """Wait until done (True) or told to stop (False); a child that ends is an error."""
    deadline = None if within_s is None else monotonic() + within_s
    while not stop.is_set():
        for child in children:
            child.check()
        if done():
            return True
        if deadline is not None and monotonic() > deadline:
            raise ChildError(f"The service does not answer within {within_s:g} s.")
        stop.wait(0.2)
    return False


def _answers(settings: Settings) -> bool:
    host = WILDCARDS.get(settings.host, settings.host)
    asking = http.client.HTTPConnection(host, settings.port, timeout=5)
    try:
        asking.request("GET", "/api/live")
        return asking.getresponse().status == http.client.OK
    except (OSError, http.client.HTTPException):
        return False
    finally:
        asking.close()


def _greeting(settings: Settings) -> str:
    host = WILDCARDS.get(settings.host, settings.host)
    address = f"http://{f'[{host}]' if ':' in host else host}:{settings.port}/"
    return (
        f"Open {address}\n"
        "Everything there is simulated: an invented distillery in the middle of a spirit run.\n"
        "Stop it with Ctrl-C."
    )


def _check_port(host: str, port: int) -> None:
    """Say at once, and not in a child's log, that the port is taken."""
    try:
        family, *_, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        socket.create_server(address[:2], family=family).close()
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            raise SettingsError(
                f"Port {port} of {host} is taken by another program: choose another with --port "
                "or WORMTUB_PORT."
            ) from None
        raise SettingsError(
            f"{host} port {port} cannot be listened on ({error.strerror}): choose others with "
            "--host and --port."
        ) from None


@contextmanager
def _told_to_stop() -> Iterator[Event]:
    stop = Event()
    before = [signal.signal(number, lambda *_: stop.set()) for number in SIGNALS]
    try:
        yield stop
    finally:
        for number, handler in zip(SIGNALS, before, strict=True):
            signal.signal(number, handler)
