"""`wormtub backup` and `wormtub restore`: a copy while everything runs, and the way back."""

from pathlib import Path
from typing import Annotated

import typer

from api.commands import options

To = Annotated[
    Path | None,
    typer.Option("--to", metavar="DIR", readable=False, help="Folder for it; else backup_to."),
]
Label = Annotated[str, typer.Option("--label", metavar="WORD", help="Why it was made.")]
Yes = Annotated[bool, typer.Option("--yes", help="Do not ask.")]
KeepSchema = Annotated[
    bool,
    typer.Option("--keep-schema", help="Leave it as it is, for an older program to take over."),
]


def register(app: typer.Typer) -> None:
    """Add the words to the command."""
    app.command(name="backup")(back_up)
    app.command(name="restore")(bring_back)


def back_up(
    config: options.Config = None,
    data: options.Data = None,
    to: To = None,
    label: Label = "by-hand",
) -> None:
    """Copy the store while everything runs, check the copy, and print where it is."""
    from logger.settings import load
    from logger.store import backup
    from logger.store.types import now

    settings = load(config, data=data)
    made = backup.make(settings.data, to or settings.backups, label=label, at=now())
    typer.echo(made.file)


def bring_back(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A backup.", readable=False)],
    config: options.Config = None,
    data: options.Data = None,
    *,
    yes: Yes = False,
    keep_schema: KeepSchema = False,
) -> None:
    """Put a backup in the place of the store; what is there now is kept as a backup of its own."""
    from logger.settings import load
    from logger.store import restoring
    from logger.store.types import now

    folder = load(config, data=data).data
    if not yes:
        typer.confirm(f"Replace the store in {folder} by {file}?", abort=True)
    aside = restoring.restore(folder, file, at=now(), keep_schema=keep_schema)
    typer.echo(f"{file} is the store of {folder} now, with a new epoch.")
    if aside is not None:
        typer.echo(f"What was there before is kept as {aside.file}.")
