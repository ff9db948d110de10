"""`wormtub serve`: the service, until it is told to stop."""

from typing import TYPE_CHECKING

import typer

from api.commands import options

if TYPE_CHECKING:
    from logger.settings import Settings


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="serve")(run)


def run(
    *,
    config: options.Config = None,
    data: options.Data = None,
    host: options.Host = None,
    port: options.Port = None,
    tls_cert: options.TlsCert = None,
    tls_key: options.TlsKey = None,
    host_names: options.HostNames = None,
    trusted_proxies: options.TrustedProxies = None,
) -> None:
    """Serve the pages and the API over the data folder, until stopped."""
    from logger.settings import load

    serve(
        load(
            config,
            data=data,
            host=host,
            port=port,
            tls_cert=tls_cert,
            tls_key=tls_key,
            host_names=host_names,
            trusted_proxies=trusted_proxies,
        )
    )


def serve(settings: "Settings") -> None:
    """Serve until SIGTERM or SIGINT; raises WormtubError where the folder cannot be used."""
    import gc
    import logging
    import os
    import sys

    from api import heap

    heap.keep_small()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # arrays are small here; a thread costs more
    # the framework would load pydantic's former version whole, to see that no model is of it
    sys.modules["pydantic.v1"] = None  # type: ignore[assignment]
    gc.disable()  # what is loaded stays: looking through it for garbage is a tenth of a start
    from api.app import create_app
    from api.server import Server

    gc.freeze()
    gc.enable()
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(message)s")
    Server(create_app(settings), settings).run()
