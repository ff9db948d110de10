"""`wormtub export`: the readings of any range as CSV, on standard output."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from api.commands import options

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from sqlalchemy import Engine


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="export")(run)


def run(
    *,
    config: options.Config = None,
    data: options.Data = None,
    from_: Annotated[
        str | None, typer.Option("--from", metavar="TIME", help="Begin; else with the oldest.")
    ] = None,
    to: Annotated[str | None, typer.Option("--to", metavar="TIME", help="End; else now.")] = None,
    everything: Annotated[
        Path | None,
        typer.Option(
            "--everything",
            metavar="DIR",
            readable=False,
            help="Write the whole store into this folder instead, for wormtub import.",
        ),
    ] = None,
) -> None:
    """Write readings as CSV, one row a scan; times without offset are the site's own."""
    from api.commands.store import opened
    from logger.settings import load

    engine = opened(load(config, data=data).data)
    try:
        if everything is None:
            _write(engine, from_, to)
        else:
            _carry(engine, everything)
    finally:
        engine.dispose()


def _write(engine: "Engine", from_: str | None, to: str | None) -> None:
    from api.export import Export
    from api.ranges import EARLIEST_US, check_range
    from api.site import zone
    from logger.store.scans import ScanReader
    from logger.store.types import now, to_us

    site_zone, now_us = zone(engine), to_us(now())
    from_us = to_us(_time(from_, "--from", site_zone)) if from_ else EARLIEST_US
    to_us_ = to_us(_time(to, "--to", site_zone)) if to else max(now_us, from_us) + 1
    check_range(from_us, to_us_, now_us)
    for part in Export.of(ScanReader(engine), site_zone, from_us, to_us_).parts():
        typer.echo(part, nl=False)


def _carry(engine: "Engine", folder: Path) -> None:
    from logger.store import carrying

    number = carrying.write_out(engine, folder)
    typer.echo(f"{folder} holds the whole store: {number} scans, and every entry as JSON lines.")
    typer.echo("People, tokens and the targets of notices are not in it; set them up anew.")


def _time(text: str, option: str, site_zone: "ZoneInfo") -> datetime:
    from logger.errors import RangeError

    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise RangeError(
            f'{option} is "{text}"; give a time such as 2026-03-01T08:30 or 2026-03-01T08:30+01:00.'
        ) from None
    return found if found.tzinfo else found.replace(tzinfo=site_zone)
