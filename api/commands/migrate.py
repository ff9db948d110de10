"""`wormtub migrate`: brings an older store to this program's schema; keeps everything."""

import typer

from api.commands import options


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="migrate")(run)


def run(config: options.Config = None, data: options.Data = None) -> None:
    """Bring an older store to this program's schema; everything stored is kept."""
    from logger.errors import StoreError
    from logger.locks import hold
    from logger.settings import load
    from logger.store import database

    folder = load(config, data=data).data
    if not (folder / database.FILE_NAME).exists():
        raise StoreError(f"There is no store in {folder}; choose its folder with --data.")
    with hold(folder, "logger"), hold(folder, "service"):
        database.migrate(folder)
    typer.echo(f"The store in {folder} has this program's schema.")
