"""`wormtub import`: a whole store, as `wormtub export --everything` wrote it."""

from pathlib import Path
from typing import Annotated

import typer

from api.commands import options


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="import")(run)


def run(
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", readable=False, help="Written by export --everything.")
    ],
    config: options.Config = None,
    data: options.Data = None,
) -> None:
    """Make a store of a folder that export --everything wrote, where there is none yet."""
    from logger.settings import load
    from logger.store import carrying

    into = load(config, data=data).data
    number = carrying.read_in(folder, into)
    typer.echo(f"The store in {into} holds {number} scans and every entry that came with them.")
