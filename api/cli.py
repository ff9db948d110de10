"""The `wormtub` command: gathers its words and turns our errors into one sentence each."""

from importlib import import_module
from typing import Any

import typer
from typer.core import TyperGroup

from calc.errors import WormtubError

# The modules of api.commands, one line each, in the order in which help lists them.
WORDS = (
    "demo",
    "log",
    "serve",
    "button",
    "probes",
    "export",
    "replay",
    "report",
    "import_",
    "import_run",
    "calc",
    "check",
    "migrate",
    "backup",
    "simulate",
    "people",
    "certificate",
)


class Words(TyperGroup):
    """A group that ends with the sentence on stderr and exit code 2 where one of ours is raised."""

    def invoke(self, ctx: Any) -> Any:
        """Run the word asked for."""
        try:
            return super().invoke(ctx)
        except WormtubError as error:
            typer.echo(str(error), err=True)
            raise typer.Exit(2) from None


app = typer.Typer(
    cls=Words,
    help="Watches a small distillery's temperatures and does the trade's calculations.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@app.callback()
def _root() -> None:
    """Keep the words a group, even while there is only one."""


for word in WORDS:
    import_module(f"api.commands.{word}").register(app)


def main() -> None:
    """Run the command line."""
    app(prog_name="wormtub")


if __name__ == "__main__":
    main()
