"""What may be set, once for options, environment variables (`WORMTUB_...`) and one TOML file."""

import ipaddress
import json
import os
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Annotated, Any, Final, Literal, Self

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    ValidationError,
    model_validator,
)
from pydantic_settings import BaseSettings, NoDecode, SettingsConfigDict

from logger.bus.iio import Channel
from logger.errors import SettingsError

PREFIX: Final = "WORMTUB_"
FILE_NAME: Final = "wormtub.toml"
KERNEL_BUS: Final = Path("/sys/bus/w1/devices")
CHANNEL_KEYS: Final = {field.name for field in fields(Channel)}
FOLDERS: Final = ("data", "bus", "backup_to", "tls_cert", "tls_key")
HOST_NAME: Final = re.compile(r"(?=.*[a-z])[a-z0-9]([a-z0-9.-]{0,251}[a-z0-9])?", re.IGNORECASE)


def default_data() -> Path:
    """Where a user's data lie unless told: the XDG base directory specification's data home."""
    home = os.environ.get("XDG_DATA_HOME") or "~/.local/share"
    return Path(home).expanduser() / "wormtub"


def _channels(value: Any) -> Any:
    """Take channels as options and variables write them: `bmp280/pressure,ads1015/voltage0`.

    A folder other than the kernel's follows an `@`; whatever else there is to say of a channel
    is said in the file, where each is a table, or by the same list of tables in JSON.
    """
    if isinstance(value, str) and value.lstrip().startswith("["):
        value = json.loads(value)
    if isinstance(value, str):
        return [_channel(part) for part in value.split(",") if part.strip()]
    for table in value if isinstance(value, list) else ():
        if isinstance(table, dict) and (unknown := table.keys() - CHANNEL_KEYS):
            raise ValueError(f"{min(unknown)} says nothing of a channel")
    return value


def _channel(text: str) -> dict[str, str]:
    named, _, folder = text.strip().partition("@")
    device, _, channel = named.rpartition("/")
    given = {"device": device, "channel": channel, "folder": folder}
    return {key: part for key, part in given.items() if part}


def _host(value: str) -> str:
    if not HOST_NAME.fullmatch(value):
        ipaddress.ip_address(value)
    return value


def _words(value: Any) -> Any:
    """Take a list as options and variables write it, commas between."""
    return [word.strip() for word in value.split(",")] if isinstance(value, str) else value


def _network(value: str) -> str:
    return str(ipaddress.ip_network(value))


def _bits(value: Any) -> Any:
    return int(value) if isinstance(value, str) and value.isdecimal() else value


def _pin(value: Any) -> Any:
    """Take a pin as people write it: 17, GPIO17, gpio17, or by its place as BOARD11."""
    name = f"{value}".strip().upper()
    return f"GPIO{name}" if name.isdecimal() else name


Folder = Annotated[Path, AfterValidator(Path.expanduser)]
Seconds = Annotated[int, Field(ge=1, le=600)]
Pin = Annotated[str, BeforeValidator(_pin), Field(pattern=r"^(GPIO|BOARD)[0-9]{1,2}$")]


class Settings(BaseSettings):
    """The program's settings; a field's description says what is expected of it."""

    model_config = SettingsConfigDict(
        env_prefix=PREFIX, env_ignore_empty=True, extra="forbid", frozen=True
    )

    data: Folder = Field(default_factory=default_data, description="a folder for the data")
    bus: Folder = Field(KERNEL_BUS, description="a one-wire folder laid out as the kernel's")
    iio: Annotated[tuple[Channel, ...], NoDecode, BeforeValidator(_channels)] = Field(
        (),
        description="Linux IIO channels, each a DEVICE/CHANNEL or a table in the file, "
        "as bmp280/pressure",
    )
    resolution_bits: Annotated[Literal["auto", 9, 10, 11, 12], BeforeValidator(_bits)] = Field(
        "auto", description='"auto" or a whole number of bits from 9 to 12'
    )
    period_hot_s: Seconds = Field(1, description="a whole number of seconds from 1 to 600")
    period_idle_s: Seconds = Field(
        10, description="a whole number of seconds from 1 to 600, not below period_hot_s"
    )
    sounder_pin: Pin | None = Field(
        None, description="the GPIO pin of a sounder, as GPIO17 or BOARD11"
    )
    lamp_pin: Pin | None = Field(None, description="the GPIO pin of a lamp, as GPIO17 or BOARD11")
    button_pin: Pin | None = Field(
        None, description="the GPIO pin of the jar button, as GPIO27 or BOARD13"
    )
    button_still: str | None = Field(
        None, min_length=1, description="the name of the still that the jar button belongs to"
    )
    buzzer_pin: Pin | None = Field(
        None, description="the GPIO pin of the button's buzzer, as GPIO22 or BOARD15"
    )
    backup_to: Folder | None = Field(
        None, description="a folder for backups; without one, the folder backups with the data"
    )
    backup_every_h: Annotated[int, Field(ge=0, le=720)] = Field(
        24, description="a whole number of hours from 0 (no backups by itself) to 720"
    )
    host: Annotated[str, AfterValidator(_host)] = Field(
        "127.0.0.1", description="an address or name of this machine"
    )
    port: Annotated[int, Field(ge=1, le=65535)] = Field(
        8080, description="a whole number from 1 to 65535"
    )
    tls_cert: Folder | None = Field(
        None, description="a file with the certificate and what signed it, in PEM"
    )
    tls_key: Folder | None = Field(None, description="a file with the certificate's key, in PEM")
    host_names: Annotated[
        tuple[Annotated[str, AfterValidator(_host)], ...], NoDecode, BeforeValidator(_words)
    ] = Field((), description="names, commas between, by which this service is reached as well")
    trusted_proxies: Annotated[
        tuple[Annotated[str, AfterValidator(_network)], ...], NoDecode, BeforeValidator(_words)
    ] = Field(
        (),
        description="addresses or networks, commas between, of proxies that say truly who asks",
    )

    @property
    def backups(self) -> Path:
        """Where backups go."""
        return self.backup_to or self.data / "backups"

    @model_validator(mode="after")
    def _idle_is_not_faster(self) -> Self:
        if self.period_idle_s < self.period_hot_s:
            raise ValueError("period_idle_s")
        return self


@dataclass(frozen=True, slots=True)
class _Origins:
    """Where each setting was written, the strongest first: option, environment, file."""

    options: Mapping[str, Any]
    environment: Mapping[str, str]
    file: Path | None
    file_values: Mapping[str, Any]

    def of(self, key: str) -> str:
        if key in self.options:
            return f"--{key.replace('_', '-')} {self.options[key]}"
        if key in self.environment:
            return f"{PREFIX}{key.upper()}={self.environment[key]}"
        if key in self.file_values:
            return f"{key} = {self.file_values[key]!r} in {self.file}"
        return f"The default {key} = {Settings.model_fields[key].default}"


def load(config: Path | None = None, **options: Any) -> Settings:
    """Gather settings: options that are not None, then the environment, then the TOML file."""
    given = {key: value for key, value in options.items() if value is not None}
    environment = _environment()
    file = _file(config, given, environment)
    values = {} if file is None else _read(file, in_data=config is None)
    origins = _Origins(given, environment, file, values)
    weaker = {key: value for key, value in values.items() if key not in environment}
    try:
        return Settings(**(weaker | given))
    except ValidationError as error:
        raise SettingsError(_sentence(error, origins)) from None


def _environment() -> dict[str, str]:
    upper = {name.upper(): value for name, value in os.environ.items() if value}
    names = {key: PREFIX + key.upper() for key in Settings.model_fields}
    return {key: upper[name] for key, name in names.items() if name in upper}


def _file(
    config: Path | None, given: Mapping[str, Any], environment: Mapping[str, str]
) -> Path | None:
    """Find the file asked for, or the one in the data folder where there is one."""
    if config is not None:
        return config.expanduser()
    data = Path(given.get("data") or environment.get("data") or default_data()).expanduser()
    file = data / FILE_NAME
    return file if file.exists() else None


def _read(file: Path, *, in_data: bool) -> dict[str, Any]:
    """Read the TOML file; its relative folders start where the file lies."""
    try:
        values = tomllib.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise SettingsError(f"The settings file {file} cannot be read: {error.strerror}.") from None
    except ValueError as error:
        raise SettingsError(f"The settings file {file} is not TOML: {error}.") from None
    if in_data and "data" in values:
        raise SettingsError(
            f"data in {file} cannot be set there: the file lies in the data folder itself; "
            f"choose the folder with --data or {PREFIX}DATA."
        )
    for key in FOLDERS:
        if isinstance(values.get(key), str):
            values[key] = str(file.parent / Path(values[key]).expanduser())
    return values


def _sentence(error: ValidationError, origins: _Origins) -> str:
    first = error.errors(include_url=False)[0]
    key = str(first["loc"][0]) if first["loc"] else "period_idle_s"
    if key not in Settings.model_fields:
        names = ", ".join(Settings.model_fields)
        return f"{key} in {origins.file} is not a setting; the settings are {names}."
    cause = first.get("ctx", {}).get("error")
    if isinstance(cause, SettingsError):  # a channel's own sentence
        return f"{origins.of(key)} cannot be used: {cause}"
    return f"{origins.of(key)} cannot be used: expected {Settings.model_fields[key].description}."
