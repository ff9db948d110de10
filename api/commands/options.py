"""The options that several words share: one for each setting, by its name, judged by Settings.

They arrive as text; logger.settings.load says what is wrong with one, wherever it was written.
"""

from pathlib import Path
from typing import Annotated, Any

import typer


def _setting(key: str, metavar: str, says: str) -> Any:
    name = key.upper()
    return typer.Option(
        f"--{key.replace('_', '-')}",
        metavar=metavar,
        help=f"{says} [WORMTUB_{name}]",
        readable=False,  # whoever reads it says why it cannot
    )


Config = Annotated[
    Path | None,
    typer.Option(
        "--config",
        metavar="FILE",
        envvar="WORMTUB_CONFIG",
        readable=False,
        help="Settings file; without it wormtub.toml in the data folder, where there is one.",
    ),
]
Data = Annotated[Path | None, _setting("data", "DIR", "Folder where the data lie.")]
Bus = Annotated[Path | None, _setting("bus", "DIR", "One-wire folder, laid out as the kernel's.")]
Iio = Annotated[str | None, _setting("iio", "LIST", "Linux IIO channels, commas between.")]
ResolutionBits = Annotated[str | None, _setting("resolution_bits", "BITS", "9 to 12, or auto.")]
PeriodHotS = Annotated[
    str | None, _setting("period_hot_s", "SECONDS", "Time between scans while hot.")
]
PeriodIdleS = Annotated[
    str | None, _setting("period_idle_s", "SECONDS", "Time between scans otherwise.")
]
SounderPin = Annotated[str | None, _setting("sounder_pin", "PIN", "GPIO pin of a sounder.")]
LampPin = Annotated[str | None, _setting("lamp_pin", "PIN", "GPIO pin of a lamp.")]
ButtonPin = Annotated[str | None, _setting("button_pin", "PIN", "GPIO pin of the jar button.")]
ButtonStill = Annotated[
    str | None, _setting("button_still", "STILL", "Name of the still the button belongs to.")
]
BuzzerPin = Annotated[str | None, _setting("buzzer_pin", "PIN", "GPIO pin of its buzzer.")]
Host = Annotated[str | None, _setting("host", "ADDRESS", "Address to listen on.")]
Port = Annotated[str | None, _setting("port", "NUMBER", "Port to listen on.")]
TlsCert = Annotated[
    Path | None, _setting("tls_cert", "FILE", "Certificate to serve HTTPS with, in PEM.")
]
TlsKey = Annotated[Path | None, _setting("tls_key", "FILE", "The certificate's key, in PEM.")]
HostNames = Annotated[str | None, _setting("host_names", "LIST", "Further names of this service.")]
TrustedProxies = Annotated[
    str | None, _setting("trusted_proxies", "LIST", "Proxies that say truly who asks.")
]
