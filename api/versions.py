"""Which program this is."""

from functools import cache
from importlib.metadata import PackageNotFoundError, version


@cache
def program_version() -> str:
    """Return the program's version; a checkout that was never installed has none."""
    try:
        return version("wormtub")
    except PackageNotFoundError:
        return "unreleased"
