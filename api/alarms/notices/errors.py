"""What can go wrong with notices, each with a sentence for a person."""

from calc.errors import WormtubError


class PostError(WormtubError, OSError):
    """The process that hands notices out cannot be started or understood."""


class TargetError(WormtubError, ValueError):
    """A target's address is none that a notice can be sent to."""

    field = "address"
