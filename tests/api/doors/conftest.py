"""Passphrases at a cost that tests can pay; what they cost in truth is looked at by itself."""

import pytest
from argon2 import PasswordHasher

from api.doors import passphrases


@pytest.fixture(autouse=True)
def cheap(monkeypatch):
    hasher = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
    monkeypatch.setattr(passphrases, "hasher", lambda: hasher)
    passphrases._nobodys.cache_clear()
    yield
    passphrases._nobodys.cache_clear()
