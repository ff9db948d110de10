"""`wormtub button`: follows the jar button on a GPIO pin, in a process of its own."""

import typer

from api.commands import options


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="button")(run)


def run(
    config: options.Config = None,
    data: options.Data = None,
    port: options.Port = None,
    tls_cert: options.TlsCert = None,
    button_pin: options.ButtonPin = None,
    button_still: options.ButtonStill = None,
    buzzer_pin: options.BuzzerPin = None,
) -> None:
    """Follow the jar button: short is the next jar, double a cut, long says I am here."""
    import logging

    from logger import button
    from logger.settings import load

    settings = load(
        config,
        data=data,
        port=port,
        tls_cert=tls_cert,
        button_pin=button_pin,
        button_still=button_still,
        buzzer_pin=buzzer_pin,
    )
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(message)s")
    raise typer.Exit(button.run(settings))
