"""`wormtub demo`: a simulated distillery, logged and served, to look around in."""

from pathlib import Path
from typing import Annotated

import typer

from api.commands import options


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="demo")(run)


def run(
    data: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Keep its data here; else they are gone afterwards.",
            readable=False,
        ),
    ] = None,
    host: options.Host = None,
    port: options.Port = None,
) -> None:
    """Show a simulated distillery in the middle of a spirit run, until stopped."""
    from contextlib import ExitStack
    from tempfile import TemporaryDirectory

    from api.commands.demo_run import show
    from logger.settings import load

    with ExitStack() as stack:
        folder = data or Path(stack.enter_context(TemporaryDirectory(prefix="wormtub-demo-")))
        show(load(data=folder.absolute(), host=host, port=port))
