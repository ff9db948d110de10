"""Passphrases: made, judged, hashed with argon2, and checked without telling who exists."""

import secrets
import unicodedata
from functools import cache
from threading import Lock
from typing import TYPE_CHECKING, Final

from calc.errors import WormtubError

if TYPE_CHECKING:
    from argon2 import PasswordHasher

ONE_AT_A_TIME: Final = Lock()  # so that memory is bounded

SHORTEST: Final = 12  # NIST SP 800-63B asks for 8; nothing else stands beside it here
LONGEST: Final = 200
DIFFERENT: Final = 5  # signs, at least
CONSONANTS: Final = "bdfghjklmnprstvz"
VOWELS: Final = "aeiou"
GROUPS: Final = 6  # of four letters: 6400 ** 6, 76 bits


class PassphraseError(WormtubError, ValueError):
    """A passphrase is too easy to guess."""

    field = "passphrase"


@cache
def hasher() -> "PasswordHasher":
    """Return what hashes; it is kept out of memory until somebody has a passphrase.

    RFC 9106, section 4, second recommended option: t = 3, 64 MiB; but one lane, so that on a small
    machine the other cores stay with the logger.
    """
    from argon2 import PasswordHasher  # noqa: PLC0415

    return PasswordHasher(time_cost=3, memory_cost=64 * 1024, parallelism=1)


def made() -> str:
    """Make a passphrase that can be read out and typed on a phone."""
    return "-".join(
        "".join(secrets.choice(CONSONANTS) + secrets.choice(VOWELS) for _ in range(2))
        for _ in range(GROUPS)
    )


def hashed(passphrase: str, name: str) -> str:
    """Return what is kept of a passphrase, or raise PassphraseError where it is too easy."""
    text = normal(passphrase)
    if not SHORTEST <= len(text) <= LONGEST:
        raise PassphraseError(
            f"A passphrase needs {SHORTEST} to {LONGEST} signs; several words with spaces do well."
        )
    if len(set(text)) < DIFFERENT or text.casefold() in name.casefold() * LONGEST:
        raise PassphraseError("This passphrase is too easy to guess; take several unlike words.")
    with ONE_AT_A_TIME:
        return hasher().hash(text)


def fits(passphrase: str, kept: str | None) -> bool:
    """Say whether a passphrase is the one kept; as long for a name nobody has."""
    from argon2.exceptions import InvalidHashError, VerificationError  # noqa: PLC0415 - as above

    with ONE_AT_A_TIME:
        try:
            return hasher().verify(kept or _nobodys(), normal(passphrase)) and kept is not None
        except (VerificationError, InvalidHashError):
            return False


def outdated(kept: str) -> bool:
    """Say whether it was hashed at another cost than today's."""
    return hasher().check_needs_rehash(kept)


def normal(passphrase: str) -> str:
    """Bring the ways a keyboard has of typing the same to one (NIST SP 800-63B: NFKC)."""
    return unicodedata.normalize("NFKC", passphrase.strip())


@cache
def _nobodys() -> str:
    return hasher().hash(secrets.token_urlsafe())
