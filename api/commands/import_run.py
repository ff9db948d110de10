"""`wormtub import-run`: a recorded trace, with jars and marks, as a past run."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from api.commands import options

if TYPE_CHECKING:
    from uuid import UUID

    from sqlalchemy import Engine


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="import-run")(run)


def run(
    trace: Annotated[
        Path, typer.Argument(metavar="TRACE.csv", readable=False, help="As wormtub export writes.")
    ],
    *,
    still: Annotated[str, typer.Option("--still", metavar="NAME", help="Which still it was.")],
    purpose: Annotated[
        str, typer.Option("--purpose", metavar="PURPOSE", help="strip, spirit, single, …")
    ],
    batch: Annotated[str, typer.Option("--batch", metavar="NAME", help="Of which batch.")],
    config: options.Config = None,
    data: options.Data = None,
    jars: Annotated[
        Path | None,
        typer.Option(
            "--jars",
            metavar="FILE.csv",
            readable=False,
            help="What was collected: time (when it was full), volume_l, reading_abv, …",
        ),
    ] = None,
    marks: Annotated[
        Path | None,
        typer.Option(
            "--marks",
            metavar="FILE.csv",
            readable=False,
            help="What happened: time, mark, and power_kw, text, smell.",
        ),
    ] = None,
    charge_volume_l: Annotated[
        float | None, typer.Option("--charge-volume-l", metavar="L", help="What was in the pot.")
    ] = None,
    charge_abv: Annotated[
        float | None, typer.Option("--charge-abv", metavar="ABV", help="Its strength, % vol.")
    ] = None,
) -> None:
    """Import a past run: all of it, or nothing and one sentence; beside a running service too."""
    from pydantic import ValidationError

    from api.access import AT_THE_MACHINE
    from api.commands.store import opened
    from api.imports.bodies import NewImport
    from api.imports.taker import taken
    from api.wording import sentence_of
    from logger.errors import RangeError
    from logger.settings import load

    folder = load(config, data=data).data
    engine = opened(folder)
    try:
        vessel = _still(engine, still)
    finally:
        engine.dispose()
    said = {
        "vessel_id": vessel, "purpose": purpose, "batch": batch,
        "charge_volume_l": charge_volume_l, "charge_abv": charge_abv,
        "trace": _text(trace), "jars": _text(jars), "marks": _text(marks),
    }  # fmt: skip
    try:
        order = NewImport(**said)
    except ValidationError as error:
        first = error.errors()[0]
        field = str(first["loc"][0])
        option = f"--{field.replace('_', '-')}"
        raise RangeError(f"{option}: {sentence_of(dict(first), field)}") from None
    made = taken(folder, AT_THE_MACHINE, order)
    typer.echo(
        f"{made.lines} lines, {made.marks} marks and {made.jars} jars are imported as a run of "
        f"{made.batch} on {made.vessel}: {made.run_id}"
    )
    if made.left_out:
        typer.echo(f"Columns of other vessels were left out: {', '.join(made.left_out)}.")


def _still(engine: "Engine", name: str) -> "UUID":
    from logger.errors import NotFoundError
    from logger.store import facts

    stills = [one for one in facts.vessels(engine) if one.kind == "still"]
    for one in stills:
        if name in {one.name, str(one.about)}:
            return one.about
    there = ", ".join(one.name for one in stills) or "none yet"
    raise NotFoundError(f'There is no still "{name}"; the stills here: {there}.')


def _text(file: Path | None) -> str | None:
    from logger.errors import StoreError

    if file is None:
        return None
    try:
        return file.read_text("utf-8-sig")
    except OSError as error:
        raise StoreError(f"The file {file} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError as error:
        line = file.read_bytes()[: error.start].count(b"\n") + 1
        raise StoreError(
            f"{file}, line {line}, is no text in UTF-8; save the file as UTF-8."
        ) from None
