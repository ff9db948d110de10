"""`wormtub certificate`: what the service needs to be reached by HTTPS on its own network."""

from typing import Annotated

import typer

from api.commands import options


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="certificate")(run)


def run(
    *,
    config: options.Config = None,
    data: options.Data = None,
    name: Annotated[
        list[str] | None,
        typer.Option("--name", metavar="NAME", help="Certify this name or address as well."),
    ] = None,
    anew: Annotated[
        bool,
        typer.Option("--anew", help="Make another authority; phones must be told to trust it."),
    ] = False,
) -> None:
    """Make a certificate for this machine's names and addresses, or renew it near its end.

    Run again, it does nothing until there is something to do; a running service takes the
    renewed one by itself.
    """
    from datetime import UTC, datetime

    from api.doors import certificate
    from api.doors.own_names import own_names
    from logger.settings import load

    settings = load(config, data=data)
    names = [*own_names(), *settings.host_names, *(one.lower() for one in name or ())]
    made = certificate.see_to(settings.data, names, datetime.now(UTC), anew=anew)
    state = "made" if made.renewed else "still good"
    typer.echo(f"The certificate is {state}; it holds until {made.until:%Y-%m-%d}, for")
    typer.echo(f"  {', '.join(made.names)}")
    if made.new_authority:
        typer.echo("A new authority signed it; tell each phone to trust it (page People).")
    typer.echo(f"Its authority's fingerprint (SHA-256) is\n  {made.fingerprint}")
    typer.echo(f"Serve with --tls-cert {made.files.service} --tls-key {made.files.service_key}")
