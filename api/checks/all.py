"""All checks, in the order in which a person would go round the house."""

from collections.abc import Callable
from typing import Final

from api.checks import keeping, machine, reading
from api.checks.check import Check, Ground, State, bad
from calc.errors import WormtubError

CHECKS: Final[tuple[Callable[[Ground], Check], ...]] = (
    reading.logger,
    reading.service,
    reading.bus,
    reading.probes,
    keeping.clock,
    keeping.disk,
    keeping.store,
    keeping.backups,
    keeping.notices,
    keeping.certificate,
    machine.temperature,
    machine.supply,
    machine.versions,
)


def go_round(ground: Ground) -> list[Check]:
    """Make every check; one that cannot be made says why, and the others go on."""
    return [_made(check, ground) for check in CHECKS]


def worst(checks: list[Check]) -> State:
    """Return the worst state of all."""
    return max((one.state for one in checks), key=list(State).index)


def _made(check: Callable[[Ground], Check], ground: Ground) -> Check:
    try:
        return check(ground)
    except (WormtubError, OSError) as error:
        return bad(check.__name__, f"This could not be checked: {error}", "See the sentence above.")
