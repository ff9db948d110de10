"""What a review cannot tell, and why: said rather than left empty."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Gap:
    """Something that is not there, and one sentence why."""

    about: str
    why: str
