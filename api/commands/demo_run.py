"""The demonstration from start to end: its data, its processes, the address to open."""

import errno
import http.client
import json
import signal
import socket
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from threading import Event
from typing import Final

import typer

from api.commands import demo_seed
from api.commands.demo_children import Children
from api.commands.demo_hand import Hand
from logger.bus.iio import Channel
from logger.errors import SettingsError
from logger.plant.distillery import DEMO_PROBES, demo_channels
from logger.settings import Settings
from logger.telling import Loopback

READY_WITHIN_S: Final = 120.0  # a small machine with a slow card takes its time
WILDCARDS: Final = {"0.0.0.0": "127.0.0.1", "::": "::1"}  # noqa: S104 - told apart, not bound
SIGNALS: Final = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)


def show(settings: Settings) -> None:
    """Seed, start, say where to look, and stay until told to stop or a process ends."""
    _check_port(settings.host, settings.port)
    with _told_to_stop() as stop:
        typer.echo(f"Preparing a simulated distillery in {settings.data} ...")
        demo_seed.prepare(settings.data)
        with Children(settings.data, stop) as children:
            if _started(settings, children):
                typer.echo(_greeting(settings))
                bus = settings.data / "bus" / "w1"
                children.until(Hand(Loopback(settings), bus).look)
    typer.echo("The demonstration has stopped.")


def _started(settings: Settings, children: Children) -> bool:
    """Start the processes in turn; False where told to stop meanwhile."""
    data, bus = str(settings.data), settings.data / "bus" / "w1"
    channels = demo_channels(bus)
    iio = json.dumps([asdict(one) for one in channels], default=str)
    children.start("simulate", "--bus", str(bus))
    if not children.until(lambda: _is_up(bus, channels), READY_WITHIN_S):
        return False
    children.start("log", "--data", data, "--bus", str(bus), "--iio", iio)
    children.start("serve", "--data", data, "--host", settings.host, "--port", str(settings.port))
    return children.until(lambda: _answers(settings), READY_WITHIN_S)


def _is_up(bus: Path, channels: Sequence[Channel]) -> bool:
    probes = all((bus / probe.probe_id / "w1_slave").exists() for probe in DEMO_PROBES)
    shown = (one.folder.glob(f"*/in_{one.channel}_*") for one in channels)
    return probes and all(any(files) for files in shown)


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
