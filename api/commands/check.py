"""`wormtub check`: what is right and wrong with the house, with the service or without it."""

from typing import TYPE_CHECKING, Annotated, Final

import typer

from api.commands import options

if TYPE_CHECKING:
    from api.checks.check import Ground
    from logger.settings import Settings

SIGNS: Final = {"ok": "  ", "warn": "? ", "bad": "! "}


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="check")(run)


def run(
    config: options.Config = None,
    data: options.Data = None,
    bus: options.Bus = None,
    *,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Go round the house: what is right, what is wrong, what to do; ends with 1 where it is bad."""
    from api.checks.all import go_round, worst
    from api.checks.check import State
    from logger.settings import load

    checks = go_round(_ground(load(config, data=data, bus=bus)))
    if as_json:
        import json

        typer.echo(json.dumps([one.model_dump(mode="json") for one in checks], ensure_ascii=False))
    else:
        for one in checks:
            typer.echo(f"{SIGNS[one.state]}{one.name}: {one.says}")
            if one.do:
                typer.echo(f"    {one.do}")
    raise typer.Exit(worst(checks) is State.BAD)


def _ground(settings: "Settings") -> "Ground":
    """Read from the store what the service would know by itself."""
    from api.board import Board
    from api.checks.check import Ground
    from api.commands.store import opened
    from api.layout import Layout
    from logger.clock import MICRO, SystemClock
    from logger.store.scans import ScanReader
    from logger.store.timeline import EpochTable
    from logger.store.types import to_datetime

    engine, clock = opened(settings.data), SystemClock()
    now_us = clock.now().utc_us
    board = Board(layout=Layout.load(engine, to_datetime(now_us)))
    latest = ScanReader(engine).latest()
    age_s = None
    if latest is not None:
        board.apply(latest)
        age_s = max(0.0, (now_us - EpochTable.load(engine).utc_us(latest.slot)) / MICRO)
    return Ground(
        settings=settings,
        engine=engine,
        clock=clock,
        standings=board.standings(),
        slot=latest.slot if latest else None,
        age_s=age_s,
        period_s=latest.period_s if latest else None,
    )
