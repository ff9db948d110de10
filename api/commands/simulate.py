"""`wormtub simulate`: a plant that behaves like one, on a one-wire bus made of files.

For the demonstration, for tests and for trying out. The plant runs a script, takes orders
(faults, jumps ahead) from other processes, and can write what is true beside what its probes say.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from api.commands import options

if TYPE_CHECKING:
    from logger.plant.run import Run

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
        typer.Option(
            metavar="SECONDS", min=0.0, max=5_000_000.0, help="How far into the script to begin."
        ),
    ] = None,
    script: Annotated[
        Path | None, typer.Option(metavar="FILE", help="What the plant does; else the demo's.")
    ] = None,
    seed: Annotated[
        int | None, typer.Option(metavar="N", help="Draw another plant by this number.")
    ] = None,
    truth: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write what is true here, as CSV.")
    ] = None,
) -> None:
    """Keep up a simulated plant and its one-wire bus in a folder, until stopped."""
    if context.invoked_subcommand is not None:
        context.obj = bus
        return
    folder = _named(bus)
    made = _run(script, seed, from_s)
    _keep_up(folder, made, speed, truth, 1 if seed is None else seed)


@simulate.command()
def fault(
    context: typer.Context,
    probe: Annotated[str, typer.Argument(help="The probe's id, or the demo's place: head.")],
    kind: Annotated[str, typer.Argument(metavar="FAULT", help="A fault; none heals the probe.")],
    bus: options.Bus = None,
) -> None:
    """Make a probe of a running simulated bus fail, or heal it."""
    from logger.bus import control
    from logger.plant.distillery import DEMO_PROBES

    places = {name: known.probe_id for known in DEMO_PROBES for name in (known.place, known.feels)}
    probe_id = places.get(probe, probe)
    control.ask(_named(bus or context.obj), probe_id, control.fault_named(kind))
    typer.echo(f"{probe_id}: {kind}")


@simulate.command()
def trouble(
    context: typer.Context,
    words: Annotated[
        list[str], typer.Argument(help="As in a script: coolant-warm by 20; coolant-stopped.")
    ],
    bus: options.Bus = None,
) -> None:
    """Let something go wrong with the running plant."""
    from logger.plant import orders
    from logger.plant.distillery import demo_size

    case = orders.befall(_named(bus or context.obj), " ".join(words), demo_size().places)
    typer.echo(f"{case.trouble}: begun")


@simulate.command()
def mend(
    context: typer.Context,
    name: Annotated[str, typer.Argument(metavar="TROUBLE", help="Such as coolant-stopped.")],
    bus: options.Bus = None,
) -> None:
    """Put right what went wrong with the running plant."""
    from logger.plant import orders

    orders.mend(_named(bus or context.obj), name)
    typer.echo(f"{name}: mended")


@simulate.command()
def jump(
    context: typer.Context,
    minutes: Annotated[float, typer.Argument(help="How far to go on at once.")],
    bus: options.Bus = None,
) -> None:
    """Take the running plant ahead at once."""
    from logger.plant import orders

    orders.jump(_named(bus or context.obj), minutes * 60.0)
    typer.echo(f"{minutes:g} min ahead")


@simulate.command()
def trace(
    kind: Annotated[str, typer.Argument(help="mash, ferment, strip or spirit.")],
    to: Annotated[Path, typer.Option(metavar="DIR", help="A folder for the files.")],
    seed: Annotated[int, typer.Option(metavar="N", min=0, help="The first run's number.")] = 1,
    runs: Annotated[int, typer.Option(metavar="N", min=1, max=100_000, help="How many.")] = 1,
    during: Annotated[
        str, typer.Option(metavar="LINES", help="Of a script, between semicolons, put in midway.")
    ] = "",
    every_s: Annotated[int, typer.Option(min=1, max=600, help="Seconds between scans.")] = 1,
) -> None:
    """Write simulated runs as recorded traces, what is true beside each: by seed, no two alike."""
    from logger.errors import SettingsError
    from logger.plant.trace import write

    lines = "\n".join(part.strip() for part in during.split(";"))
    try:
        to.mkdir(parents=True, exist_ok=True)
        for number in range(seed, seed + runs):
            for made in write(kind, number, to, during=lines, every_s=every_s):
                typer.echo(made)
    except OSError as error:
        raise SettingsError(
            f"Traces cannot be written to {to} ({error.strerror}): name a folder with --to."
        ) from None


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


def _run(script: Path | None, seed: int | None, from_s: float | None) -> "Run":
    """Begin the run asked for, so far into it as is asked for."""
    from logger.plant import distillery
    from logger.plant.parameters import PlantSize
    from logger.plant.practice import practice
    from logger.plant.run import Run

    if script is not None:
        size = distillery.demo_size() if seed is None else PlantSize.drawn(seed)
        made = Run(_text(script), size, start_s=distillery.BEGINS_AT_S)
    elif seed is not None:
        made = practice("spirit", seed)
    else:
        made = distillery.live_run()
        from_s = distillery.OPENS_AT_S - distillery.BEGINS_AT_S if from_s is None else from_s
    made.advance(made.t_s + (from_s or 0.0))
    return made


def _text(script: Path) -> str:
    from logger.errors import SettingsError

    try:
        return script.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise SettingsError(
            f"The script {script} cannot be read ({why}): name a text file with --script."
        ) from None


def _keep_up(folder: Path, made: "Run", speed: float, truth: Path | None, seed: int) -> None:
    import signal
    from threading import Event

    from logger.errors import BusError
    from logger.plant.driver import PlantDriver

    stop = Event()
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
        signal.signal(number, lambda *_: stop.set())
    try:
        driver = PlantDriver(folder, made, seed=seed, truth_file=truth)
    except OSError as error:
        raise BusError(
            f"A simulated bus cannot be laid out at {folder} ({error.strerror}): name a folder "
            "that may be written, with --bus (and a file, with --truth)."
        ) from None
    typer.echo(f"A simulated bus is at {folder}; stop it with Ctrl-C.")
    try:
        driver.serve(stop, speed=speed)
    finally:
        driver.close()
