"""Who asks, and what they may do. `visitor` is the one place that decides it.

Whoever sits at the machine itself owns the house, without a sign-in. So does everybody in a
demonstration, which holds nothing of anybody's. From elsewhere a session or a token is needed,
and nothing but the sign-in itself is there without one.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import Depends, params
from starlette.concurrency import run_in_threadpool
from starlette.requests import HTTPConnection

from api.doors.addresses import asker
from api.errors import AccessError, SignInError

if TYPE_CHECKING:
    from api.doors.doors import Doors

BEARER: Final = "bearer "
ADMITTED: Final = "wormtub.admitted"  # in a request's scope: the role it was let in for
AT_THE_MACHINE: Final = "at the machine"
IN_THE_DEMONSTRATION: Final = "in the demonstration"


class Role(IntEnum):
    """What a visitor may do; each role may do all that the ones before it may."""

    ANYONE = 0
    WATCH = 1
    OPERATE = 2
    OWN = 3

    @property
    def word(self) -> str:
        """Return the role as it is written: watch, operate, own."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Scope:
    """A role in one area of the API (the tag of its routes), or in all of it."""

    role: Role
    area: str | None = None

    def __str__(self) -> str:
        return self.role.word if self.area is None else f"{self.role.word}:{self.area}"


@dataclass(frozen=True, slots=True)
class Visitor:
    """Whoever asks: the name their entries are kept under, and what they may do.

    A token is limited by its scopes; `role` is then the highest of them.
    """

    name: str
    role: Role
    scopes: tuple[Scope, ...] | None = None
    at_machine: bool = False  # the connection comes from the machine itself

    def role_in(self, areas: Iterable[str]) -> Role:
        """Return what they may do in areas of the API."""
        if self.scopes is None:
            return self.role
        known = {None, *areas}
        return max((one.role for one in self.scopes if one.area in known), default=Role.ANYONE)


NOBODY: Final = Visitor("nobody", Role.ANYONE)


async def visitor(connection: HTTPConnection) -> Visitor:
    """Say who asks, from where the connection comes and what it carries."""
    doors: Doors = connection.app.state.doors
    asks = asker(connection.scope, doors.trusted)
    free = asks.at_machine or doors.simulated
    known = await run_in_threadpool(_signed_in, doors, connection) if carries(connection) else None
    if free:
        there = AT_THE_MACHINE if asks.at_machine else IN_THE_DEMONSTRATION
        name = known.name if known else there
        return Visitor(name, Role.OWN, at_machine=asks.at_machine)
    return known or NOBODY


def carries(connection: HTTPConnection) -> bool:
    """Say whether a connection carries anything to be known by."""
    return "authorization" in connection.headers or "cookie" in connection.headers


def _signed_in(doors: "Doors", connection: HTTPConnection) -> Visitor | None:
    """Read the token; or, where there is none, the session."""
    authorization = connection.headers.get("authorization")
    if authorization is None:
        return doors.by_cookies(connection.cookies)
    if authorization.lower().startswith(BEARER):
        return doors.by_token(authorization[len(BEARER) :].strip())
    return None


Asking = Annotated[Visitor, Depends(visitor)]


@dataclass(frozen=True)
class RoleCheck:
    """Refuses a visitor whose role is below the one a route declares."""

    role: Role

    async def __call__(self, connection: HTTPConnection, asking: Asking) -> Visitor:
        """Let the visitor in, or say what is missing."""
        areas = getattr(connection.scope.get("route"), "tags", ())
        if asking.role_in(areas) < self.role:
            raise refused(asking, self.role)
        scope = connection.scope
        scope[ADMITTED] = max(self.role, scope.get(ADMITTED, Role.ANYONE))
        return asking


def refused(asking: Visitor, wanted: Role) -> AccessError | SignInError:
    """Say why a visitor is not let in."""
    if asking.role is Role.ANYONE:
        return SignInError("Sign in first; nothing here is shown without it.")
    if asking.scopes is not None:
        return AccessError(
            f'The token "{asking.name}" does not reach that far; '
            f"make one that may {wanted.word} here, on the page People."
        )
    return AccessError(
        f"{asking.name} may {asking.role.word} only, and this needs somebody who may "
        f"{wanted.word}; ask the owner, or do it on the machine Wormtub runs on."
    )


def needs(role: Role) -> params.Depends:
    """Return the dependency by which a router or a route declares the role it needs."""
    dependency: params.Depends = Depends(RoleCheck(role))
    return dependency
