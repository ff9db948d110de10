"""`wormtub calc`: the catalogue's calculations on the command line."""

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from calc.catalogue.wording import Units


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="calc")(run)


def run(
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="The calculation; none lists them.")
    ] = None,
    quantities: Annotated[
        list[str] | None,
        typer.Argument(metavar="KEY=VALUE", help="What it takes; commas between values of a list."),
    ] = None,
    *,
    us: Annotated[
        bool, typer.Option("--us", help="Print in US units; what you give stays metric.")
    ] = False,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print for machines; values are always metric.")
    ] = False,
) -> None:
    """Work out one of the trade's calculations, or list and explain them."""
    from api.commands import calc_text  # the catalogue loads numpy; other words need none

    units: Units = "us" if us else "metric"
    if name is None:
        typer.echo(calc_text.listed(as_json=as_json))
    elif not quantities:
        typer.echo(calc_text.explained(name, units, as_json=as_json))
    else:
        typer.echo(calc_text.answered(name, quantities, units, as_json=as_json))
