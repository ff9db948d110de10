"""`wormtub log`: reads the probes on schedule and keeps every reading."""

import typer

from api.commands import options


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="log")(run)


def run(
    config: options.Config = None,
    data: options.Data = None,
    bus: options.Bus = None,
    iio: options.Iio = None,
    resolution_bits: options.ResolutionBits = None,
    period_hot_s: options.PeriodHotS = None,
    period_idle_s: options.PeriodIdleS = None,
    sounder_pin: options.SounderPin = None,
    lamp_pin: options.LampPin = None,
) -> None:
    """Read the probes on schedule and keep every reading, until stopped."""
    import logging

    from logger import service
    from logger.settings import load

    settings = load(
        config,
        data=data,
        bus=bus,
        iio=iio,
        resolution_bits=resolution_bits,
        period_hot_s=period_hot_s,
        period_idle_s=period_idle_s,
        sounder_pin=sounder_pin,
        lamp_pin=lamp_pin,
    )
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(message)s")
    logging.getLogger("apscheduler").setLevel(logging.WARNING)
    raise typer.Exit(service.run(settings))
