"""What can go wrong between the wires and the file, each with a sentence for a person."""

from calc.errors import WormtubError


class BusError(WormtubError, OSError):
    """The one-wire folder, or a channel named in the settings, cannot be read."""


class StoreError(WormtubError, OSError):
    """The data folder cannot be opened, written or trusted."""


class SchemaError(StoreError):
    """The file's schema is not the one this program knows."""


class InUseError(StoreError):
    """Another process of the same kind holds the data folder."""


class SettingsError(WormtubError, ValueError):
    """A setting is unknown or has a value that cannot be used."""


class FieldError(WormtubError):
    """Something in what was entered; `field` names it where it is one field's fault."""

    def __init__(self, sentence: str, *, field: str | None = None) -> None:
        super().__init__(sentence)
        self.field = field


class RangeError(FieldError, ValueError):
    """A range of time is reversed, empty, or lies where nothing can be."""


class NotFoundError(FieldError, LookupError):
    """A thing asked for by id is not there."""


class PlantError(WormtubError, ValueError):
    """The simulated plant was asked for what it cannot do, or its script cannot be read."""


class ConflictError(FieldError, ValueError):
    """A fact contradicts another, or the version it expected has moved on."""
