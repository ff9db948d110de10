"""`wormtub report`: a run or a batch as one page for paper, and all its data as CSV and JSON."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from api.commands import options

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Literal
    from uuid import UUID

    from sqlalchemy import Engine

    Of = Literal["run", "batch"]


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="report")(run)


def run(
    what: Annotated[
        str,
        typer.Argument(metavar="RUN|BATCH", help="A run's or a batch's id, or a batch's name."),
    ],
    *,
    config: options.Config = None,
    data: options.Data = None,
    to: Annotated[
        Path | None,
        typer.Option("--to", metavar="FILE", readable=False, help="Write the page here."),
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option("--csv", metavar="DIR", readable=False, help="Write its tables here."),
    ] = None,
    json: Annotated[
        Path | None,
        typer.Option("--json", metavar="FILE", readable=False, help="Write all its data here."),
    ] = None,
) -> None:
    """Write the report of a run or a batch; without --to, --csv or --json on standard output."""
    from api.commands.store import opened
    from api.reports.maker import made
    from api.reports.order import BATCH_TABLES, TABLES, Order
    from logger.settings import load
    from logger.store.types import now

    folder = load(config, data=data).data
    engine = opened(folder)
    try:
        of, about, runs = _found(engine, what)
    finally:
        engine.dispose()
    at = now()
    if to is not None or (csv is None and json is None):
        _write(to, made(Order(folder, of, about, "html", at)))
    if json is not None:
        _write(json, made(Order(folder, of, about, "json", at)))
    if csv is not None:
        for name, one in runs.items():
            for table in TABLES:
                file = csv / f"{name}{table}.csv"
                _write(file, made(Order(folder, "run", one, table, at)))
        for own in BATCH_TABLES if of == "batch" else ():
            _write(csv / f"batch-{own}.csv", made(Order(folder, "batch", about, own, at)))


def _found(engine: "Engine", what: str) -> "tuple[Of, UUID, Mapping[str, UUID]]":
    """Find what is meant, and its runs by what the names of their files begin with."""
    from api.record.runs_read import runs
    from logger.errors import NotFoundError
    from logger.store import facts
    from logger.store.record_tables import Batch

    every = runs(engine)
    for one in every:
        if what == str(one.about):
            return "run", one.about, {"": one.about}
    for batch in facts.all_current(engine, Batch):
        if what in {str(batch.about), batch.name}:
            mine = [one for one in every if one.batch == batch.name]
            named = {f"{nth}-{one.stage}-": one.about for nth, one in enumerate(mine, 1)}
            return "batch", batch.about, named
    raise NotFoundError(
        f'There is no run and no batch "{what}"; give the id that stands in the address of its '
        "page, or a batch's name."
    )


def _write(file: Path | None, parts: "Iterable[bytes]") -> None:
    from logger.errors import StoreError

    if file is None:
        for part in parts:
            typer.echo(part, nl=False)
        return
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with file.open("wb") as out:
            out.writelines(parts)
    except OSError as error:
        raise StoreError(f"{file} cannot be written ({error.strerror}).") from None
    typer.echo(f"{file} is written.", err=True)
