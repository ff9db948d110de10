"""What is signed with the house's own key: the cookie of a session, the link of a phone.

The key lies beside the store, not in it: a copy of the store opens no door. The store's epoch is
part of what is signed, so that a backup that is restored lets nobody back in who was signed out
since.
"""

import fcntl
import hashlib
import os
import secrets
from pathlib import Path
from typing import Final, Literal
from uuid import UUID

from itsdangerous import BadSignature, Signer

from logger.errors import StoreError

FILE_NAME: Final = "doors.key"
KEY_BYTES: Final = 32
MODE: Final = 0o600
LONGEST: Final = 200  # characters of anything signed

Purpose = Literal["session", "link"]


class Seal:
    """Signs the id of a session or a link, and reads it back."""

    def __init__(self, data: Path, epoch: UUID) -> None:
        key = _key(data)
        self._signers = {purpose: _signer(key, purpose, epoch) for purpose in ("session", "link")}

    def sign(self, purpose: Purpose, number: UUID) -> str:
        """Write an id so that nobody else can have written it."""
        return self._signers[purpose].sign(number.hex).decode("ascii")

    def read(self, purpose: Purpose, text: str) -> UUID | None:
        """Read an id that was signed here for this purpose; None is any other text."""
        if len(text) > LONGEST or not text.isascii():
            return None
        try:
            return UUID(self._signers[purpose].unsign(text).decode("ascii"))
        except (BadSignature, ValueError):
            return None


def _signer(key: bytes, purpose: str, epoch: UUID) -> Signer:
    return Signer(
        key,
        salt=f"wormtub {purpose} {epoch.hex}",
        key_derivation="hmac",
        digest_method=hashlib.sha256,
    )


def _key(data: Path) -> bytes:
    """Read the key; make it at the first need. Where it was lost, everybody signs in again."""
    file = data / FILE_NAME
    try:
        with os.fdopen(os.open(file, os.O_RDWR | os.O_CREAT, MODE), "r+b") as opened:
            fcntl.flock(opened, fcntl.LOCK_EX)  # two that start at once make one key
            key = opened.read(KEY_BYTES)
            if len(key) < KEY_BYTES:
                key = secrets.token_bytes(KEY_BYTES)
                opened.seek(0)
                opened.write(key)
                opened.flush()
                os.fsync(opened.fileno())
            return key
    except OSError as error:
        raise StoreError(
            f"The key of the doors, {file}, cannot be read ({error.strerror}): make it readable "
            "for the user the service runs as, or remove it; everybody then signs in again."
        ) from None
