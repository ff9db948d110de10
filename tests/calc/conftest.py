"""Shared by the tests of calc: properties are tried without a clock, as nothing here is timed."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
