"""`wormtub simulate`: a one-wire bus made of files, for the demo, for tests and for trying out."""

from pathlib import Path
from typing import Annotated

import typer

from api.commands import options

simulate = typer.Typer(invoke_without_command=True)


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.add_typer(simulate, name="simulate")


@simulate.callback()
def run(
    context: typer.Context,
    bus: options.Bus = None,
    speed: Annotated[
        float, typer.Option(min=0.01, max=3600.0, help="Seconds of the scenario a second.")
    ] = 1.0,
    from_s: Annotated[
        float | None,
        typer.Option(metavar="SECONDS", help="Where in the scenario to begin; 0 is a charge."),
    ] = None,
) -> None:
    """Keep up a simulated one-wire bus in a folder, until stopped."""
    from logger.bus import simulated_still

    if context.invoked_subcommand is not None:
        context.obj = bus
        return
    folder = _named(bus)
    begin_s = simulated_still.DEMO_OPENS_AT_S if from_s is None else from_s
    _keep_up(folder, begin_s, speed)


@simulate.command()
def fault(
    context: typer.Context,
    probe: Annotated[str, typer.Argument(help="The probe's id, or the demo's place: head.")],
    kind: Annotated[str, typer.Argument(metavar="FAULT", help="A fault; none heals the probe.")],
    bus: options.Bus = None,
) -> None:
    """Make a probe of a running simulated bus fail, or heal it."""
    from logger.bus import control
    from logger.bus.simulated_still import DEMO_PROBES

    places = {known.place: known.probe_id for known in DEMO_PROBES}
    probe_id = places.get(probe, probe)
    folder = _named(bus or context.obj)
    control.ask(folder, probe_id, control.fault_named(kind))
    typer.echo(f"{probe_id}: {kind}")


def _named(bus: Path | None) -> Path:
    """Give the folder; the kernel's own is never taken by default."""
    from logger.errors import SettingsError
    from logger.settings import KERNEL_BUS

    if bus is None or bus.absolute() == KERNEL_BUS:
        raise SettingsError(
            "Name a folder for the simulated bus, as in wormtub simulate --bus /tmp/still/bus; "
            "what stands beside it is used as well."
        )
    return bus.absolute()


def _keep_up(folder: Path, begin_s: float, speed: float) -> None:
    import signal
    from threading import Event

    from logger.bus.simulated_still import demo_bus
    from logger.errors import BusError

    stop = Event()
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
        signal.signal(number, lambda *_: stop.set())
    try:
        bus = demo_bus(folder, begin_s)
    except OSError as error:
        raise BusError(
            f"A simulated bus cannot be laid out at {folder} ({error.strerror}): name a folder "
            "that may be written, with --bus."
        ) from None
    typer.echo(f"A simulated bus is at {folder}; stop it with Ctrl-C.")
    try:
        bus.serve(stop, from_s=begin_s, speed=speed)
    finally:
        bus.close()
