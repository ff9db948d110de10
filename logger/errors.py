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


class RangeError(WormtubError, ValueError):
    """A range of time is reversed, empty, or lies where nothing can be."""


class NotFoundError(WormtubError, LookupError):
    """A thing asked for by id is not there."""


class PlantError(WormtubError, ValueError):
    """The simulated plant was asked for what it cannot do, or its script cannot be read."""


class ConflictError(WormtubError, ValueError):
    """A fact contradicts another, or the version it expected has moved on."""
