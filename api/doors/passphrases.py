"""Passphrases: made, judged, hashed with argon2, and checked without telling who exists."""

import secrets
import unicodedata
from functools import lru_cache
from threading import Lock
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from calc.errors import WormtubError

# RFC 9106, section 4, second recommended option: t = 3, 64 MiB; but one lane, so that on a small
# machine the other cores stay with the logger. One at a time, so that memory is bounded.
HASHER: Final = PasswordHasher(time_cost=3, memory_cost=64 * 1024, parallelism=1)
ONE_AT_A_TIME: Final = Lock()

SHORTEST: Final = 12  # NIST SP 800-63B asks for 8; nothing else stands beside it here
LONGEST: Final = 200
DIFFERENT: Final = 5  # signs, at least
CONSONANTS: Final = "bdfghjklmnprstvz"
VOWELS: Final = "aeiou"
GROUPS: Final = 6  # of four letters: 6400 ** 6, 76 bits


class PassphraseError(WormtubError, ValueError):
    """A passphrase is too easy to guess."""

    field = "passphrase"


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
        return HASHER.hash(text)


def fits(passphrase: str, kept: str | None) -> bool:
    """Say whether a passphrase is the one kept; as long for a name nobody has."""
    with ONE_AT_A_TIME:
        try:
            return HASHER.verify(kept or _nobodys(), normal(passphrase)) and kept is not None
        except (VerificationError, InvalidHashError):
            return False


def outdated(kept: str) -> bool:
    """Say whether it was hashed at another cost than today's."""
    return HASHER.check_needs_rehash(kept)


def normal(passphrase: str) -> str:
    """Bring the ways a keyboard has of typing the same to one (NIST SP 800-63B: NFKC)."""
    return unicodedata.normalize("NFKC", passphrase.strip())


@lru_cache(maxsize=1)
def _nobodys() -> str:
    return HASHER.hash(secrets.token_urlsafe())
