"""Work that is done in parts, so that no single step of an estimator waits for all of it."""

from collections.abc import Generator
from typing import TypeVar

T = TypeVar("T")

Parts = Generator[None, None, T]


def finished(parts: Parts[T]) -> T:
    """Do what is left of it at once."""
    while True:
        try:
            next(parts)
        except StopIteration as over:
            found: T = over.value
            return found
